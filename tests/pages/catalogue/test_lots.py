"""The pages of lots: where one came from and went, holding it and letting it go."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import lots
from inventory.domain.movements import adjustments, pull
from tests.factories import a_job, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, send_form, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE lots;--"


def test_it_shows_where_a_lot_came_from_what_is_left_and_which_jobs_got_some(tech_page: PageClient) -> None:
    seller = suppliers.add_supplier("Northgate Components")
    part, bin_, receipt = a_stocked_part(10, supplier_id=seller.id, maker_lot="LT77", cost_minor=450)
    job = a_job(customer="Old Mill Theatre")
    pull.pull(3, bin_id=bin_.id, job_id=job.id)
    adjustments.scrap(1, reason="bent", bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    text = page_text(tech_page.get(f"/lots/{receipt.lot_ids[0]}"))
    assert "delivered by Northgate Components" in text
    assert "LT77" in text
    assert "4.50 EUR for all of it" in text
    assert "6 pieces left here" in text
    assert "3 pieces in jobs" in text
    assert "1 piece scrapped" in text
    assert f"Job {job.number} Old Mill Theatre" in text
    assert part.name in text


def test_it_counts_what_went_for_no_job_or_is_missing(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(10)
    pull.pull(2, bin_id=bin_.id, reason="test rig")
    adjustments.count(bin_.id, receipt.lot_ids[0], 5)
    assert "5 pieces used otherwise or missing" in page_text(tech_page.get(f"/lots/{receipt.lot_ids[0]}"))


def test_a_tech_holds_a_lot_and_the_owner_releases_it_with_what_was_found(
    tech_page: PageClient, owner_page: PageClient
) -> None:
    _, bin_, receipt = a_stocked_part(10)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/hold", reason="pins do not hold"))
    assert lots.lot(receipt.lot_ids[0]).on_hold
    assert "on hold pins do not hold" in page_text(answer)
    assert "on hold" in page_text(tech_page.get("/lots?on_hold=1"))
    assert "the owner releases this one" in page_text(answer)
    assert not [form for form in page_forms(answer) if form.action.endswith("/release")]
    shown_page = owner_page.get(f"/lots/{receipt.lot_ids[0]}")
    sneaked = send_form(
        tech_page,
        replace(find_form(answer, "/edit"), action=find_form(shown_page, "/release").action),
        outcome="looks fine",
    )
    assert sneaked.status_code == 403
    assert "This needs the role owner" in page_text(sneaked)
    assert lots.lot(receipt.lot_ids[0]).on_hold
    freed = follow_redirect(
        owner_page, submit_form(owner_page, shown_page, "/release", outcome="20 tested, all good")
    )
    assert not lots.lot(receipt.lot_ids[0]).on_hold
    assert "20 tested, all good" in page_text(freed)
    assert str(bin_.name) in page_text(freed)


def test_it_holds_a_lot_once_when_tapped_twice_or_by_two_people(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    later = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    assert submit_form(tech_page, page, "/hold", reason="bad").status_code == 303
    assert submit_form(tech_page, page, "/hold", reason="bad").status_code == 303
    refused = submit_form(tech_page, later, "/hold", reason="also bad")
    assert refused.status_code == 409
    assert "on hold already" in page_text(refused)
    assert len(lots.holds(receipt.lot_ids[0])) == 1


def test_it_refuses_a_hold_without_a_reason_and_says_so(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    refused = submit_form(tech_page, tech_page.get(f"/lots/{receipt.lot_ids[0]}"), "/hold", reason=" ")
    assert refused.status_code == 422
    assert "Say why, so that the next person knows" in page_text(refused)
    assert not lots.lot(receipt.lot_ids[0]).on_hold


def test_it_corrects_what_is_noted(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    follow_redirect(
        tech_page,
        submit_form(
            tech_page, page, "/edit", maker_lot="LT9", best_before="2027-05-01", cost_minor="12,50", note="ok"
        ),
    )
    now = lots.lot(receipt.lot_ids[0])
    assert (now.maker_lot, str(now.best_before), now.cost_minor, now.note) == ("LT9", "2027-05-01", 1250, "ok")


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"cost_minor": "cheap"}, "is not a sum of money"),
        ({"cost_minor": "-1"}, "A sum cannot be negative"),
        ({"best_before": "soon"}, "Type a day as year-month-day"),
        ({"maker_lot": "x" * 81}, "shorten it to 80"),
        ({"version": "0"}, "Somebody changed this lot since you opened it"),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    _, _, receipt = a_stocked_part(10)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    refused = submit_form(tech_page, page, "/edit", **{"note": "kept words", **fields})
    assert refused.status_code in (412, 422)
    assert sentence in page_text(refused)
    assert "kept words" in page_text(refused)
    assert lots.lot(receipt.lot_ids[0]).note == ""


def test_it_lists_lots_newest_first_narrowed_by_part_and_by_makers_lot(tech_page: PageClient) -> None:
    first, _, _ = a_stocked_part(4, maker_lot="AAA")
    a_stocked_part(9, maker_lot="BBB")
    assert page_text(tech_page.get("/lots")).index("BBB") < page_text(tech_page.get("/lots")).index("AAA")
    assert "BBB" not in page_text(tech_page.get(f"/lots?part={first.id}"))
    assert "AAA" not in page_text(tech_page.get("/lots?maker_lot=BBB"))
    assert tech_page.get("/lots?part=999").status_code == 404


def test_it_says_that_a_receipt_was_undone(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}?done={receipt.entry}")
    submit_form(tech_page, page, "/undo")
    text = page_text(tech_page.get(f"/lots/{receipt.lot_ids[0]}"))
    assert "Its receipt was taken back" in text
    assert "missing" not in text


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    texts = dict.fromkeys(("origin_note", "maker_lot", "note", "raw_code"), EVIL)
    _, _, receipt = a_stocked_part(10, **texts, date_code=EVIL[:20])
    lots.hold_lot(receipt.lot_ids[0], EVIL)
    for address in ("/lots", f"/lots/{receipt.lot_ids[0]}"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_no_lot_that_is_not_there(tech_page: PageClient) -> None:
    assert tech_page.get("/lots/999").status_code == 404
    assert tech_page.post_form("/lots/999/hold", reason="x").status_code == 404


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    text = page_text(viewer_page.get(f"/lots/{receipt.lot_ids[0]}"))
    assert "Put the lot on hold" not in text
    for what in ("hold", "release", "edit"):
        assert viewer_page.post_form(f"/lots/{receipt.lot_ids[0]}/{what}", reason="x").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(10)
    assert tech_page.get(f"/lots/{receipt.lot_ids[0]}/hold").status_code == 405
    assert tech_page.delete(f"/lots/{receipt.lot_ids[0]}").status_code == 405
