"""The count walk on the phone: one bin after the other, progress, differences looked at before they are booked."""

from __future__ import annotations

from flask import Flask

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.movements import pull, receive
from inventory.domain.stocktake import count_walks
from tests.factories import a_job, a_person, a_stocked_part
from tests.http_clients import PageClient, make_page_client
from tests.pages.page_forms import find_form, follow_redirect, page_forms, page_text, send_form, submit_form
from tests.proof_factories import a_piece


def test_a_walk_leads_from_bin_to_bin_and_back_to_what_differs(tech_page: PageClient) -> None:
    part, first, receipt = a_stocked_part(20, cost_minor=2000)
    _, second, two = a_stocked_part(5)
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get("/counting"), "/counting", bins=[first.id, second.id])
    )
    assert "0 of 2 bins done" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/next"))
    assert f"Bin {first.name}" in page_text(page)
    assert "the book says" not in page_text(page)
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, f"/bins/{first.id}", **{f"lot-{receipt.lot_ids[0]}": "19"})
    )
    assert "it waits for review" in page_text(page)
    assert f"Bin {second.name}" in page_text(page)
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, f"/bins/{second.id}", **{f"lot-{two.lot_ids[0]}": "5"})
    )
    assert "2 of 2 bins done" in page_text(page)
    assert "19 pieces counted, 20 pieces booked then" in page_text(page)
    page = follow_redirect(
        tech_page, submit_form(tech_page, page, "/book", bins=[first.id], reason="found on the floor")
    )
    assert stock_of(part.id).on_shelf == 19
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/end"))
    assert "The walk is ended" in page_text(page)


def test_what_was_typed_stays_when_a_lot_is_left_blank(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(20)
    walk = count_walks.start_walk([bin_.id]).id
    address = f"/counting/{walk}/bins/{bin_.id}"
    refused = submit_form(tech_page, tech_page.get(address), f"/bins/{bin_.id}", **{f"lot-{receipt.lot_ids[0]}": " "})
    assert refused.status_code == 422
    assert "Type how many are there." in page_text(refused)
    absurd = submit_form(tech_page, tech_page.get(address), f"/bins/{bin_.id}", **{f"lot-{receipt.lot_ids[0]}": "-3"})
    assert absurd.status_code == 422


def test_a_pull_meanwhile_asks_to_count_once_more_on_a_fresh_page(tech_page: PageClient) -> None:
    part, bin_, receipt = a_stocked_part(20)
    walk = count_walks.start_walk([bin_.id]).id
    page = tech_page.get(f"/counting/{walk}/bins/{bin_.id}")
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    fields = {f"lot-{receipt.lot_ids[0]}": "19"}
    refused = submit_form(tech_page, page, f"/bins/{bin_.id}", **fields)
    assert refused.status_code == 409
    assert "while you counted" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, f"/bins/{bin_.id}", **fields))
    assert count_walks.get_walk(walk).done == 1
    assert stock_of(part.id).on_shelf == 19


def test_two_people_walk_at_once(app: Flask, tech_page: PageClient) -> None:
    bins = [a_stocked_part(3)[1] for _ in range(2)]
    walk = count_walks.start_walk([bin_.id for bin_ in bins]).id
    other = make_page_client(app, a_person())
    moment = [
        submit_form(client, client.get(f"/counting/{walk}"), "/next").headers["Location"]
        for client in (tech_page, other)
    ]
    assert moment == [f"/counting/{walk}/bins/{bin_.id}" for bin_ in bins]
    assert f"{tech_page.person.shown_as} is at it" in page_text(other.get(f"/counting/{walk}"))


def test_a_count_sent_twice_counts_once(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(20)
    walk = count_walks.start_walk([bin_.id]).id
    form = find_form(tech_page.get(f"/counting/{walk}/bins/{bin_.id}"), f"/bins/{bin_.id}", "tally")
    fields = {f"lot-{receipt.lot_ids[0]}": "10"}
    for _ in range(2):
        assert send_form(tech_page, form, **fields).status_code == 303
    assert count_walks.walk_bins(walk)[0].rounds == 1


def test_pieces_are_ticked_off(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    assert piece.bin_id is not None
    walk = count_walks.start_walk([piece.bin_id]).id
    page = tech_page.get(f"/counting/{walk}/bins/{piece.bin_id}")
    lots = {f"lot-{lot.lot.id}": "0" for lot in count_walks.bin_to_count(walk, piece.bin_id).lots}
    follow_redirect(tech_page, submit_form(tech_page, page, f"/bins/{piece.bin_id}", seen=[piece.id], **lots))
    assert count_walks.walk_bins(walk)[0].state == "booked"


def test_a_viewer_looks_on(viewer_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(3)
    walk = count_walks.start_walk([bin_.id]).id
    for address in ("/counting", f"/counting/{walk}"):
        page = viewer_page.get(address)
        assert page.status_code == 200
        assert "/next" not in " ".join(form.action for form in page_forms(page))
    assert viewer_page.get(f"/counting/{walk}/bins/{bin_.id}").status_code == 403
    assert viewer_page.get("/counting/999").status_code == 404


def test_a_bin_asks_for_a_lot_that_the_book_says_is_used_up(tech_page: PageClient) -> None:
    part, bin_, receipt = a_stocked_part(4)
    pull.pull(4, bin_id=bin_.id, job_id=a_job().id)
    fresh = receive.receive(part.id, 6, bin_.id).lot_ids[0]
    walk = count_walks.start_walk([bin_.id])
    address = f"/counting/{walk.id}/bins/{bin_.id}"
    page = tech_page.get(address).text
    assert "A lot is here that the book says is used up" in page
    line = count_walks.bin_to_count(walk.id, bin_.id).line
    fields = {f"lot-{fresh}": "6", f"lot-{receipt.lot_ids[0]}": "", "line": line}
    assert tech_page.post_form(address, **fields).status_code == 303
    assert count_walks.get_walk(walk.id).to_count == 0
