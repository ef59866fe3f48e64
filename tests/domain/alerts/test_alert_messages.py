"""Telling people: to a real mail server and a real web server, once each, tried again when that fails."""

from __future__ import annotations

import hashlib
import hmac
import json
import socket
import threading
from contextlib import AbstractContextManager
from datetime import date, timedelta

import pytest

from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_mail import MailSettings
from inventory.domain.alerts.alert_messages import (
    AlertChannels,
    SendResult,
    delete_old_messages,
    last_message_at,
    message,
    messages,
    retry_message,
    send_alerts,
)
from inventory.domain.alerts.alert_records import AlertMessageRecord
from inventory.domain.alerts.alert_webhook import WebhookSettings
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.store import connection
from inventory.store.connection import execute, transaction
from tests.factories import a_job, a_short_part
from tests.frozen_days import MONDAY
from tests.local_servers import CERTIFICATE, MailServer, WebhookServer, run_mail_server

pytestmark = pytest.mark.usefixtures("bench", "frozen_monday")

SECRET = "a secret of our own, long enough"
BENCH = "Harbour Street"
ADDRESS = "https://bench.example"


def after(minutes: float) -> AbstractContextManager[None]:
    """Let it be so many minutes after the Monday morning."""
    return clock.freeze_at(MONDAY + timedelta(minutes=minutes))


def by_mail(box: MailServer, **more: str) -> AlertChannels:
    mail = MailSettings("127.0.0.1", box.port, "none", "", "", "bench@harbour.example", ("odile@harbour.example",))
    return AlertChannels(BENCH, ADDRESS, mail=MailSettings(**{**vars(mail), **more}))


def by_post(inbox: WebhookServer) -> AlertChannels:
    return AlertChannels(BENCH, ADDRESS, webhook=WebhookSettings(inbox.url, SECRET))


def the_log() -> list[AlertMessageRecord]:
    return list(messages().items)


# ---- mail --------------------------------------------------------------------------------------------------


def test_a_digest_reaches_the_mail_server_with_everything_new_by_kind(box: MailServer) -> None:
    stock_parts = [a_short_part(), a_short_part("Fader cap, 100 mm – black")]
    job = a_job(promised=date(2026, 3, 1))
    assert send_alerts(by_mail(box)) == SendResult(sent=1)
    (mail,) = box.mails
    assert (mail["From"], mail["To"]) == ("bench@harbour.example", "odile@harbour.example")
    assert mail["Subject"] == "Harbour Street: 3 to see to, 1 urgent"
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["Date"].datetime == MONDAY
    text = mail.get_content()
    assert text.index("Jobs promised by today (1)") < text.index("To order (2)")
    assert f"- ! Job {job.number} is promised" in text
    assert "of Fader cap, 100 mm – black" in text
    assert f"{ADDRESS}/parts/{stock_parts[0].id}" in text
    assert f"{ADDRESS}/jobs/{job.id}" in text
    assert f"{ADDRESS}/alerts" in text


def test_nothing_is_mailed_twice_and_what_is_new_goes_alone(box: MailServer) -> None:
    a_short_part()
    send_alerts(by_mail(box))
    assert send_alerts(by_mail(box)) == SendResult()
    a_short_part("Fader cap")
    with after(60 * 24):
        assert send_alerts(by_mail(box)) == SendResult(sent=1)
    assert len(box.mails) == 2
    assert "Fader cap" in box.mails[1].get_content()
    assert "Lamp holder" not in box.mails[1].get_content()
    assert box.mails[0]["Message-ID"] != box.mails[1]["Message-ID"]


def test_what_was_seen_or_put_off_is_not_mailed_until_its_day(box: MailServer) -> None:
    done_part, put_off = a_short_part(), a_short_part("Fader cap")
    by_part = {alert.what_id: alert.id for alert in alerts.refresh_alerts()}
    alerts.mark_alert_done(by_part[done_part.id])
    alerts.postpone_alert(by_part[put_off.id], date(2026, 3, 4))
    assert send_alerts(by_mail(box)) == SendResult()
    with after(60 * 24 * 2):
        assert send_alerts(by_mail(box)) == SendResult(sent=1)
    assert "Fader cap" in box.mails[0].get_content()
    assert "Lamp holder" not in box.mails[0].get_content()


