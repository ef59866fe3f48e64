"""The owner's whole way: the list, the order, the alert that it is late, two parcels, and what they taught."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask

from inventory.app import create_app
from inventory.background.alerts import alert_channels
from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.catalogue import bins, stock_totals
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from inventory.domain.reorder.forecast_report import forecast_report, forecasts
from inventory.settings import Settings, load_settings
from inventory.store import connection
from tests.factories import a_bin, a_job, a_part, a_person
from tests.http_clients import PageClient, make_page_client
from tests.local_servers import MailServer, WebhookServer, run_mail_server, run_webhook_server
from tests.pages.page_forms import follow_redirect, page_text, submit_form


@pytest.fixture
def receivers() -> Iterator[tuple[MailServer, WebhookServer]]:
    with run_mail_server() as box, run_webhook_server() as inbox:
        yield box, inbox


@pytest.fixture
def settings(database_url: str, data_dir: Path, receivers: tuple[MailServer, WebhookServer]) -> Settings:
    box, inbox = receivers
    return load_settings(
        {}, data_dir=data_dir, database_url=database_url, mail_to="odile@harbour.example",
        mail_from="bench@harbour.example", smtp_host="127.0.0.1", smtp_port=box.port, smtp_security="none",
        webhook_url=inbox.url, webhook_secret="a secret of our own, long enough",
    )  # fmt: skip


@pytest.fixture
def owner(settings: Settings) -> Iterator[PageClient]:
    app: Flask = create_app(settings)
    yield make_page_client(app, a_person("owner"))
    connection.database.close()


def used_monthly(name: str, seller: SupplierRecord, left: int) -> PartRecord:
    """A part kept for a year, two used every month, of which so many are left."""
    with clock.freeze_at(clock.now() - timedelta(days=400)):
        part = a_part(name)
        receive.receive(part.id, 24 + left, a_bin(part).id)
    for month in range(12):
        with clock.freeze_at(clock.now() - timedelta(days=385 - 30 * month)):
            pull.pull(2, part_id=part.id, job_id=a_job().id)
    suppliers.add_offer(part.id, seller.id, 150, pack=5, breaks=[[4, 120]])
    return part


def test_from_the_list_to_the_shelf(
    owner: PageClient, settings: Settings, receivers: tuple[MailServer, WebhookServer]
) -> None:  # fmt: skip
    box, inbox = receivers
    seller = suppliers.add_supplier("Northgate Components", lead_days=5, shipping_minor=1200)
    due = used_monthly("Lamp holder", seller, 0)
    near = used_monthly("Fan harness", seller, 3)
    ordered = clock.now() - timedelta(days=30)

    with clock.freeze_at(ordered):
        before = reorder_list.advice_for_parts([due.id])[due.id]
        assert before.lead.mean_days == 5
        page = owner.get("/reorder")
        assert "Order now 1 part is at or below" in page_text(page)
        assert "Goes along in the same parcel" in page_text(page)
        draft = follow_redirect(owner, submit_form(owner, page, "/orders/suggested"))
        order = orders.orders(status="draft").items[0]
        assert {line.part.id for line in order.lines} == {due.id, near.id}
        line = next(line for line in order.lines if line.part.id == due.id)
        changed = follow_redirect(owner, submit_form(owner, draft, "/lines/edit", **{f"quantity-{line.id}": "20"}))
        placed = follow_redirect(owner, submit_form(owner, changed, "/place", reference="NG-77"))
        assert "under way" in page_text(placed)
    text = owner.get(f"/orders/{order.id}/text").get_data(as_text=True)
    assert "20 pieces  Lamp holder" in text
    assert owner.get(f"/orders/{order.id}/lines.csv").get_data(as_text=True).count("\r\n") == 3
    assert "Lamp holder" in page_text(owner.get(f"/orders/{order.id}/print"))

    with clock.freeze_at(ordered + timedelta(days=7)):
        assert "Orders late 1" in page_text(owner.get("/"))
        alert_messages.send_alerts(alert_channels(settings))
        alert_messages.send_alerts(alert_channels(settings))
    assert [
        mail.get_content().count(f"Order {order.number} from Northgate Components is late") for mail in box.mails
    ] == [1]
    kinds = [json.loads(body)["alert"]["kind"] for _, body in inbox.posts]
    assert kinds.count("late") == 1

    for days, quantity in ((11, 12), (19, 8)):
        with clock.freeze_at(ordered + timedelta(days=days)):
            here = owner.get(f"/receive?line={line.id}")
            submit_form(owner, here, "/receive", amount=str(quantity), bin=_bin_of(due))
    with clock.freeze_at(ordered + timedelta(days=20)):
        now = reorder_list.advice_for_parts([due.id])[due.id]
        assert (now.lead.deliveries, now.lead.mean_days) == (2, pytest.approx((2 * 5 + 11 + 19) / 4, abs=0.01))
        assert now.level > before.level
        assert stock_totals.stock_of(due.id).on_shelf == 20
        assert [alert.key for alert in alerts.refresh_alerts() if alert.key == f"late:{order.id}"] == [
            f"late:{order.id}"
        ]
        assert forecast_report().judged >= 1
    scored = [forecast for forecast in forecasts(part_id=due.id).items if forecast.scored]
    assert scored[0].until == ordered + timedelta(days=11)  # the parcel that the advice brought


def _bin_of(part: PartRecord) -> str:
    return str(bins.bins(part_id=part.id).items[0].name)
