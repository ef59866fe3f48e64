"""The pages of label sizes: measuring a sheet once, seeing it, changing it; and forgetting an offset."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from flask import Flask

from inventory.domain.labelling import label_sizes, print_offsets
from tests.factories import a_bin
from tests.fake_cups import put_on_path
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

TYPED = {
    "name": "Drawer fronts", "label_width": "64", "label_height": "24,0", "page_width": "210 mm",
    "page_height": "297", "columns": "3", "rows": "11", "gap_x": "2.5", "gap_y": "1.5",
}  # fmt: skip


def kept(client: PageClient) -> label_sizes.LabelSizeRecord:
    """Keep the size that TYPED measures, through the page."""
    follow_redirect(client, submit_form(client, client.get("/labels/sizes/new"), "", "size", **TYPED))
    record: label_sizes.LabelSizeRecord = label_sizes.list_label_sizes().items[0]
    return record


def test_a_sheet_is_measured_once_and_seen_with_its_labels(tech_page: PageClient) -> None:
    page = tech_page.get("/labels/sizes/new")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "", "size", **TYPED))
    assert "Drawer fronts is kept: choose it wherever labels are printed." in page_text(answer)
    assert "33 labels of 64 x 24 mm on 210 x 297 mm, 300 dots an inch." in page_text(answer)
    assert answer.get_data(as_text=True).count('class="free"') == 33
    assert "Drawer fronts 3 x 11 on 210 x 297 mm" in page_text(tech_page.get("/labels/sizes"))
    assert '<option value="own-1" >Drawer fronts</option>' in tech_page.get(f"/labels?bin={a_bin().id}").get_data(
        as_text=True
    )


def test_what_is_off_is_said_beside_what_was_typed(tech_page: PageClient) -> None:
    page = tech_page.get("/labels/sizes/new")
    refused = submit_form(tech_page, page, "", "size", **{**TYPED, "columns": "4"})
    assert refused.status_code == 422
    assert "The labels lie off the page" in page_text(refused)
    assert ("label_height", "24,0") in find_form(refused, named="size").fields
    for fields in ({"label_width": "wide"}, {"label_width": ""}, {"rows": "many"}, {"name": ""}):
        assert submit_form(tech_page, page, "", "size", **{**TYPED, **fields}).status_code == 422
    assert label_sizes.list_label_sizes(active=None).items == []


def test_a_roll_needs_no_sheet(tech_page: PageClient) -> None:
    fields = {"name": "Spool", "label_width": "57", "label_height": "32", "dpi": "203"}
    answer = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get("/labels/sizes/new"), "", "size", **fields)
    )
    assert "A roll of labels 57 x 32 mm, 203 dots an inch." in page_text(answer)


def test_a_size_is_measured_again_and_taken_out_of_use(tech_page: PageClient) -> None:
    size = kept(tech_page)
    address = f"/labels/sizes/{size.id}"
    answer = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(address), "", "size", left="5", active="1")
    )
    assert "Drawer fronts is changed." in page_text(answer)
    assert label_sizes.get_label_size(size.id).left == 5.0
    page = tech_page.get(address)
    form = find_form(page, named="size")
    form.fields = [pair for pair in form.fields if pair[0] != "active"]
    tech_page.post(form.action, data=dict(form.fields))
    assert "no longer used" in page_text(tech_page.get(address))
    assert "None yet." in page_text(tech_page.get("/labels/sizes"))
    assert "Drawer fronts" in page_text(tech_page.get("/labels/sizes?gone=1"))
    stale = submit_form(tech_page, page, "", "size", top="5", once="another form")
    assert stale.status_code == 412


def test_markup_in_a_name_stays_words(tech_page: PageClient) -> None:
    evil = "<script>alert(1)</script>"
    submit_form(tech_page, tech_page.get("/labels/sizes/new"), "", "size", **{**TYPED, "name": evil})
    for address in ("/labels/sizes", "/labels/sizes/1", f"/labels?bin={a_bin().id}&media=own-1"):
        assert "<script>alert" not in tech_page.get(address).get_data(as_text=True)


def test_an_offset_is_forgotten(tech_page: PageClient) -> None:
    print_offsets.save_offset(kept(tech_page).key, 1, -2)
    print_offsets.save_offset("", 0.5, 0, printer="office-laser")
    page = tech_page.get("/labels/sizes")
    assert "1 mm right, 2 mm up Drawer fronts" in page_text(page)
    assert "0.5 mm right whatever goes in on office-laser" in page_text(page)
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/forget"))
    assert "Forgotten" in page_text(answer)
    assert [offset.printer for offset in print_offsets.offsets().items] == ["office-laser"]


def test_a_printer_that_is_off_whatever_goes_in_is_put_right_once(
    tech_page: PageClient, app: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Printed on" not in page_text(tech_page.get("/labels/sizes"))  # no queue is set up
    put_on_path(tmp_path, monkeypatch)
    app.config["BENCH"] = replace(app.config["BENCH"], printers="bench-roll")
    page = tech_page.get("/labels/sizes")
    fields = {"printer": "bench-roll", "size": "", "right": "-0,5", "down": "1"}
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "", "offset", **fields))
    assert "From now on print moves 0.5 mm left, 1 mm down on bench-roll." in page_text(answer)
    assert "0.5 mm left, 1 mm down whatever goes in on bench-roll" in page_text(answer)
    assert print_offsets.offset_for("roll-62x29", "bench-roll") == (-0.5, 1.0)
    assert "On it moved 0.5 mm left, 1 mm down." in page_text(tech_page.get(f"/labels?bin={a_bin().id}"))


def test_an_offset_of_nothing_in_particular_is_refused_beside_its_field(tech_page: PageClient) -> None:
    refused = submit_form(tech_page, tech_page.get("/labels/sizes"), "", "offset", right="1")
    assert refused.status_code == 422
    assert "Say which size or which printer is off: choose one." in page_text(refused)
    assert ("right", "1") in find_form(refused, named="offset").fields
    assert print_offsets.offsets().items == []


@pytest.mark.parametrize("address", ["/labels/sizes/9", "/labels/sizes/9/edit", "/labels/offsets/9/forget"])
def test_it_finds_nothing_that_is_not_there(address: str, tech_page: PageClient) -> None:
    answer = tech_page.get(address) if address.endswith("9") else tech_page.post_form(address, name="x")
    assert answer.status_code in (404, 422)


def test_a_viewer_looks_and_changes_nothing(tech_page: PageClient, viewer_page: PageClient) -> None:
    size = kept(tech_page)
    assert "33 labels" in page_text(viewer_page.get(f"/labels/sizes/{size.id}"))
    assert viewer_page.get("/labels/sizes/new").status_code == 403
    for address in (
        "/labels/sizes/new",
        f"/labels/sizes/{size.id}/edit",
        "/labels/offsets/1/forget",
        "/labels/offsets",
    ):
        assert viewer_page.post_form(address, **TYPED).status_code == 403
