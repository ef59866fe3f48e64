"""What fits instead, where somebody stands who wants it: at the empty bin, at the part, at the job."""

from __future__ import annotations

import re

from inventory.domain.catalogue import parts
from inventory.domain.common.records import BinRecord, JobRecord, PartRecord
from inventory.domain.jobs import jobs, people
from inventory.domain.movements import pull, suggested_substitutes
from inventory.domain.movements.overview import lots_used_by_job
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient


def out_of_it() -> tuple[PartRecord, BinRecord, PartRecord, JobRecord]:
    """A part that is out with its bin, another one that may stand in, and a job."""
    part = a_part("latched header")
    home = a_bin(part)
    other, _, _ = a_stocked_part(4)
    parts.set_substitute(part.id, other.id, "5 mm longer")
    return part, home, other, a_job()


def in_hand(page: PageClient, job: JobRecord) -> None:
    people.set_job_in_hand(page.person.id, job.id)


def test_an_empty_bin_offers_what_fits_and_one_tap_takes_it(tech_page: PageClient) -> None:
    part, home, other, job = out_of_it()
    in_hand(tech_page, job)
    page = tech_page.get(f"/bins/{home.id}").text
    assert "What fits instead" in page
    assert "5 mm longer" in page
    assert f'action="/parts/{part.id}/take-substitute"' in page
    answer = tech_page.post_form(f"/parts/{part.id}/take-substitute", instead=other.id, job=job.id, amount=1)
    assert answer.status_code == 303
    assert answer.headers["Location"].startswith(f"/jobs/{job.id}?done=")
    assert [
        (substitute.part.id, substitute.instead.id) for substitute in suggested_substitutes.substitutes_in_job(job.id)
    ] == [(part.id, other.id)]
    assert "in place of" in tech_page.get(f"/jobs/{job.id}").text


def test_a_pull_refused_for_want_of_stock_shows_what_fits(tech_page: PageClient) -> None:
    receipt, home, _ = a_stocked_part(1)
    other, _, _ = a_stocked_part(4)
    parts.set_substitute(receipt.id, other.id, "5 mm longer")
    job = a_job()
    in_hand(tech_page, job)
    answer = tech_page.post_form(f"/bins/{home.id}/take", part=receipt.id, job=job.id, amount="3")
    assert answer.status_code == 409
    assert "What fits instead" in answer.text
    assert re.search(r"Take 3 instead for job", answer.text)


def test_a_part_that_is_out_says_how_what_fits_differs(tech_page: PageClient) -> None:
    part, _, _, _ = out_of_it()
    page = tech_page.get(f"/parts/{part.id}").text
    assert "Out of it: what fits instead" in page
    assert "Nobody has used it in its place yet." in page
    assert "Take a job in hand, and one tap takes it from here." in page


def test_a_part_on_the_shelf_does_not_speak_of_it(tech_page: PageClient) -> None:
    part, _, _ = a_stocked_part(4)
    assert "what fits instead" not in tech_page.get(f"/parts/{part.id}").text


def test_a_viewer_sees_it_and_has_no_button(viewer_page: PageClient) -> None:
    part, home, _, _ = out_of_it()
    page = viewer_page.get(f"/bins/{home.id}").text
    assert "5 mm longer" in page
    assert f"/parts/{part.id}/take-substitute" not in page


def test_a_job_offers_what_such_units_usually_get(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(9)
    for _ in range(2):
        pull.pull(2, bin_id=bin_.id, job_id=a_job().id)
    job = a_job()
    assert "What such units usually get" in tech_page.get(f"/jobs/{job.id}").text
    answer = tech_page.post_form(f"/jobs/{job.id}/take", part=part.id)
    assert answer.status_code == 303
    assert [(lot.part.id, lot.quantity) for lot in lots_used_by_job(job.id)] == [(part.id, 1)]
    jobs.close_job(job.id)
    assert "What such units usually get" not in tech_page.get(f"/jobs/{job.id}").text


def test_a_unit_model_says_how_many_jobs_used_a_part_and_what_is_left(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(2)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    page = tech_page.get(f"/unit-models/{job.unit_model_id}").text
    assert "1 job used it, 2 pieces as a rule" in page
    assert "none left" in page
