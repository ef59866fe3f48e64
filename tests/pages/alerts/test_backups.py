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
from inventory.store.connection import run
from tests.factories import stocked
from tests.http_clients import ApiClient, PageClient
from tests.pages.page_forms import words

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
    stocked(3)
    for day in range(5):
        with clock.set_to(MORNING - timedelta(hours=2) + days(day)):
            assert backups.look(set_up) is None  # not yet two o'clock
        with clock.set_to(MORNING + days(day)):
            made = backups.look(set_up)
            assert made is not None
            assert made.name == f"bench-2026-03-{11 + day}-030000.zip"
            assert backups.look(set_up) is None
    kept = scheduled_backups.kept(tmp_path / "safe")
    assert [one.made for one in kept] == [MORNING + days(number) for number in (4, 3, 2)]
    assert restore.try_out(tmp_path / "safe" / kept[0].name).sound


def test_its_hour_and_its_day_are_the_bench_s(set_up: Settings) -> None:
    lisbon = replace(set_up, timezone="America/New_York")
    with clock.set_to(MORNING):  # eleven in the evening of the day before: its two o'clock has long been
        assert backups.look(lisbon) is not None
    with clock.set_to(MORNING + timedelta(hours=2)):
        assert backups.look(lisbon) is None  # one in the morning
    with clock.set_to(MORNING + timedelta(hours=3, minutes=1)):
        assert backups.look(lisbon) is not None


def test_what_is_not_its_own_stays_in_the_folder(set_up: Settings, tmp_path: Path) -> None:
    (tmp_path / "safe").mkdir()
    others = [
        tmp_path / "safe" / name for name in ("bench-of-mine.zip", "bench-2026-03-01-020000.zip.old", "photo.png")
    ]
    for one in others:
        one.write_bytes(b"x")
    for day in range(5):
        with clock.set_to(MORNING + days(day)):
            backups.look(set_up)
    assert all(one.exists() for one in others)
    assert len(scheduled_backups.kept(tmp_path / "safe")) == 3


def test_an_unsound_ledger_is_told_and_the_good_backups_stay(set_up: Settings, tmp_path: Path) -> None:
    stocked(3)
    for day in range(3):
        with clock.set_to(MORNING + days(day)):
            backups.look(set_up)
    run("UPDATE balances SET quantity = quantity + 1")
    for day in (3, 4):
        with clock.set_to(MORNING + days(day)), pytest.raises(Conflict, match="The ledger is not sound"):
            backups.look(set_up)
    assert {MORNING + days(day) for day in range(3)} <= {
        one.made for one in scheduled_backups.kept(tmp_path / "safe")
    }
    with clock.set_to(MORNING + days(4)):
        told = scheduled_backups.last_try()
        assert told is not None
        assert told.overdue
        assert told.told.startswith("The last good one is of 13 Mar 2026. The ledger is not sound: Bin")


def test_today_and_an_alert_say_that_it_fails_until_it_works_again(
    set_up: Settings, tmp_path: Path, owner_page: PageClient, tech_page: PageClient, as_owner: ApiClient
) -> None:
    (tmp_path / "safe").write_bytes(b"a file is in the way")
    with clock.set_to(MORNING):
        assert "daily backup" not in words(owner_page.get("/"))
        with pytest.raises((OSError, Invalid)):
            backups.look(set_up)
        page = owner_page.get("/")
        assert "The daily backup is not made. None was made yet." in words(page)
        assert 'href="/backups"' in page.text
        assert 'href="/backups"' not in tech_page.get("/").text
        assert [(one.kind, one.what, one.what_id) for one in alerts.refresh()] == [("backup", "backup", 1)]
        assert "None was made yet." in as_owner.get("/api/v1/today").json["backup"]
        assert owner_page.get("/backups/1").status_code == 200
        (tmp_path / "safe").unlink()
        backups.look(set_up)
        assert alerts.refresh() == []
        assert as_owner.get("/api/v1/today").json["backup"] == ""
    with clock.set_to(MORNING + timedelta(hours=50)):
        assert "Does the service run all the time?" in words(owner_page.get("/"))


def test_the_service_looks_by_itself_only_when_a_folder_is_set(set_up: Settings, tmp_path: Path) -> None:
    stop = threading.Event()
    assert backups.start(replace(set_up, backup_dir=""), stop) is None
    thread = backups.start(replace(set_up, backup_hour=0), stop)
    assert thread is not None
    for _ in range(200):
        if scheduled_backups.kept(tmp_path / "safe"):
            break
        stop.wait(0.05)
    stop.set()
    thread.join(10)
    assert not thread.is_alive()
    assert len(scheduled_backups.kept(tmp_path / "safe")) == 1


@pytest.mark.parametrize(("name", "value"), [("BACKUP_HOUR", "24"), ("BACKUP_HOUR", "-1"), ("BACKUP_KEEP", "0")])
def test_settings_that_cannot_be_are_refused(name: str, value: str) -> None:
    with pytest.raises(BadSetting, match=f"BENCHPROOF_{name} must be"):
        load_settings({f"BENCHPROOF_{name}": value})


# ---- taken away ------------------------------------------------------------------------------------------


def test_the_owner_takes_one_away_which_restores(owner_page: PageClient, tmp_path: Path) -> None:
    stocked(3)
    answer, content = downloaded(owner_page, "/backups/now.zip")
    assert answer.content_type == "application/zip"
    assert "attachment; filename=bench-" in answer.headers["Content-Disposition"]
    assert answer.headers["Cache-Control"] == "no-store"
    (tmp_path / "taken.zip").write_bytes(content)
    assert restore.try_out(tmp_path / "taken.zip").lines == 1


def test_a_program_of_the_owner_s_takes_one_away(as_owner: ApiClient, as_tech: ApiClient, tmp_path: Path) -> None:
    stocked(3)
    answer, content = downloaded(as_owner, "/api/v1/backup")
    assert answer.content_type == "application/zip"
    (tmp_path / "taken.zip").write_bytes(content)
    assert restore.try_out(tmp_path / "taken.zip").lines == 1
    assert as_tech.get("/api/v1/backup").status_code == 403


def test_those_that_are_kept_are_listed_and_handed_out(
    set_up: Settings, owner_page: PageClient, tech_page: PageClient
) -> None:
    assert "None yet." in words(owner_page.get("/backups"))
    with clock.set_to(MORNING):
        backups.look(set_up)
        page = owner_page.get("/backups")
    assert "bench-2026-03-11-030000.zip" in words(page)
    _, content = downloaded(owner_page, "/backups/bench-2026-03-11-030000.zip")
    assert backup_archive.ABOUT in zipfile.ZipFile(BytesIO(content)).namelist()
    for address in ("/backups", "/backups/1", "/backups/now.zip", "/backups/bench-2026-03-11-030000.zip"):
        assert tech_page.get(address).status_code == 403


@pytest.mark.parametrize(
    "name", ["bench-2026-03-12-030000", "..%2Fsecret", "secret.key", "bench-2026-03-11-030000.zip"]
)
def test_no_other_file_is_handed_out(name: str, set_up: Settings, owner_page: PageClient) -> None:
    with clock.set_to(MORNING):
        backups.look(set_up)
    assert owner_page.get(f"/backups/{name}.zip").status_code == 404


def test_without_a_folder_it_says_how_to_set_one(owner_page: PageClient) -> None:
    assert "BENCHPROOF_BACKUP_DIR" in words(owner_page.get("/backups"))
    assert owner_page.get("/backups/bench-2026-03-11-030000.zip").status_code == 404
