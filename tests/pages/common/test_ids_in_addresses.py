"""An id in an address or a form is plain digits; other characters that count as digits are no id."""

from __future__ import annotations

import pytest

from inventory.domain.common.validation import parse_id
from tests.factories import a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import submit_form

NOT_IDS = ["²", "³", "٣", "1²", "-1", " 1", "1.0", "", "1" * 40]


@pytest.mark.parametrize("text", NOT_IDS)
def test_only_plain_digits_are_an_id(text: str) -> None:
    assert parse_id(text) is None


def test_plain_digits_are_an_id() -> None:
    assert (parse_id("7"), parse_id("007"), parse_id("999999999")) == (7, 7, 999_999_999)
    assert parse_id("12345678901234") is None
    assert parse_id("12345678901234", max_digits=14) == 12_345_678_901_234


@pytest.mark.parametrize("text", NOT_IDS)
def test_a_page_with_no_such_entry_confirms_nothing(tech_page: PageClient, text: str) -> None:
    page = tech_page.get("/", query_string={"done": text})
    assert page.status_code == 200


@pytest.mark.parametrize("text", NOT_IDS)
def test_a_choice_that_is_no_id_is_left_out(tech_page: PageClient, text: str) -> None:
    _, bin_, _ = a_stocked_part()
    assert tech_page.get(f"/bins/{bin_.id}/move", query_string={"lot": text}).status_code == 200


@pytest.mark.parametrize("text", NOT_IDS)
def test_counting_goes_on_to_no_bin_that_is_no_id(tech_page: PageClient, text: str) -> None:
    _, bin_, received = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}/count")
    answer = submit_form(tech_page, page, "/count", **{f"lot-{received.lot_ids[0]}": "5", "onward": text})
    assert answer.location == f"/bins/{bin_.id}"
