"""The pages of parts: finding one, describing one, substitutes and lessons."""

from __future__ import annotations

import pytest

from inventory.domain.catalogue import parts
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import adjustments
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, send_form, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE parts;--"


def test_it_lists_parts_with_how_many_there_are_and_where(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(7)
    text = page_text(tech_page.get("/parts"))
    assert part.name in text
    assert part.number in text
    assert f"bin {bin_.name} 7" in text


def test_it_narrows_the_list_by_words_attributes_kind_and_unit_model(tech_page: PageClient) -> None:
    a_part("Board header", attributes={"pitch_mm": 2, "ways": 4})
    a_part("Rear fan", "fan", fits=["Corvid 7 moving head"])
    model = parts.unit_models()[0]
    for query, record, left_out in (
        ("?q=header+4+ways", "Board header", "Rear fan"),
        ("?kind=fan", "Rear fan", "Board header"),
        (f"?fits={model.id}", "Rear fan", "Board header"),
    ):
        text = page_text(tech_page.get(f"/parts{query}"))
        assert record in text
        assert left_out not in text
    assert "No part has that. Type fewer words" in page_text(tech_page.get("/parts?q=valve"))


def test_it_goes_on_to_the_next_fifty_parts(tech_page: PageClient) -> None:
    for number in range(51):
        a_part(f"Header {number}", number=f"H-{number:03}")
    first = tech_page.get("/parts")
    assert "H-050" not in page_text(first)
    onward = first.get_data(as_text=True).split('href="/parts?after=')[1].split('"')[0]
    assert "H-050" in page_text(tech_page.get(f"/parts?after={onward}"))


def test_it_shows_stock_places_risk_and_what_may_stand_in(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(7)
    other = a_part("5-way header")
    parts.set_substitute(part.id, other.id, "cut one pin off")
    text = page_text(tech_page.get(f"/parts/{part.id}"))
    assert "7 pieces on the shelf" in text
    assert f"Bin {bin_.name}" in text
    assert "Risk of running dry before the next delivery" in text
    assert "cut one pin off" in text
    assert "It may stand in for" in page_text(tech_page.get(f"/parts/{other.id}"))


def test_it_shows_pieces_with_their_standing(tech_page: PageClient) -> None:
    part, bin_, receipt = a_stocked_part(3)
    adjustments.single_out(bin_.id, receipt.lot_ids[0], name="H no. 1")
    text = page_text(tech_page.get(f"/parts/{part.id}"))
    assert "H no. 1" in text
    assert "unproved" in text


def test_it_asks_for_the_kind_and_then_for_its_attributes(tech_page: PageClient) -> None:
    assert "What kind of part is it?" in page_text(tech_page.get("/parts/new"))
    text = page_text(tech_page.get("/parts/new?kind=connector"))
    assert "Pitch, in mm" in text
    assert "Gender" in text
    assert "Nominal voltage" in page_text(tech_page.get("/parts/new?kind=fan"))


def added(client: PageClient, **typed: object) -> PartRecord:
    """Add a connector through its form; return it."""
    page = client.get("/parts/new?kind=connector")
    follow_redirect(
        client, submit_form(client, page, "/parts/new", **{"name": "Board header", "number": "C-1", **typed})
    )
    record: PartRecord = parts.parts(find=str(typed.get("number", "C-1"))).items[0]
    return record


def test_it_adds_a_part_with_attributes_fits_and_the_cautions_they_imply(tech_page: PageClient) -> None:
    record = added(
        tech_page, **{"a-pitch_mm": "2,0", "a-ways": "4", "a-gender": "header", "fits": "Corvid 7\nTern 12"}
    )
    assert record.attributes == {"pitch_mm": 2, "ways": 4, "gender": "header"}
    assert [model.name for model in parts.unit_models_of_part(record.id)] == ["Corvid 7", "Tern 12"]
    supply = tech_page.get("/parts/new?kind=supply")
    submit_form(tech_page, supply, "/parts/new", name="24 V supply", number="S-1", kept="individually", unit="piece")
    assert parts.parts(find="S-1").items[0].hazards == ["mains", "stored_charge"]


def test_it_gives_a_new_part_the_bin_and_the_job_it_was_begun_for(tech_page: PageClient) -> None:
    bin_, job = a_bin(), a_job()
    page = tech_page.get(f"/parts/new?kind=fan&bin={bin_.id}&job={job.id}")
    assert f"It goes into bin {bin_.name}" in page_text(page)
    submit_form(tech_page, page, "/parts/new", name="Rear fan", number="F-1")
    part = parts.parts(find="F-1").items[0]
    assert part.catalogued_for_id == job.id
    assert f"Bin {bin_.name}" in page_text(tech_page.get(f"/parts/{part.id}"))


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name": ""}, "Give the part a name"),
        ({"a-pitch_mm": "wide"}, "Pitch must be a number in mm, such as 2 or 2.54."),
        ({"a-gender": "both"}, "Gender must be one of"),
        ({"level": "some"}, "is not a quantity, such as 12"),
        ({"level": "-1"}, "The quantity cannot be negative"),
        ({"target": "101"}, "Type a percentage from 50 to 99.9, such as 95."),
        ({"target": "20"}, "Type a percentage from 50 to 99.9, such as 95."),
        ({"rated_matings": "often"}, "Type a whole number, such as 1."),
        ({"kept": "somehow"}, "The kept must be one of"),
        ({"unit": "yard"}, "The unit must be one of"),
        ({"kind": "thing"}, "The kind must be one of"),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    page = tech_page.get("/parts/new?kind=connector")
    refused = submit_form(
        tech_page, page, "/parts/new", **{"name": "Board header", "number": "C-1", "note": "kept words", **fields}
    )
    assert refused.status_code == 422
    assert sentence in page_text(refused)
    if "kind" not in fields:
        assert "kept words" in page_text(refused)
    assert parts.parts(find="C-1").items == []


def test_it_refuses_a_number_that_is_taken(tech_page: PageClient) -> None:
    a_part(number="C-1")
    page = tech_page.get("/parts/new?kind=connector")
    refused = submit_form(tech_page, page, "/parts/new", name="Another", number="C-1")
    assert refused.status_code == 409
    assert "There is a part C-1 already" in page_text(refused)


def test_it_changes_a_part(tech_page: PageClient) -> None:
    part = a_part("Board header", attributes={"ways": 4})
    page = tech_page.get(f"/parts/{part.id}/edit")
    form = find_form(page, "/edit")
    answer = send_form(
        tech_page, form, **{"name": "Wire header", "a-ways": "5", "level": "12", "hazards": ["static"]}
    )
    follow_redirect(tech_page, answer)
    now = parts.part(part.id)
    assert (now.name, now.attributes, now.level, now.hazards) == ("Wire header", {"ways": 5}, 12, ["static"])


def test_it_refuses_an_edit_of_a_part_that_somebody_changed_meanwhile(tech_page: PageClient) -> None:
    part = a_part()
    page = tech_page.get(f"/parts/{part.id}/edit")
    parts.edit_part(part.id, note="measured again")
    refused = submit_form(tech_page, page, "/edit", name="Mine")
    assert refused.status_code == 412
    assert "Somebody changed this part since you opened it" in page_text(refused)
    assert parts.part(part.id).name == part.name


def test_it_notes_a_stand_in_and_takes_it_back(tech_page: PageClient) -> None:
    part, other = a_part("4-way header"), a_part("5-way header")
    page = tech_page.get(f"/parts/{part.id}")
    answer = follow_redirect(
        tech_page, submit_form(tech_page, page, "/substitutes", part=other.number, differs="cut a pin", both="1")
    )
    assert "5-way header may stand in." in page_text(answer)
    assert parts.substitutes_of(part.id)[0].part.id == other.id
    assert parts.substitutes_of(other.id)[0].part.id == part.id
    follow_redirect(tech_page, submit_form(tech_page, answer, "/remove-substitute"))
    assert parts.substitutes_of(part.id) == []


def test_it_asks_which_part_was_meant_when_several_may_stand_in(tech_page: PageClient) -> None:
    part = a_part("Fuse")
    a_part("5-way header"), a_part("6-way header")
    page = tech_page.get(f"/parts/{part.id}")
    refused = submit_form(tech_page, page, "/substitutes", part="header", differs="bigger")
    assert refused.status_code == 422
    assert "Which of these?" in page_text(refused)
    assert "6-way header" in page_text(refused)


def test_it_keeps_a_lesson_and_shows_it_from_then_on(tech_page: PageClient) -> None:
    part = a_part(fits=["Corvid 7"])
    page = tech_page.get(f"/parts/{part.id}")
    assert submit_form(tech_page, page, "/lessons", text=" ").status_code == 422
    follow_redirect(
        tech_page, submit_form(tech_page, page, "/lessons", text="Measure the fan first.", model="Corvid 7")
    )
    assert "Measure the fan first." in page_text(tech_page.get(f"/parts/{part.id}"))
    assert parts.lessons(unit_model_id=parts.unit_models()[0].id)[0].text == "Measure the fan first."


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    texts = dict.fromkeys(("name", "maker", "maker_number", "caution", "note"), EVIL)
    record = added(tech_page, **{**texts, "number": "X-1", "fits": EVIL, "a-ways": "4"})
    parts.add_lesson(EVIL, part_id=record.id)
    parts.set_substitute(record.id, a_part("Other").id, EVIL)
    for address in ("/parts", f"/parts/{record.id}", f"/parts/{record.id}/edit"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_no_part_that_is_not_there(tech_page: PageClient) -> None:
    for address in ("/parts/999", "/parts/999/edit", "/parts?fits=999"):
        assert tech_page.get(address).status_code == 404
    assert tech_page.post_form("/parts/999/lessons", text="x").status_code == 404


def test_it_refuses_a_query_that_cannot_be_right(tech_page: PageClient) -> None:
    for query in ("?fits=none", "?after=a", "?retired=perhaps"):
        assert tech_page.get(f"/parts{query}").status_code == 422


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    part = a_part()
    text = page_text(viewer_page.get(f"/parts/{part.id}"))
    assert "Edit" not in text
    assert "Receive some" not in text
    assert viewer_page.get("/parts/new").status_code == 403
    for address in (
        "/parts/new",
        f"/parts/{part.id}/edit",
        f"/parts/{part.id}/lessons",
        f"/parts/{part.id}/substitutes",
    ):
        assert viewer_page.post_form(address, name="x", text="x").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    part = a_part()
    assert tech_page.post_form(f"/parts/{part.id}").status_code == 405
    assert tech_page.get(f"/parts/{part.id}/lessons").status_code == 405
