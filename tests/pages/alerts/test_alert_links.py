"""Every link that mail, feed and webhook carry about an alert of any kind opens, through the whole service."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_feed import ATOM_NAMESPACE
from inventory.domain.alerts.alert_mail import MailSettings
from inventory.domain.alerts.alert_messages import AlertChannels, send_alerts
from inventory.domain.alerts.alert_sources import ALERT_KINDS
from inventory.domain.alerts.alert_webhook import WebhookSettings
from inventory.domain.backup import scheduled_backups
from inventory.domain.buying import incoming_plans, orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.local_servers import MailServer, WebhookServer
from tests.proof_factories import a_piece

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)
LATER = MONDAY + timedelta(days=9)  # when all of them are due
ADDRESS = "https://bench.example"


def _overdue() -> None:
    swap_tests.take_piece(a_piece("C-05").id, a_job().id, hours=48)


def _promised() -> None:
    a_job(promised=date(2026, 3, 4))


def _ready() -> None:
    part, _, _ = a_stocked_part(5)
    job = a_job()
    jobs.mark_waiting(job.id, "headers")
    jobs.set_need(job.id, part.id, 2)


def _held() -> None:
    _, bin_, receipt = a_stocked_part(5)
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    lots.hold_lot(receipt.lot_ids[0], "cracked latches")


def _reorder() -> None:
    a_part("Lamp holder", level=4)


def _late() -> None:
    seller = suppliers.add_supplier("Northgate Components", lead_days=3)
    orders.place_order(orders.draft_order(seller.id, [NewOrderLine(a_part(level=0).id, 4)]).id)


def _check() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=5)
    receive.receive(part.id, 20, a_bin(part).id)


def _hold() -> None:
    lots.hold_lot(a_stocked_part(5)[2].lot_ids[0], "dull contacts")


def _past() -> None:
    a_stocked_part(5, best_before=date(2026, 3, 6))


def _soon() -> None:
    a_stocked_part(5, best_before=date(2026, 3, 20))


def _spare() -> None:
    swap_tests.bring_back_piece(swap_tests.take_piece(a_piece("C-06").id, a_job().id).loan.id, "still fails")


def _backup() -> None:
    with suppress(OSError):  # a folder below a file cannot be made
        scheduled_backups.make_scheduled_backup(Path(__file__) / "safe", Path(__file__).parent, 3)


CAUSES: dict[str, Callable[[], None]] = {
    "overdue": _overdue,
    "promised": _promised,
    "ready": _ready,
    "held": _held,
    "reorder": _reorder,
    "late": _late,
    "check": _check,
    "hold": _hold,
    "past": _past,
    "soon": _soon,
    "spare": _spare,
    "backup": _backup,
}


def test_there_is_a_cause_of_every_kind() -> None:
    assert set(CAUSES) == set(ALERT_KINDS)


def _opens(page: PageClient, link: str) -> None:
    answer = page.get(link.removeprefix(ADDRESS).removeprefix("http://localhost"))
    assert answer.status_code == 200, link


def _mailed(box: MailServer) -> dict[str, str]:
    """Return by title what a mail links to; the last is where all of them are."""
    (mail,) = box.mails
    text = mail.get_body().get_content()  # type: ignore[union-attr]
    *of_alerts, everything = re.findall(rf"{ADDRESS}\S+", text)
    titles = [line.removeprefix("- ").removeprefix("! ") for line in text.splitlines() if line.startswith("- ")]
    return dict(zip((*titles, "everything"), (*of_alerts, everything), strict=True))


def _posted(inbox: WebhookServer) -> dict[str, str]:
    alerts = [json.loads(body)["alert"] for _, body in inbox.posts]
    return {alert["title"]: alert["url"] for alert in alerts}


def _fed(page: PageClient) -> dict[str, str]:
    text = page.get("/alerts").get_data(as_text=True)
    root = ET.fromstring(page.get("/alerts.atom" + text.split("/alerts.atom")[1].split('"')[0]).data)
    _opens(
        page,
        next(
            link.get("href", "")
            for link in root.findall(f"{{{ATOM_NAMESPACE}}}link")
            if link.get("rel") == "alternate"
        ),
    )
    return {
        str(entry.findtext(f"{{{ATOM_NAMESPACE}}}title")): str(entry.find(f"{{{ATOM_NAMESPACE}}}link").get("href"))  # type: ignore[union-attr]
        for entry in root.iter(f"{{{ATOM_NAMESPACE}}}entry")
    }


@pytest.mark.parametrize("kind", ALERT_KINDS)
def test_every_link_about_an_alert_opens(
    owner_page: PageClient, box: MailServer, inbox: WebhookServer, kind: str
) -> None:
    with clock.freeze_at(MONDAY):
        CAUSES[kind]()
    with clock.freeze_at(LATER):
        raised = alerts.refresh_alerts()
        assert kind in {alert.kind for alert in raised}
        titles = {alert.title for alert in raised}
        mail = MailSettings(
            "127.0.0.1", box.port, "none", "", "", "bench@harbour.example", ("odile@harbour.example",)
        )
        send_alerts(
            AlertChannels("Harbour Street", ADDRESS, mail, WebhookSettings(inbox.url, "a secret, and long enough"))
        )
        mailed, posted, fed = _mailed(box), _posted(inbox), _fed(owner_page)
        assert titles == set(posted) == set(fed) == set(mailed) - {"everything"}
        for link in (*mailed.values(), *posted.values(), *fed.values()):
            _opens(owner_page, link)
