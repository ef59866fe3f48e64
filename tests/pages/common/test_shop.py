"""The owner's page of promises and of the constants of the reckoning."""

from __future__ import annotations

import pytest

from inventory.domain.common.shop import ShopConfig, shop_config
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form


def test_it_keeps_the_promise_the_owner_chose(owner_page: PageClient) -> None:
    page = owner_page.get("/shop")
    assert dict(find_form(page, "/shop").fields)["target"] == "95"
    follow_redirect(
        owner_page, submit_form(owner_page, page, "/shop", target="97,5", promise="next_job", looks_days="3")
    )
    assert (shop_config().target, shop_config().promise, shop_config().looks_days) == (0.975, "next_job", 3)


def test_it_keeps_other_promises_for_kinds(owner_page: PageClient) -> None:
    page = owner_page.get("/shop")
    follow_redirect(
        owner_page, submit_form(owner_page, page, "/shop", **{"target-fan": "99", "promise-supply": "next_job"})
    )
    assert (shop_config().targets, shop_config().promises) == ({"fan": 0.99}, {"supply": "next_job"})
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get("/shop"), "/shop", **{"target-fan": ""}))
    assert (shop_config().targets, shop_config().promises) == ({}, {"supply": "next_job"})


def test_it_changes_nothing_when_nothing_was_typed(owner_page: PageClient) -> None:
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get("/shop"), "/shop"))
    assert shop_config() == ShopConfig()


def test_it_puts_a_constant_back_when_it_is_left_blank(owner_page: PageClient) -> None:
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get("/shop"), "/shop", pooling_months="6.5"))
    assert shop_config().pooling_months == 6.5
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get("/shop"), "/shop", pooling_months=""))
    assert shop_config().pooling_months == ShopConfig().pooling_months


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"target": "always"}, "Type a percentage from 50 to 99.9, such as 95."),
        ({"target": "100"}, "Type a percentage from 50 to 99.9"),
        ({"target-fan": "1"}, "Type a percentage from 50 to 99.9"),
        ({"promise": "everything"}, "The promise must be one of"),
        ({"looks_days": "1.5"}, "Type a whole number from 0 to 90."),
        ({"looks_days": "-1"}, "must be a whole number from 0 to 90"),
        ({"holding_share": "nan"}, "must be a number from 0.0 to 5.0"),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(
    owner_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    refused = submit_form(owner_page, owner_page.get("/shop"), "/shop", **{"lead_days": "21", **fields})
    assert refused.status_code == 422
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/shop").fields)["lead_days"] == "21"
    assert shop_config() == ShopConfig()


def test_it_shows_html_as_text(owner_page: PageClient) -> None:
    refused = submit_form(owner_page, owner_page.get("/shop"), "/shop", target="<script>alert(1)</script>")
    assert "<script>alert" not in refused.get_data(as_text=True)


def test_it_is_for_owners(tech_page: PageClient) -> None:
    assert tech_page.get("/shop").status_code == 403
    assert tech_page.post_form("/shop", target="60").status_code == 403
    assert shop_config() == ShopConfig()


def test_it_takes_no_other_method(owner_page: PageClient) -> None:
    assert owner_page.put("/shop").status_code == 405
