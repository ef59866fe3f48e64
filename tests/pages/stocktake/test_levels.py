"""Levels on pages: saying how one is read, reading it, opening a new one in one tap."""

from __future__ import annotations

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.movements import pull, receive
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_forms, page_text, submit_form


def _bottle() -> tuple[int, int, int]:
    part = a_part("Flux", "consumable", kept="by level", unit="ml")
    bin_ = a_bin(part).id
    return part.id, bin_, receive.receive(part.id, 500, bin_, cost_minor=1000).lot_ids[0]


def test_a_bottle_is_read_and_a_new_one_opened_in_one_tap(tech_page: PageClient) -> None:
    part, _, lot = _bottle()
    page = tech_page.get(f"/parts/{part}")
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/level-way", read_by="percent", full="250 ml"))
    assert "Read in per cent of 250 ml." in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/open-new"))
    assert "The first one is open." in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/lots/{lot}"), "/level", value="40"))
    assert "350 ml left; 150 ml went since." in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/parts/{part}"), "/open-new"))
    assert "The old one is empty, a new one is open." in page_text(page)
    assert stock_of(part).on_shelf == 250


def test_a_level_that_cannot_be_is_refused_and_what_was_typed_stays(tech_page: PageClient) -> None:
    part, _, lot = _bottle()
    refused = submit_form(tech_page, tech_page.get(f"/lots/{lot}"), "/level", value="600 ml")
    assert refused.status_code == 409
    assert "receive what came in as a lot of its own" in page_text(refused)
    assert 'value="600 ml"' in refused.get_data(as_text=True)
    for tare in ("light", "nan", "1e999"):
        refused = submit_form(tech_page, tech_page.get(f"/parts/{part}"), "/level-way", read_by="weight", tare=tare)
        assert refused.status_code == 422
        assert "Type a number, such as 31.5." in page_text(refused)


def test_a_job_shows_its_share(tech_page: PageClient) -> None:
    _, _, lot = _bottle()
    job = a_job()
    pull.pull(1, bin_id=a_stocked_part(5)[1].id, job_id=job.id)
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(f"/lots/{lot}"), "/level", value="400 ml"))
    assert "shared by 1 job" in page_text(tech_page.get(f"/jobs/{job.id}/trace"))


def test_a_viewer_reads_and_notes_nothing(viewer_page: PageClient) -> None:
    part, _, lot = _bottle()
    for address in (f"/parts/{part}", f"/lots/{lot}"):
        actions = [form.action for form in page_forms(viewer_page.get(address))]
        assert not [action for action in actions if action.endswith(("/level", "/level-way", "/open-new"))]
