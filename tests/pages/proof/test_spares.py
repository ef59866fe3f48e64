"""The list of spares: word, whereabouts, and what narrows it."""

from __future__ import annotations

from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments
from tests.factories import a_job, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import page_text


def _spare(name: str) -> int:
    _, bin_, receipt = a_stocked_part(1)
    return adjustments.single_out(bin_.id, receipt.lot_ids[0], name=name).piece_ids[0]


def test_it_lists_spares_with_their_standing_and_where_they_are(viewer_page: PageClient) -> None:
    _spare("C-01")
    job = a_job()
    swap_tests.take_piece(_spare("C-02"), job.id, suspect_id=jobs.add_suspect(job.id, "header").id)
    text = page_text(viewer_page.get("/spares"))
    assert "C-01" in text
    assert f"out with job {job.number}" in text
    assert "unproved" in text
    only_out = page_text(viewer_page.get("/spares?out=1"))
    assert "C-02" in only_out
    assert "C-01" not in only_out


def test_it_says_so_when_there_is_none(viewer_page: PageClient) -> None:
    assert "No spare is kept yet." in page_text(viewer_page.get("/spares"))
    assert "No spare is proved now." in page_text(viewer_page.get("/spares?standing=proved"))
    assert viewer_page.get("/spares?standing=<b>").status_code == 200


def test_it_is_only_read(viewer_page: PageClient) -> None:
    assert viewer_page.post("/spares").status_code in (403, 405)
