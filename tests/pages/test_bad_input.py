"""What cannot be is refused in a sentence wherever it is typed, on pages and by programs alike."""

from __future__ import annotations

import io

import pytest

from inventory.domain.catalogue import bins
from inventory.domain.movements import adjustments
from inventory.domain.stocktake import count_walks
from tests.api.problem_details import checked_problem
from tests.factories import a_bin, a_stocked_part
from tests.http_clients import ApiClient, PageClient

FAR = ["0001-01-01", "1926-01-01", "9999-12-31"]


@pytest.mark.parametrize("day", FAR)
def test_a_year_that_cannot_be_right_is_refused_everywhere(
    as_tech: ApiClient, tech_page: PageClient, day: str
) -> None:
    part, bin_, receipt = a_stocked_part(4)
    lot, any_version = receipt.lot_ids[0], {"If-Match": "*"}
    checked_problem(as_tech.patch(f"/api/v1/lots/{lot}", json={"best_before": day}, headers=any_version), 422)
    fields = {"part_id": part.id, "bin_id": bin_.id, "quantity": 1, "best_before": day}
    checked_problem(as_tech.post("/api/v1/receipts", json=fields), 422)
    checked_problem(as_tech.post("/api/v1/jobs", json={"symptom": "no pan", "promised": day}), 422)
    page = tech_page.post_form("/jobs", symptom="no pan", promised=day)
    assert page.status_code == 422
    assert "check the year" in page.text


@pytest.mark.parametrize(
    "moment", ["2026-03-01T10:00:00", "0001-01-01T00:00:00%2B14:00", "9999-12-31T23:59:59-14:00", "yesterday"]
)
def test_a_moment_without_a_zone_or_beyond_the_calendar_is_refused(as_tech: ApiClient, moment: str) -> None:
    checked_problem(as_tech.get(f"/api/v1/movements?since={moment}"), 422)


def test_a_moment_of_any_zone_is_the_same_moment(as_tech: ApiClient) -> None:
    a_stocked_part(1)
    answer = as_tech.get("/api/v1/movements").get_json()["items"][0]["at"]
    east = as_tech.get(f"/api/v1/movements?since={answer.replace('Z', '%2B00:00')}").get_json()
    assert len(east["items"]) == 1


def test_a_lot_that_is_gone_is_not_put_on_hold(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(2)
    adjustments.scrap(2, bin_id=bin_.id, lot_id=receipt.lot_ids[0], reason="soaked")
    answer = tech_page.post_form(f"/lots/{receipt.lot_ids[0]}/hold", reason="cracked")
    assert answer.status_code == 409
    assert "there is nothing to hold back" in answer.text


def test_a_count_of_a_bin_whose_stock_moved_meanwhile_is_asked_for_again(tech_page: PageClient) -> None:
    part, bin_, receipt = a_stocked_part(4)
    walk = count_walks.start_walk([bin_.id])
    line = count_walks.bin_to_count(walk.id, bin_.id).line
    adjustments.move(a_bin(part).id, 4, bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    bins.edit_bin(bin_.id, walk=99, name="Moved shelf")
    address = f"/counting/{walk.id}/bins/{bin_.id}"
    answer = tech_page.post_form(address, line=line, **{f"lot-{receipt.lot_ids[0]}": "4"})
    assert answer.status_code == 409
    assert "count it once more" in answer.text
    new_line = count_walks.bin_to_count(walk.id, bin_.id).line
    assert tech_page.post_form(address, line=new_line, **{f"lot-{receipt.lot_ids[0]}": "0"}).status_code == 303


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("certificate.pdf", b"<html><script>alert(1)</script>"), ("photo.png", b"%PDF-1.4 cut off"),
        ("photo.jpg", b"MZ\x90\x00"), ("drawing.svg", b"<svg onload='x()'/>"), ("photo.png", b""),
    ],
)  # fmt: skip
def test_a_file_that_is_not_what_its_name_says_is_refused(tech_page: PageClient, name: str, content: bytes) -> None:
    _, _, receipt = a_stocked_part(1)
    fields = {"csrf_token": tech_page.form_token(), "kind": "photo", "file": (io.BytesIO(content), name)}
    answer = tech_page.post(f"/lots/{receipt.lot_ids[0]}/files", data=fields, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert f'href="/files/{1}"' not in tech_page.get(f"/lots/{receipt.lot_ids[0]}").text


@pytest.mark.parametrize("address", ["/money?on=", "/money/value.csv?on=", "/money/jobs.csv?until="])
@pytest.mark.parametrize("day", [*FAR, "2026-02-30", "soon"])
def test_money_of_a_day_that_cannot_be_is_refused(owner_page: PageClient, address: str, day: str) -> None:
    assert owner_page.get(address + day).status_code == 422
