"""Backups that the service makes by itself, and those that the owner takes away."""

from __future__ import annotations

import threading
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from inventory.background import backups
from inventory.domain.alerts import alerts
from inventory.domain.backup import backup_archive, restore, scheduled_backups
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.settings import BadSetting, Settings, load_settings
from inventory.store.connection import execute
from tests.factories import a_stocked_part
from tests.http_clients import ApiClient, PageClient
from tests.pages.page_forms import page_text

MORNING = datetime(2026, 3, 11, 3, 0, tzinfo=UTC)


@pytest.fixture
def set_up(app: Flask, tmp_path: Path) -> Settings:
    """Settings by which the service backs itself up at two in the morning, and keeps three."""
    settings = replace(app.config["BENCH"], backup_dir=str(tmp_path / "safe"), backup_keep=3)
    app.config["BENCH"] = settings
    return settings


def downloaded(client: PageClient | ApiClient, address: str) -> tuple[Any, bytes]:
    """Fetch a file and let go of it, as the server does when all was sent."""
    with client.get(address) as answer:
        return answer, answer.data


def days(number: int) -> timedelta:
    return timedelta(days=number)


# ---- by itself -------------------------------------------------------------------------------------------


def test_one_is_made_a_day_from_its_hour_on_and_the_newest_are_kept(set_up: Settings, tmp_path: Path) -> None:
    a_stocked_part(3)
    for day in range(5):
        with clock.freeze_at(MORNING - timedelta(hours=2) + days(day)):
            assert backups.back_up_if_due(set_up) is None  # not yet two o'clock
        with clock.freeze_at(MORNING + days(day)):
            back_up_if_due = backups.back_up_if_due(set_up)
            assert back_up_if_due is not None
            assert back_up_if_due.name == f"bench-2026-03-{11 + day}-030000.zip"
            assert backups.back_up_if_due(set_up) is None
    stored_backups = scheduled_backups.stored_backups(tmp_path / "safe")
    assert [backup.made for backup in stored_backups] == [MORNING + days(number) for number in (4, 3, 2)]
    assert restore.trial_restore(tmp_path / "safe" / stored_backups[0].name).sound


def test_its_hour_and_its_day_are_the_bench_s(set_up: Settings) -> None:
    lisbon = replace(set_up, timezone="America/New_York")
    with clock.freeze_at(MORNING):  # eleven in the evening of the day before: its two o'clock has long been
        assert backups.back_up_if_due(lisbon) is not None
    with clock.freeze_at(MORNING + timedelta(hours=2)):
        assert backups.back_up_if_due(lisbon) is None  # one in the morning
    with clock.freeze_at(MORNING + timedelta(hours=3, minutes=1)):
        assert backups.back_up_if_due(lisbon) is not None


def test_what_is_not_its_own_stays_in_the_folder(set_up: Settings, tmp_path: Path) -> None:
    (tmp_path / "safe").mkdir()
    others = [
        tmp_path / "safe" / name for name in ("bench-of-mine.zip", "bench-2026-03-01-020000.zip.old", "photo.png")
    ]
    for other in others:
        other.write_bytes(b"x")
    for day in range(5):
        with clock.freeze_at(MORNING + days(day)):
            backups.back_up_if_due(set_up)
    assert all(other.exists() for other in others)
    assert len(scheduled_backups.stored_backups(tmp_path / "safe")) == 3


def test_an_unsound_ledger_is_told_and_the_good_backups_stay(set_up: Settings, tmp_path: Path) -> None:
    a_stocked_part(3)
    for day in range(3):
        with clock.freeze_at(MORNING + days(day)):
            backups.back_up_if_due(set_up)
    execute("UPDATE balances SET quantity = quantity + 1")
    for day in (3, 4):
        with clock.freeze_at(MORNING + days(day)), pytest.raises(Conflict, match="The ledger is not sound"):
            backups.back_up_if_due(set_up)
    assert {MORNING + days(day) for day in range(3)} <= {
        backup.made for backup in scheduled_backups.stored_backups(tmp_path / "safe")
    }
    with clock.freeze_at(MORNING + days(4)):
        status = scheduled_backups.last_backup_status()
        assert status is not None
        assert status.overdue
        assert status.told.startswith("The last good one is of 13 Mar 2026. The ledger is not sound: Bin")


