"""The owner's page of money, and what it gives a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.jobs import jobs
from inventory.domain.money.money_records import MonthValue
from inventory.domain.money.stock_value import stock_value_by_month
from inventory.domain.movements import pull, receive
from inventory.pages.money.stock_value_chart import value_chart
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient

NASTY = '=HYPERLINK("http://example.net")'


@pytest.fixture
def used() -> int:
    """A bench with a nastily named part, half of which a closed job used of the four bought for it."""
    part, job = a_part(NASTY), a_job(customer="+41 Stage Crew")
    order = orders.draft_order(
        suppliers.add_supplier("@Quayside").id, [NewOrderLine(part.id, 4, cost_minor=1001, job_id=job.id)]
    )
    orders.place_order(order.id)
    lot = receive.receive(part.id, 4, a_bin(part).id, order_line_id=order.lines[0].id).lot_ids[0]
    pull.pull(2, lot_id=lot, job_id=job.id)
    jobs.close_job(job.id)
    return job.id


def rows(answer: Any) -> list[dict[str, str]]:
    assert answer.status_code == 200
    assert answer.content_type == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(answer.text)))


def test_it_shows_the_worth_the_picture_and_what_was_bought_in_vain(owner_page: PageClient, used: int) -> None:
    page = owner_page.get("/money").text
    assert "5.00 EUR" in page
    assert "still lying there" in page
    assert "Worth of the stock at the end of each month; the same in figures below" in page
    assert f"/jobs/{used}" in page


def test_a_day_to_come_is_refused_in_a_sentence_and_the_page_stays(owner_page: PageClient) -> None:
    answer = owner_page.get("/money?on=2090-01-01")
    assert answer.status_code == 422
    assert "still to come" in answer.text
    assert "What the stock is worth" in answer.text


def test_every_table_comes_for_a_spreadsheet_and_runs_nothing_in_it(owner_page: PageClient, used: int) -> None:
    (worth,) = rows(owner_page.get("/money/value.csv"))
    assert (worth["name"], worth["quantity"], worth["worth"], worth["currency"]) == (f"'{NASTY}", "2", "5.00", "EUR")
    assert [row["worth"] for row in rows(owner_page.get("/money/months.csv"))] == ["5.00"]
    (vain,) = rows(owner_page.get("/money/in-vain.csv"))
    assert (vain["supplier"], vain["what became of it"], vain["cost"]) == ("'@Quayside", "still lying there", "5.00")
    (cost,) = rows(owner_page.get("/money/jobs.csv"))
    assert (cost["customer"], cost["together"]) == ("'+41 Stage Crew", "5.01")
    (line,) = rows(owner_page.get(f"/jobs/{used}/cost.csv"))
    assert (line["quantity"], line["cost"]) == ("2 pieces", "5.01")


def test_an_empty_bench_has_a_page_too(owner_page: PageClient) -> None:
    page = owner_page.get("/money")
    assert page.status_code == 200
    assert "every job used what was bought for it" in page.text


@pytest.mark.parametrize("address", ["/money", "/money/value.csv", "/money/in-vain.csv", "/money/jobs.csv"])
def test_it_is_the_owners(tech_page: PageClient, address: str) -> None:
    assert tech_page.get(address).status_code == 403


def test_the_tallest_bar_is_the_dearest_month_and_all_stand_on_the_axis(app: object) -> None:
    a_stocked_part(3, cost_minor=100)
    now = stock_value_by_month()[0]
    months = [MonthValue(now.day, worth, 1, 0) for worth in (0, 50_000, 100_000)]
    bars = value_chart(months).bars
    assert [bar.height for bar in bars] == sorted(bar.height for bar in bars)
    assert bars[0].height == 0
    assert {round(bar.y + bar.height, 1) for bar in bars} == {178}
    assert bars[1].height == pytest.approx(bars[2].height / 2, abs=0.11)
