"""Procedures on pages: everybody reads them, the owner adds and changes them, old editions stay."""

from __future__ import annotations

from inventory.domain.proof import procedures
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text, submit_form

ROWS = {
    "check_name": ["Current", "No rub"], "check_unit": ["A", ""], "check_low": ["", ""], "check_high": ["0.5", ""],
    "check_times_rated": ["", ""],
}  # fmt: skip


def _add(page: PageClient, **more: object) -> object:
    form = page.get("/procedures/new")
    return submit_form(page, form, "/procedures/new", name="Quick spin", kind="fan", **{**ROWS, **more})


def test_it_lists_the_built_in_ones_with_their_source(viewer_page: PageClient) -> None:
    text = page_text(viewer_page.get("/procedures"))
    assert "ATX" in text
    procedure = next(each for each in procedures.procedures() if "ATX" in each.name)
    assert "11.40" in page_text(viewer_page.get(f"/procedures/{procedure.id}"))


def test_the_owner_adds_one_and_makes_a_next_edition(owner_page: PageClient) -> None:
    text = page_text(follow_redirect(owner_page, _add(owner_page)))
    assert "Quick spin" in text
    assert "0.5" in text
    record = next(each for each in procedures.procedures() if each.name == "Quick spin")
    assert [check.yes_or_no for check in record.checks] == [False, True]
    form = owner_page.get(f"/procedures/{record.id}/edit")
    changed = submit_form(owner_page, form, "/edit", **{**ROWS, "check_high": ["0.4", ""]})
    assert "Edition 2" in page_text(follow_redirect(owner_page, changed))
    assert procedures.procedure(record.id).retired
    newest = next(each for each in procedures.procedures() if each.name == "Quick spin")
    assert (newest.edition, newest.checks[0].high) == (2, "0.4")


def test_a_limit_that_is_no_number_is_refused_and_what_was_typed_stays(owner_page: PageClient) -> None:
    refused = _add(owner_page, check_high=["about half", ""])
    assert refused.status_code == 422  # type: ignore[attr-defined]
    assert "about half" in refused.get_data(as_text=True)  # type: ignore[attr-defined]
    assert not [each for each in procedures.procedures() if each.name == "Quick spin"]


def test_a_share_that_is_no_number_is_refused(owner_page: PageClient) -> None:
    refused = _add(owner_page, sensitivity="mostly")
    assert "Type how often a bad piece fails, in per cent" in page_text(refused)


def test_a_tech_reads_but_does_not_change_them(tech_page: PageClient) -> None:
    procedure = procedures.procedures()[0]
    assert tech_page.get(f"/procedures/{procedure.id}").status_code == 200
    assert tech_page.get("/procedures/new").status_code == 403
    assert tech_page.get(f"/procedures/{procedure.id}/edit").status_code == 403


def test_one_that_is_not_there_is_not_found(owner_page: PageClient) -> None:
    assert owner_page.get("/procedures/999").status_code == 404
