"""Alerts by the settings: from the command line for cron, and by the service itself."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from inventory.background import alerts as alerting
from inventory.cli import main
from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_messages import AlertChannels, SendResult, messages
from inventory.domain.common import clock
from inventory.settings import BadSetting, Settings, load_settings
from tests.factories import a_part
from tests.local_servers import MailServer, WebhookServer

SECRET = "a secret of our own, long enough"


@pytest.fixture
def settings(bench: None, database_url: str, tmp_path: Path, box: MailServer, inbox: WebhookServer) -> Settings:
    """Settings of a bench that sends alerts both ways."""
    return load_settings(
        {}, data_dir=tmp_path, database_url=database_url, mail_to="odile@harbour.example",
        mail_from="bench@harbour.example", smtp_host="127.0.0.1", smtp_port=box.port, smtp_security="none",
        webhook_url=inbox.url, webhook_secret=SECRET, timezone="Europe/Lisbon",
    )  # fmt: skip


@pytest.fixture
def environment(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same, as a command finds them."""
    for name in ("data_dir", "database_url", "mail_to", "mail_from", "smtp_host", "smtp_port", "smtp_security"):
        monkeypatch.setenv(f"BENCHPROOF_{name.upper()}", str(getattr(settings, name)))
    monkeypatch.setenv("BENCHPROOF_WEBHOOK_URL", settings.webhook_url)
    monkeypatch.setenv("BENCHPROOF_WEBHOOK_SECRET", SECRET)


def short(name: str = "Lamp holder") -> None:
    """Have less of a part than the owner wants kept: an alert."""
    a_part(name, level=4)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["alerts", *arguments])


# ---- the command line --------------------------------------------------------------------------------------


@pytest.mark.usefixtures("environment")
def test_cron_sends_what_is_new_and_nothing_twice(box: MailServer, inbox: WebhookServer) -> None:
    short()
    first = run("send")
    assert (first.exit_code, first.stdout) == (0, "2 sent, 0 to be tried again, 0 given up.\n")
    assert run("send").stdout == "0 sent, 0 to be tried again, 0 given up.\n"
    assert (len(box.mails), len(inbox.posts)) == (1, 1)


@pytest.mark.usefixtures("environment")
def test_cron_hears_of_what_could_not_be_sent(box: MailServer, inbox: WebhookServer) -> None:
    short()
    box.answer, inbox.answers = "452 full", [500]
    result = run("send")
    assert result.exit_code == 1
    assert "0 sent, 2 to be tried again, 0 given up." in result.stdout
    assert "452 full" in result.stderr
    assert f"{inbox.url} answered 500." in result.stderr


@pytest.mark.usefixtures("environment")
def test_what_needs_doing_is_listed() -> None:
    assert run("list").stdout == "Nothing needs doing.\n"
    short()
    assert run("list").stdout.splitlines()[0] == "To order (1)"
    alerts.mark_alert_done(alerts.refresh_alerts()[0].id)
    assert run("list").stdout == "Nothing needs doing.\n"


def test_with_nobody_to_tell_it_says_what_to_set(
    bench: None, database_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BENCHPROOF_DATABASE_URL", database_url)
    monkeypatch.setenv("DATA_DIR", str(tmp_path))
    result = run("send")
    assert result.exit_code == 1
    assert "Nobody is to be told: set BENCHPROOF_MAIL_TO or BENCHPROOF_WEBHOOK_URL first" in result.stderr


# ---- the service itself ------------------------------------------------------------------------------------


def at(hour: int, day: int = 2) -> Any:
    return clock.freeze_at(datetime(2026, 3, day, hour, 30, tzinfo=UTC))


def test_the_service_posts_at_once_and_mails_once_a_day_from_its_hour(
    settings: Settings, box: MailServer, inbox: WebhookServer
) -> None:
    seen = []
    for day, hour, name in ((2, 5, "Lamp holder"), (2, 8, ""), (2, 12, "Fader cap"), (3, 6, ""), (3, 7, "")):
        with at(hour, day):
            if name:
                short(name)
            alerting.check_alerts(settings)
            seen.append((len(inbox.posts), len(box.mails)))
    assert seen == [(1, 0), (1, 1), (2, 1), (2, 1), (2, 2)]
    assert "Fader cap" in box.mails[1].get_content()
    assert "Lamp holder" not in box.mails[1].get_content()


def test_a_mail_that_failed_is_tried_again_the_same_day(settings: Settings, box: MailServer) -> None:
    short()
    box.answer = "451 later"
    with at(8):
        alerting.check_alerts(settings)
    box.answer = "250 OK"
    with at(9):
        assert alerting.check_alerts(settings) == SendResult(sent=1)
    assert len(box.mails) == 1


def test_the_thread_looks_again_and_again_and_survives_an_error(settings: Settings) -> None:
    looks: list[Settings] = []
    stop = threading.Event()

    def act(settings: Settings) -> None:
        looks.append(settings)
        if len(looks) == 1:
            raise RuntimeError("the database was away")
        if len(looks) == 3:
            stop.set()

    hurried = replace(settings, alert_minutes=0.0001)  # type: ignore[arg-type]
    thread = alerting.start_thread(hurried, act, stop)
    assert thread is not None
    assert thread.daemon
    thread.join(5)
    assert looks == [hurried] * 3


def test_without_minutes_there_is_no_thread(settings: Settings) -> None:
    assert alerting.start_thread(settings) is None


def test_the_thread_really_sends(settings: Settings, inbox: WebhookServer) -> None:
    short()
    stop = threading.Event()

    def act(settings: Settings) -> None:
        alerting.check_alerts(settings)
        stop.set()

    thread = alerting.start_thread(replace(settings, alert_minutes=1, mail_to=""), act, stop)
    assert thread is not None
    thread.join(5)
    assert len(inbox.posts) == 1
    assert [message.state for message in messages().items] == ["sent"]


# ---- settings ----------------------------------------------------------------------------------------------


def test_without_settings_nobody_is_told() -> None:
    assert alerting.alert_channels(load_settings({})) == AlertChannels("Our bench")


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"MAIL_TO": "odile@harbour.example"}, "BENCHPROOF_MAIL_TO needs BENCHPROOF_SMTP_HOST and"),
        ({"MAIL_TO": "a@b.example", "SMTP_HOST": "mail", "MAIL_FROM": "bench"}, "BENCHPROOF_MAIL_TO needs"),
        ({"SMTP_PORT": "0"}, "BENCHPROOF_SMTP_PORT is 0: write a number from 1 to 65535"),
        ({"SMTP_SECURITY": "ssl"}, "BENCHPROOF_SMTP_SECURITY is 'ssl': write starttls, tls or none"),
        ({"WEBHOOK_URL": "ftp://x"}, "BENCHPROOF_WEBHOOK_URL must start with https:// or http://"),
        ({"WEBHOOK_URL": "https://x.example", "WEBHOOK_SECRET": "short"}, "BENCHPROOF_WEBHOOK_SECRET must have 16"),
        ({"PUBLIC_URL": "bench.lan"}, "BENCHPROOF_PUBLIC_URL must start with https:// or http://"),
        ({"MAIL_HOUR": "24"}, "BENCHPROOF_MAIL_HOUR must be from 0 to 23"),
        ({"ALERT_MINUTES": "-1"}, "BENCHPROOF_ALERT_MINUTES must be from 0 to 1440"),
    ],
)
def test_settings_by_which_nobody_could_be_reached_are_refused(given: dict[str, str], sentence: str) -> None:
    with pytest.raises(BadSetting, match=sentence):
        load_settings({f"BENCHPROOF_{name}": value for name, value in given.items()})
