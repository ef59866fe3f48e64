"""Labels over REST: pictures and sheets, each read back by an independent decoder."""

from __future__ import annotations

import io

import pytest
import zxingcpp
from PIL import Image

from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_stocked_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece


def _things() -> dict[str, int]:
    _, bin_, received = a_stocked_part(1)
    return {"bins": bin_.id, "lots": received.lot_ids[0], "pieces": a_piece("C-07").id, "jobs": a_job().id}


@pytest.mark.parametrize("plural", ["bins", "lots", "pieces", "jobs"])
def test_the_picture_holds_the_code_of_its_thing(plural: str, as_viewer: ApiClient) -> None:
    address = f"{API}/{plural}/{_things()[plural]}"
    code = as_viewer.get(address).get_json()["code"]
    drawn = as_viewer.get(f"{address}/label.png")
    assert (drawn.status_code, drawn.content_type) == (200, "image/png")
    symbol = zxingcpp.read_barcodes(Image.open(io.BytesIO(drawn.data)).convert("L"))
    assert [one.text.rsplit("/", 1)[-1] for one in symbol] == [code]
    shapes = as_viewer.get(f"{address}/label.svg")
    assert shapes.content_type.startswith("image/svg+xml")
    assert "<svg" in shapes.text


def test_a_sheet_is_drawn_for_a_list_of_codes(as_viewer: ApiClient) -> None:
    codes = ",".join(a_bin().code for _ in range(3))
    drawn = as_viewer.get(f"{API}/labels/sheet.pdf", query_string={"codes": codes})
    assert (drawn.status_code, drawn.content_type, drawn.data[:5]) == (200, "application/pdf", b"%PDF-")


def test_what_cannot_be_drawn_is_refused(as_viewer: ApiClient) -> None:
    bin_ = a_bin()
    for asked in ("media=napkin", "dpi=10", "dpi=x", "colour=red"):
        checked_problem(as_viewer.get(f"{API}/bins/{bin_.id}/label.png?{asked}"), 422)
    for asked in ({}, {"codes": ""}, {"codes": "spoon"}, {"codes": bin_.code, "start": 999}):
        checked_problem(as_viewer.get(f"{API}/labels/sheet.pdf", query_string=asked), 422)
    checked_problem(as_viewer.get(f"{API}/bins/999/label.png"), 404)


def test_the_same_picture_is_not_sent_again(as_viewer: ApiClient) -> None:
    address = f"{API}/bins/{a_bin().id}/label.png"
    etag = as_viewer.get(address).headers["ETag"]
    assert as_viewer.get(address, headers={"If-None-Match": etag}).status_code == 304
