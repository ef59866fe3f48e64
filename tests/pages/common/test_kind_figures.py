"""The page of what is assumed of each kind of part."""

from __future__ import annotations

import pytest

from inventory.domain.common import kind_figures
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, submit_form


def test_it_shows_the_table_and_the_way_to_it(tech_page: PageClient) -> None:
    text = page_text(tech_page.get("/kind-figures"))
    assert "fan 2 % 93 % / 80 % 0.5 % 2 % 30 12 months 99.5 %" in text
    assert 'href="/kind-figures"' in tech_page.get("/more").text


def test_the_owner_changes_a_kind_in_per_cent_and_puts_it_back(owner_page: PageClient) -> None:
    page = owner_page.get("/kind-figures")
    assert dict(find_form(page, "/kind-figures/fan").fields)["donor_dead"] == "80"
    page = follow_redirect(
        owner_page, submit_form(owner_page, page, "/kind-figures/fan", donor_dead="72,5 %", proof_months="6")
    )
    assert "fan yours" in page_text(page)
    record = kind_figures.get_kind_figures("fan")
    assert (record.donor_dead, record.proof_months, record.changed) == (0.725, 6, ("donor_dead", "proof_months"))
    follow_redirect(owner_page, submit_form(owner_page, page, "/kind-figures/fan", donor_dead="", proof_months=""))
    assert kind_figures.get_kind_figures("fan").changed == ()


def test_sending_it_as_it_is_changes_nothing(owner_page: PageClient) -> None:
    for kind in ("fan", "hardware"):
        follow_redirect(owner_page, submit_form(owner_page, owner_page.get("/kind-figures"), f"/kind-figures/{kind}"))
        assert kind_figures.get_kind_figures(kind).changed == ()


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"cap": "lots"}, "type a number, in per cent."),
        ({"cap": "nan"}, "must be a finite number"),
        ({"cap": "101"}, "must be a chance from 0 to 1"),
        ({"rated_matings": "2.5"}, "type a whole number."),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(
    owner_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    data = {"donor_dead": "66", **fields}
    refused = submit_form(owner_page, owner_page.get("/kind-figures"), "/kind-figures/fan", **data)
    assert (refused.status_code, sentence in page_text(refused)) == (422, True)
    assert dict(find_form(refused, "/kind-figures/fan").fields)["donor_dead"] == "66"
    assert kind_figures.get_kind_figures("fan").changed == ()


def test_a_tech_looks_and_changes_nothing(tech_page: PageClient, owner_page: PageClient) -> None:
    assert not [form for form in page_forms(tech_page.get("/kind-figures")) if "/kind-figures/" in form.action]
    assert tech_page.post_form("/kind-figures/fan", cap="90").status_code == 403
    assert owner_page.post_form("/kind-figures/spoon", cap="90").status_code == 404
    assert owner_page.get("/kind-figures/fan").status_code == 405