def test_today_and_an_alert_say_that_it_fails_until_it_works_again(
    set_up: Settings, tmp_path: Path, owner_page: PageClient, tech_page: PageClient, as_owner: ApiClient
) -> None:
    (tmp_path / "safe").write_bytes(b"a file is in the way")
    with clock.freeze_at(MORNING):
        assert "daily backup" not in page_text(owner_page.get("/"))
        with pytest.raises((OSError, Invalid)):
            backups.back_up_if_due(set_up)
        page = owner_page.get("/")
        assert "The daily backup is not made. None was made yet." in page_text(page)
        assert 'href="/backups"' in page.text
        assert 'href="/backups"' not in tech_page.get("/").text
        assert [(alert.kind, alert.what, alert.what_id) for alert in alerts.refresh_alerts()] == [
            ("backup", "backup", 1)
        ]
        assert "None was made yet." in as_owner.get("/api/v1/today").json["backup"]
        assert owner_page.get("/backups/1").status_code == 200
        (tmp_path / "safe").unlink()
        backups.back_up_if_due(set_up)
        assert alerts.refresh_alerts() == []
        assert as_owner.get("/api/v1/today").json["backup"] == ""
    with clock.freeze_at(MORNING + timedelta(hours=50)):
        assert "Does the service run all the time?" in page_text(owner_page.get("/"))


def test_the_service_looks_by_itself_only_when_a_folder_is_set(set_up: Settings, tmp_path: Path) -> None:
    stop = threading.Event()
    assert backups.start_thread(replace(set_up, backup_dir=""), stop) is None
    thread = backups.start_thread(replace(set_up, backup_hour=0), stop)
    assert thread is not None
    for _ in range(200):
        if scheduled_backups.stored_backups(tmp_path / "safe"):
            break
        stop.wait(0.05)
    stop.set()
    thread.join(10)
    assert not thread.is_alive()
    assert len(scheduled_backups.stored_backups(tmp_path / "safe")) == 1


@pytest.mark.parametrize(("name", "value"), [("BACKUP_HOUR", "24"), ("BACKUP_HOUR", "-1"), ("BACKUP_KEEP", "0")])
def test_settings_that_cannot_be_are_refused(name: str, value: str) -> None:
    with pytest.raises(BadSetting, match=f"BENCHPROOF_{name} must be"):
        load_settings({f"BENCHPROOF_{name}": value})


# ---- taken away ------------------------------------------------------------------------------------------


def test_the_owner_takes_one_away_which_restores(owner_page: PageClient, tmp_path: Path) -> None:
    a_stocked_part(3)
    answer, content = downloaded(owner_page, "/backups/now.zip")
    assert answer.content_type == "application/zip"
    assert "attachment; filename=bench-" in answer.headers["Content-Disposition"]
    assert answer.headers["Cache-Control"] == "no-store"
    (tmp_path / "taken.zip").write_bytes(content)
    assert restore.trial_restore(tmp_path / "taken.zip").lines == 1


def test_a_program_of_the_owner_s_takes_one_away(as_owner: ApiClient, as_tech: ApiClient, tmp_path: Path) -> None:
    a_stocked_part(3)
    answer, content = downloaded(as_owner, "/api/v1/backup")
    assert answer.content_type == "application/zip"
    (tmp_path / "taken.zip").write_bytes(content)
    assert restore.trial_restore(tmp_path / "taken.zip").lines == 1
    assert as_tech.get("/api/v1/backup").status_code == 403


def test_those_that_are_kept_are_listed_and_handed_out(
    set_up: Settings, owner_page: PageClient, tech_page: PageClient
) -> None:
    assert "None yet." in page_text(owner_page.get("/backups"))
    with clock.freeze_at(MORNING):
        backups.back_up_if_due(set_up)
        page = owner_page.get("/backups")
    assert "bench-2026-03-11-030000.zip" in page_text(page)
    _, content = downloaded(owner_page, "/backups/bench-2026-03-11-030000.zip")
    assert backup_archive.MANIFEST_NAME in zipfile.ZipFile(BytesIO(content)).namelist()
    for address in ("/backups", "/backups/1", "/backups/now.zip", "/backups/bench-2026-03-11-030000.zip"):
        assert tech_page.get(address).status_code == 403


@pytest.mark.parametrize(
    "name", ["bench-2026-03-12-030000", "..%2Fsecret", "secret.key", "bench-2026-03-11-030000.zip"]
)
def test_no_other_file_is_handed_out(name: str, set_up: Settings, owner_page: PageClient) -> None:
    with clock.freeze_at(MORNING):
        backups.back_up_if_due(set_up)
    assert owner_page.get(f"/backups/{name}.zip").status_code == 404


def test_without_a_folder_it_says_how_to_set_one(owner_page: PageClient) -> None:
    assert "BENCHPROOF_BACKUP_DIR" in page_text(owner_page.get("/backups"))
    assert owner_page.get("/backups/bench-2026-03-11-030000.zip").status_code == 404
