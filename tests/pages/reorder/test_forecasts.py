"""The owner's page of promises kept: honest counts, and no more than they say."""

from __future__ import annotations

from datetime import timedelta

from flask.testing import FlaskClient

from inventory.domain.buying import suppliers
from inventory.domain.common import clock, shop
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import page_text


def advised_long_ago(taken: int) -> PartRecord:
    """A part that was advised on 60 days ago, and of which so many were taken a day later."""
    shop.edit_shop(lead_variation=0.01)
    with clock.freeze_at(clock.now() - timedelta(days=60)):
        part = a_part("Lamp holder")
        receive.receive(part.id, 50, a_bin(part).id)
        seller = suppliers.add_supplier(f"Supplier of {part.number}", lead_days=10)
        suppliers.add_offer(part.id, seller.id, 40)
        reorder_list.advice_for_parts([part.id])
    with clock.freeze_at(clock.now() - timedelta(days=59)):
        if taken:
            pull.pull(taken, part_id=part.id, job_id=a_job().id)
    return part


def test_a_new_bench_says_that_there_are_too_few_yet(owner_page: PageClient) -> None:
    text = page_text(owner_page.get("/promises"))
    assert "Nothing is remembered yet" in text
    assert "too few yet to say" in text
    assert "Risks that were named" not in text  # no empty picture of nothing


def test_one_scored_advice_is_shown_and_judged_too_few(owner_page: PageClient) -> None:
    advised_long_ago(0)
    text = page_text(owner_page.get("/promises"))
    assert "1 remembered since" in text
    assert "95 % promised 100 % achieved" in text
    assert "1 of 1 levels lasted; 0 did not" in text
    assert "too few yet to say It takes some" in text


def test_levels_that_did_not_last_are_named(owner_page: PageClient) -> None:
    part = advised_long_ago(30)
    page = owner_page.get("/promises")
    assert "0 of 1 levels lasted; 1 did not" in page_text(page)
    assert "too few yet to say" in page_text(page)  # one miss may be chance
    assert "30 pieces wanted, a level of" in page_text(page)
    assert f'href="/parts/{part.id}/reckoning"' in page.get_data(as_text=True)


def test_it_is_the_owners(tech_page: PageClient, client: FlaskClient) -> None:
    assert tech_page.get("/promises").status_code == 403
    assert client.get("/promises").status_code == 302
    assert tech_page.post_form("/promises").status_code == 405
