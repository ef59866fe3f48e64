"""The Alerts page: ticking off, putting off, the feed, and what went out."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from inventory.app import create_app
from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_feed import ATOM_NAMESPACE
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import people
from inventory.domain.movements import receive
from inventory.settings import load_settings
from inventory.store import connection
from tests.factories import a_bin, a_part, a_person
from tests.http_clients import ApiClient, PageClient, make_page_client
from tests.local_servers import MailServer, WebhookServer
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, submit_form

ENTRY, ID = f"{{{ATOM_NAMESPACE}}}entry", f"{{{ATOM_NAMESPACE}}}id"


def short(name: str = "Lamp holder") -> PartRecord:
    """A part of which there is less than the owner wants kept: an alert."""
    return a_part(name, level=4)


def test_a_quiet_bench_says_so(tech_page: PageClient) -> None:
    assert "Nothing needs doing." in page_text(tech_page.get("/alerts"))


def test_what_needs_doing_stands_under_its_heading(tech_page: PageClient) -> None:
    short()
    text = page_text(tech_page.get("/alerts"))
    assert "To order 1 Order" in text
    assert "of Lamp holder" in text


def test_one_tap_ticks_an_alert_off_and_takes_it_off_today(tech_page: PageClient) -> None:
    short()
    today = tech_page.get("/")
    assert "Lamp holder" in page_text(today)
    back = follow_redirect(tech_page, submit_form(tech_page, today, "/seen"))
    assert back.request.path == "/"
    assert "Ticked off" in page_text(back)
    assert "Lamp holder" not in page_text(back)
    assert "1 seen or put off and not shown here" in page_text(back)
    listed = tech_page.get("/alerts")
    assert f"Seen 1 Order 4 pieces of Lamp holder" in page_text(listed)  # noqa: F541
    assert tech_page.person.shown_as in page_text(listed)


def test_of_very_many_alerts_the_first_are_shown_and_the_rest_is_a_tap_away(tech_page: PageClient) -> None:
    for number in range(32):
        short(f"Lamp holder {number:02}")
    few = tech_page.get("/alerts")
    assert few.get_data(as_text=True).count('class="can-wait"') == 30
    assert "All 32 of them" in page_text(few)
    assert tech_page.get("/alerts?all=reorder").get_data(as_text=True).count('class="can-wait"') == 32


def test_it_is_put_off_for_a_week_or_until_a_day_and_called_back(tech_page: PageClient) -> None:
    short()
    page = tech_page.get("/alerts")
    (key,) = [alert.id for alert in alerts.refresh_alerts()]
    back = follow_redirect(tech_page, submit_form(tech_page, page, "/later", f"later-{key}-7"))
    assert back.request.path == "/alerts"
    assert "Put off 1" in page_text(back)
    assert alerts.alert(key).postponed_until == clock.today() + timedelta(days=7)
    second_page = follow_redirect(tech_page, submit_form(tech_page, back, "/again"))
    assert "Put off 1" not in page_text(second_page)
    day = clock.today() + timedelta(days=20)
    submit_form(tech_page, second_page, "/later", f"until-{key}", until=day.isoformat())
    assert alerts.alert(key).postponed_until == day


def test_a_day_that_cannot_be_is_said_beside_the_field(tech_page: PageClient) -> None:
    short()
    page = tech_page.get("/alerts")
    (key,) = [alert.id for alert in alerts.refresh_alerts()]
    for fields in ({"until": "2020-01-01"}, {"until": "soon"}, {"until": ""}):
        answer = submit_form(tech_page, page, "/later", f"until-{key}", once=f"once {fields}", **fields)
        assert answer.status_code == 422
    assert alerts.alert(key).state == "open"


def test_one_that_is_over_cannot_be_ticked_off(tech_page: PageClient) -> None:
    part = short()
    page = tech_page.get("/alerts")
    receive.receive(part.id, 9, a_bin(part).id)
    alerts.refresh_alerts()
    answer = submit_form(tech_page, page, "/seen")
    assert answer.status_code == 409
    assert "That is over already" in page_text(answer)


def test_a_viewer_may_look_and_not_tick_off(viewer_page: PageClient) -> None:
    short()
    page = viewer_page.get("/alerts")
    assert [form.action for form in page_forms(page) if "/alerts/" in form.action] == []
    (key,) = [alert.id for alert in alerts.refresh_alerts()]
    assert viewer_page.post_form(f"/alerts/{key}/seen").status_code == 403
    assert alerts.alert(key).state == "open"


def test_an_alert_nobody_knows_is_not_found(tech_page: PageClient) -> None:
    for verb in ("seen", "later", "again"):
        assert tech_page.post_form(f"/alerts/999/{verb}", days="1").status_code == 404


def test_a_stranger_is_asked_to_sign_in_first(client: FlaskClient) -> None:
    assert client.get("/alerts").status_code == 302


# ---- the feed ----------------------------------------------------------------------------------------------


def feed_address(page: PageClient) -> str:
    """Return the path of the feed that the Alerts page shows."""
    text = page.get("/alerts").get_data(as_text=True)
    return "/alerts.atom" + text.split("/alerts.atom")[1].split('"')[0]


def test_the_feed_is_atom_as_rfc_4287_wants_it(tech_page: PageClient, client: FlaskClient) -> None:
    """A feed has an id, a title, an updated and an author; each entry an id, a title and an updated of its own."""
    part, other = short("Fader cap <100 mm> & black"), short()
    answer = client.get(feed_address(tech_page))
    assert answer.status_code == 200
    assert answer.content_type == "application/atom+xml; charset=utf-8"
    root = ET.fromstring(answer.data)
    assert root.tag == f"{{{ATOM_NAMESPACE}}}feed"
    for thing in (root, *root.iter(ENTRY)):
        for name in ("id", "title", "updated"):
            assert len(thing.findall(f"{{{ATOM_NAMESPACE}}}{name}")) == 1
    assert root.find(f"{{{ATOM_NAMESPACE}}}author/{{{ATOM_NAMESPACE}}}name") is not None
    entries = root.findall(ENTRY)
    assert len({entry.findtext(ID) for entry in entries}) == 2
    assert all(str(entry.findtext(ID)).startswith("urn:uuid:") for entry in entries)
    assert any("Fader cap <100 mm> & black" in str(entry.findtext(f"{{{ATOM_NAMESPACE}}}title")) for entry in entries)
    links = {entry.find(f"{{{ATOM_NAMESPACE}}}link").get("href") for entry in entries}  # type: ignore[union-attr]
    assert links == {f"http://localhost/parts/{key}" for key in (part.id, other.id)}
    assert [link.get("rel") for link in root.findall(f"{{{ATOM_NAMESPACE}}}link")] == ["self", "alternate"]


def entry_ids(client: FlaskClient, address: str) -> list[str]:
    return [str(entry.findtext(ID)) for entry in ET.fromstring(client.get(address).data).iter(ENTRY)]


def test_an_entry_keeps_its_id_until_the_alert_is_told_anew(tech_page: PageClient, client: FlaskClient) -> None:
    part, address = short(), feed_address(tech_page)
    first = entry_ids(client, address)
    assert entry_ids(client, address) == first
    alerts.mark_alert_done(alerts.refresh_alerts()[0].id)
    assert entry_ids(client, address) == []
    parts.edit_part(part.id, level=0)
    alerts.refresh_alerts()
    with clock.freeze_at(clock.now() + timedelta(days=3)):
        parts.edit_part(part.id, level=4)
        alerts.refresh_alerts()
    assert set(entry_ids(client, address)) & set(first) == set()


def test_a_reader_that_has_the_newest_is_told_so(tech_page: PageClient, client: FlaskClient) -> None:
    short()
    address = feed_address(tech_page)
    tag = client.get(address).headers["ETag"]
    assert client.get(address, headers={"If-None-Match": tag}).status_code == 304


def test_a_token_opens_the_feed_too(as_viewer: ApiClient) -> None:
    short()
    assert as_viewer.get("/alerts.atom").status_code == 200


@pytest.mark.parametrize("key", ["", "?key=", "?key=guess", "?key=WzEsMF0.bad"])
def test_without_the_address_there_is_no_feed(client: FlaskClient, key: str) -> None:
    assert client.get(f"/alerts.atom{key}").status_code == 401


def test_the_address_opens_nothing_else_and_ends_with_the_sessions(
    tech_page: PageClient, client: FlaskClient
) -> None:
    address = feed_address(tech_page)
    key = address.split("?")[1]
    assert client.get(f"/alerts?{key}").status_code == 302
    assert client.get(f"/api/v1/parts?{key}").status_code == 401
    people.end_sessions(tech_page.person.id)
    assert client.get(address).status_code == 401


# ---- what went out -----------------------------------------------------------------------------------------


@pytest.fixture
def owner(database_url: str, data_dir: Path, box: MailServer, inbox: WebhookServer) -> Iterator[PageClient]:
    """An owner on a bench that sends alerts by mail and webhook."""
    app: Flask = create_app(
        load_settings(
            {}, data_dir=data_dir, database_url=database_url, bench_name="Harbour Street",
            public_url="https://bench.example/", mail_to="odile@harbour.example, ines@harbour.example",
            mail_from="bench@harbour.example", smtp_host="127.0.0.1", smtp_port=box.port, smtp_security="none",
            webhook_url=inbox.url, webhook_secret="a secret of our own, long enough",
        )
    )  # fmt: skip
    yield make_page_client(app, a_person("owner"))
    connection.database.close()


def test_the_owner_sends_what_is_new_and_sees_what_became_of_it(
    owner: PageClient, box: MailServer, inbox: WebhookServer
) -> None:  # fmt: skip
    short()
    page = owner.get("/alerts")
    assert "a digest to odile@harbour.example, ines@harbour.example" in page_text(page)
    answer = follow_redirect(owner, submit_form(owner, page, "/alerts/send"))
    assert "Everything is sent: 2 messages." in page_text(answer)
    assert (len(box.mails), len(inbox.posts)) == (1, 1)
    assert box.mails[0]["To"] == "odile@harbour.example, ines@harbour.example"
    assert "https://bench.example/parts/" in box.mails[0].get_content()
    assert page_text(answer).count(" sent Order 4 pieces of Lamp holder") == 2
    second_page = follow_redirect(owner, submit_form(owner, answer, "/alerts/send"))
    assert "There was nothing to send." in page_text(second_page)
    assert (len(box.mails), len(inbox.posts)) == (1, 1)


def test_what_failed_is_said_and_can_be_tried_again(owner: PageClient, inbox: WebhookServer) -> None:
    short()
    inbox.answers = [410, 200]
    failed = follow_redirect(owner, submit_form(owner, owner.get("/alerts"), "/alerts/send"))
    assert f"{inbox.url} answered 410." in page_text(failed)
    assert "given up" in page_text(failed)
    waiting = follow_redirect(owner, submit_form(owner, failed, "/again", find_form(failed, "/again").named()))
    assert "It is tried again at the next sending." in page_text(waiting)
    follow_redirect(owner, submit_form(owner, waiting, "/alerts/send"))
    assert len(inbox.posts) == 2


def test_what_is_tried_again_later_is_said_beside_what_was_sent(owner: PageClient, inbox: WebhookServer) -> None:
    short()
    inbox.answers = [500, 200]
    text = page_text(follow_redirect(owner, submit_form(owner, owner.get("/alerts"), "/alerts/send")))
    assert f"{inbox.url} answered 500." in text
    assert "1 message sent." in text  # the mail
    assert "1 that failed is to be tried again from " in text
    shown_text = page_text(follow_redirect(owner, submit_form(owner, owner.get("/alerts"), "/alerts/send")))
    assert "There was nothing to send" not in shown_text
    assert "1 that failed is to be tried again from " in shown_text


def test_only_the_owner_sends(tech_page: PageClient) -> None:
    assert tech_page.post_form("/alerts/send").status_code == 403
    assert tech_page.post_form("/alerts/messages/1/again").status_code == 403
    assert "What went out" not in page_text(tech_page.get("/alerts"))