def test_one_put_off_after_it_was_told_is_told_again_on_its_day_and_once(box: MailServer) -> None:
    a_short_part()
    send_alerts(by_mail(box))
    (alert,) = alerts.refresh_alerts()
    alerts.postpone_alert(alert.id, date(2026, 3, 4))
    for hours in (1, 47, 48, 49, 72):
        with after(60 * hours):
            send_alerts(by_mail(box))
    assert len(box.mails) == 2


@pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS")
def test_a_server_that_wants_a_sign_in_gets_it() -> None:
    a_short_part()
    with run_mail_server("bench", "salt & vinegar") as box:
        wrong = send_alerts(by_mail(box, user="bench", password="guess"))
        assert (wrong.later, len(box.mails)) == (1, 0)
        assert "535" in wrong.errors[0]
        assert "guess" not in wrong.errors[0]
        with after(2):
            assert send_alerts(by_mail(box, user="bench", password="salt & vinegar")) == SendResult(sent=1)
    assert len(box.mails) == 1


def test_a_sign_in_goes_over_tls_to_a_server_that_shows_a_certificate_we_trust(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    a_short_part()
    monkeypatch.setenv("SSL_CERT_FILE", str(CERTIFICATE))
    with run_mail_server("bench", "salt & vinegar", starttls=True) as box:
        signed_in = by_mail(box, security="starttls", user="bench", password="salt & vinegar")
        assert send_alerts(signed_in) == SendResult(sent=1)
    assert len(box.mails) == 1


def test_a_server_whose_certificate_nobody_vouches_for_gets_neither_mail_nor_password() -> None:
    a_short_part()
    with run_mail_server("bench", "salt & vinegar", starttls=True) as box:
        outcome = send_alerts(by_mail(box, security="starttls", user="bench", password="salt & vinegar"))
    assert (outcome.later, box.mails) == (1, [])
    assert "CERTIFICATE_VERIFY_FAILED" in outcome.errors[0]


def test_a_server_without_starttls_gets_nothing_when_that_is_asked_for(box: MailServer) -> None:
    a_short_part()
    outcome = send_alerts(by_mail(box, security="starttls"))
    assert (outcome.sent, outcome.later, box.mails) == (0, 1, [])
    assert "STARTTLS" in outcome.errors[0]


def test_a_mail_that_is_not_taken_is_tried_again_later_and_later(box: MailServer) -> None:
    a_short_part()
    box.answer = "451 try again later"
    assert send_alerts(by_mail(box)).later == 1
    assert send_alerts(by_mail(box)) == SendResult()  # not yet
    waiting = the_log()[0]
    assert (waiting.state, waiting.attempts, waiting.next_try) == ("waiting", 1, MONDAY + timedelta(minutes=1))
    assert "451 try again later" in waiting.error
    with after(1):
        assert send_alerts(by_mail(box)).later == 1
    with after(5.9):
        assert send_alerts(by_mail(box)) == SendResult()
    box.answer = "250 OK"
    with after(6):
        assert send_alerts(by_mail(box)) == SendResult(sent=1)
    delivery = the_log()[0]
    assert (delivery.state, delivery.attempts, delivery.error) == ("sent", 3, "")
    assert [alert.split(" of ")[1] for alert in delivery.alerts] == ["Lamp holder"]
    assert len(box.mails) == 1


def test_a_server_that_is_not_there_is_an_error_in_words() -> None:
    a_short_part()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        stopped_server = MailServer(port=probe.getsockname()[1])
    outcome = send_alerts(by_mail(stopped_server))
    assert outcome.later == 1
    assert "did not take the mail: [Errno" in outcome.errors[0]


def test_an_addressee_unknown_to_the_server_does_not_keep_the_mail_from_the_others(box: MailServer) -> None:
    a_short_part()
    box.refused = ("gone@harbour.example",)
    mail = by_mail(box).mail
    assert mail is not None
    both = MailSettings(**{**vars(mail), "to": ("gone@harbour.example", "odile@harbour.example")})
    outcome = send_alerts(AlertChannels(BENCH, ADDRESS, mail=both))
    assert len(box.mails) == 1
    assert (outcome.failed, the_log()[0].state) == (1, "failed")
    assert "gone@harbour.example" in outcome.errors[0]


def test_a_line_end_in_a_name_makes_no_header(box: MailServer) -> None:
    a_short_part("Lamp holder\nBcc: thief@example.com")
    channels = by_mail(box)
    send_alerts(AlertChannels("Harbour\r\nX-Evil: yes", channels.address, channels.mail))
    (mail,) = box.mails
    assert (mail["X-Evil"], mail["Bcc"]) == (None, None)


# ---- webhook -----------------------------------------------------------------------------------------------


def test_each_alert_is_posted_as_signed_json(inbox: WebhookServer) -> None:
    part = a_short_part()
    assert send_alerts(by_post(inbox)) == SendResult(sent=1)
    ((headers, text),) = inbox.posts
    data = json.loads(text)
    (alert,) = alerts.refresh_alerts()
    assert data["event"] == "alert"
    assert data["bench"] == BENCH
    assert data["alert"]["key"] == f"reorder:{part.id}"
    assert data["alert"]["url"] == f"{ADDRESS}/parts/{part.id}"
    assert data["alert"]["raised"] == "2026-03-02T09:00:00Z"
    assert (data["alert"]["title"], data["alert"]["urgent"]) == (alert.title, False)
    assert headers["Content-Type"] == "application/json; charset=utf-8"
    assert headers["Benchproof-Delivery"] == data["delivery"]


def test_the_signature_is_the_hmac_of_the_timestamp_and_the_body(inbox: WebhookServer) -> None:
    a_short_part("Fader cap – black")
    send_alerts(by_post(inbox))
    ((headers, text),) = inbox.posts
    assert int(headers["Benchproof-Timestamp"]) == MONDAY.timestamp()
    expected = hmac.new(
        SECRET.encode(), headers["Benchproof-Timestamp"].encode() + b"." + text, hashlib.sha256
    ).hexdigest()
    assert headers["Benchproof-Signature"] == f"hmac-sha256={expected}"
    forged = hmac.new(b"another secret", b"0." + text, hashlib.sha256).hexdigest()
    assert headers["Benchproof-Signature"] != f"hmac-sha256={forged}"


def test_nothing_is_posted_twice(inbox: WebhookServer) -> None:
    a_short_part()
    for hours in range(4):
        with after(60 * hours):
            send_alerts(by_post(inbox))
    assert len(inbox.posts) == 1


def test_a_post_that_fails_is_tried_again_under_the_same_delivery_with_a_fresh_signature(
    inbox: WebhookServer,
) -> None:
    a_short_part()
    inbox.answers = [500, 503, 200]
    for minute in (0, 1, 6):
        with after(minute):
            send_alerts(by_post(inbox))
    assert len(inbox.posts) == 3
    assert len({headers["Benchproof-Delivery"] for headers, _ in inbox.posts}) == 1
    assert len({text for _, text in inbox.posts}) == 1
    assert len({headers["Benchproof-Signature"] for headers, _ in inbox.posts}) == 3
    assert the_log()[0].state == "sent"


def test_a_redirect_is_not_followed_and_gone_is_gone(inbox: WebhookServer) -> None:
    a_short_part()
    inbox.answers = [302]
    assert send_alerts(by_post(inbox)).errors == (f"{inbox.url} answered 302.",)
    inbox.answers = [410]
    with after(1):
        assert send_alerts(by_post(inbox)).failed == 1
    with after(60 * 24 * 9):
        send_alerts(by_post(inbox))
    assert len(inbox.posts) == 2


def test_it_gives_up_after_the_last_try_until_somebody_asks_for_another(inbox: WebhookServer) -> None:
    a_short_part()
    inbox.answers = [500]
    for hours in range(0, 24 * 6, 6):
        with after(60 * hours):
            send_alerts(by_post(inbox))
    assert len(inbox.posts) == 8
    (failed,) = the_log()
    assert (failed.state, failed.error) == ("failed", f"{inbox.url} answered 500.")
    inbox.answers = [200]
    with after(60 * 24 * 7):
        assert retry_message(failed.id).state == "waiting"
        assert send_alerts(by_post(inbox)) == SendResult(sent=1)
        with pytest.raises(Conflict, match="That message is sent"):
            retry_message(failed.id)


def test_a_repetition_about_what_is_over_is_dropped(inbox: WebhookServer) -> None:
    part = a_short_part()
    inbox.answers = [500]
    send_alerts(by_post(inbox))
    parts.edit_part(part.id, level=0)
    inbox.answers = [200]
    with after(1):
        assert send_alerts(by_post(inbox)) == SendResult()
    assert (len(inbox.posts), the_log()[0].state) == (1, "dropped")


def test_both_channels_are_told_each_in_its_own_way(box: MailServer, inbox: WebhookServer) -> None:
    a_short_part()
    a_short_part("Fader cap")
    both = AlertChannels(BENCH, ADDRESS, by_mail(box).mail, by_post(inbox).webhook)
    assert send_alerts(both, digest_now=False) == SendResult(sent=2)
    assert (len(box.mails), len(inbox.posts)) == (0, 2)
    assert send_alerts(both) == SendResult(sent=1)
    assert (len(box.mails), len(inbox.posts)) == (1, 2)
    assert last_message_at("mail") == MONDAY


# ---- crashes and company -----------------------------------------------------------------------------------


def cut_off() -> None:
    """Let every message be in the middle of a try, as when the process was killed."""
    with transaction():
        execute("UPDATE alert_messages SET state = 'sending'")


def test_a_mail_whose_fate_a_crash_left_open_is_not_sent_again(box: MailServer) -> None:
    a_short_part()
    send_alerts(by_mail(box))
    cut_off()
    with after(10):
        assert send_alerts(by_mail(box)) == SendResult()
        assert the_log()[0].state == "sending"
    with after(20):
        assert send_alerts(by_mail(box)) == SendResult()
    assert (len(box.mails), the_log()[0].state) == (1, "failed")
    assert "may have arrived" in the_log()[0].error


def test_a_post_whose_fate_a_crash_left_open_is_repeated_under_the_same_delivery(inbox: WebhookServer) -> None:
    a_short_part()
    send_alerts(by_post(inbox))
    cut_off()
    with after(20):
        assert send_alerts(by_post(inbox)) == SendResult(sent=1)
    assert len({headers["Benchproof-Delivery"] for headers, _ in inbox.posts}) == 1


def test_several_processes_that_look_at_once_tell_each_alert_once(box: MailServer, inbox: WebhookServer) -> None:
    for number in range(6):
        a_short_part(f"Lamp holder {number}")
    both = AlertChannels(BENCH, ADDRESS, by_mail(box).mail, by_post(inbox).webhook)
    failures: list[BaseException] = []

    def look() -> None:
        try:
            connection.connect()
            with clock.freeze_at(MONDAY):
                send_alerts(both)
        except BaseException as error:
            failures.append(error)
        finally:
            connection.database.close()

    threads = [threading.Thread(target=look) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert len(inbox.posts) == 6
    mailed = "\n".join(mail.get_content() for mail in box.mails)
    assert [mailed.count(f"of Lamp holder {number}") for number in range(6)] == [1] * 6


# ---- the log -----------------------------------------------------------------------------------------------


def test_the_log_is_read_in_pages_and_by_state(inbox: WebhookServer) -> None:
    for number in range(3):
        a_short_part(f"Lamp holder {number}")
    inbox.answers = [200, 200, 500]
    send_alerts(by_post(inbox))
    assert [delivery.state for delivery in the_log()] == ["waiting", "sent", "sent"]
    first = messages(limit=2)
    assert [message.id for message in messages(limit=2, after=first.next).items] == [the_log()[2].id]
    assert len(messages(state="sent").items) == 2
    assert message(the_log()[0].id) == the_log()[0]
    with pytest.raises(Invalid, match="The state must be one of"):
        messages(state="lost")
    with pytest.raises(NotFound, match="There is no message 999"):
        message(999)


def test_old_messages_are_forgotten_but_not_that_a_lasting_alert_was_told(inbox: WebhookServer) -> None:
    over, lasting = a_short_part(), a_short_part("Fader cap")
    send_alerts(by_post(inbox))
    parts.edit_part(over.id, level=0)
    alerts.refresh_alerts()
    with after(60 * 24 * 200):
        assert delete_old_messages() == 1
        assert send_alerts(by_post(inbox)) == SendResult()
        assert [delivery.alerts for delivery in the_log()] == [(alerts.refresh_alerts()[0].title,)]
    assert lasting.name in the_log()[0].alerts[0]
