"""The count walk on the phone: one bin after the other, progress, differences looked at before they are booked."""

from __future__ import annotations

from flask import Flask

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.movements import pull, receive
from inventory.domain.stocktake import count_walks
from tests.factories import a_job, a_person, stocked
from tests.http_clients import PageClient, page_client
from tests.pages.page_forms import follow, form, forms, send, submit, words
from tests.proof_factories import a_piece


def test_a_walk_leads_from_bin_to_bin_and_back_to_what_differs(tech_page: PageClient) -> None:
    part, first, one = stocked(20, cost_minor=2000)
    _, second, two = stocked(5)
    page = follow(tech_page, submit(tech_page, tech_page.get("/counting"), "/counting", bins=[first.id, second.id]))
    assert "0 of 2 bins done" in words(page)
    page = follow(tech_page, submit(tech_page, page, "/next"))
    assert f"Bin {first.name}" in words(page)
    assert "the book says" not in words(page)
    page = follow(tech_page, submit(tech_page, page, f"/bins/{first.id}", **{f"lot-{one.lot_ids[0]}": "19"}))
    assert "it waits for review" in words(page)
    assert f"Bin {second.name}" in words(page)
    page = follow(tech_page, submit(tech_page, page, f"/bins/{second.id}", **{f"lot-{two.lot_ids[0]}": "5"}))
    assert "2 of 2 bins done" in words(page)
    assert "19 pieces counted, 20 pieces booked then" in words(page)
    page = follow(tech_page, submit(tech_page, page, "/book", bins=[first.id], reason="found on the floor"))
    assert stock_of(part.id).on_shelf == 19
    page = follow(tech_page, submit(tech_page, page, "/end"))
    assert "The walk is ended" in words(page)


def test_what_was_typed_stays_when_a_lot_is_left_blank(tech_page: PageClient) -> None:
    _, bin_, done = stocked(20)
    walk = count_walks.start_walk([bin_.id]).id
    address = f"/counting/{walk}/bins/{bin_.id}"
    refused = submit(tech_page, tech_page.get(address), f"/bins/{bin_.id}", **{f"lot-{done.lot_ids[0]}": " "})
    assert refused.status_code == 422
    assert "Type how many are there." in words(refused)
    absurd = submit(tech_page, tech_page.get(address), f"/bins/{bin_.id}", **{f"lot-{done.lot_ids[0]}": "-3"})
    assert absurd.status_code == 422


def test_a_pull_meanwhile_asks_to_count_once_more_on_a_fresh_page(tech_page: PageClient) -> None:
    part, bin_, done = stocked(20)
    walk = count_walks.start_walk([bin_.id]).id
    page = tech_page.get(f"/counting/{walk}/bins/{bin_.id}")
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    typed = {f"lot-{done.lot_ids[0]}": "19"}
    refused = submit(tech_page, page, f"/bins/{bin_.id}", **typed)
    assert refused.status_code == 409
    assert "while you counted" in words(refused)
    follow(tech_page, submit(tech_page, refused, f"/bins/{bin_.id}", **typed))
    assert count_walks.walk(walk).done == 1
    assert stock_of(part.id).on_shelf == 19


def test_two_people_walk_at_once(app: Flask, tech_page: PageClient) -> None:
    bins = [stocked(3)[1] for _ in range(2)]
    walk = count_walks.start_walk([one.id for one in bins]).id
    other = page_client(app, a_person())
    at = [
        submit(client, client.get(f"/counting/{walk}"), "/next").headers["Location"] for client in (tech_page, other)
    ]
    assert at == [f"/counting/{walk}/bins/{one.id}" for one in bins]
    assert f"{tech_page.person.shown_as} is at it" in words(other.get(f"/counting/{walk}"))


def test_a_count_sent_twice_counts_once(tech_page: PageClient) -> None:
    _, bin_, done = stocked(20)
    walk = count_walks.start_walk([bin_.id]).id
    found = form(tech_page.get(f"/counting/{walk}/bins/{bin_.id}"), f"/bins/{bin_.id}", "tally")
    typed = {f"lot-{done.lot_ids[0]}": "10"}
    for _ in range(2):
        assert send(tech_page, found, **typed).status_code == 303
    assert count_walks.walk_bins(walk)[0].rounds == 1


def test_pieces_are_ticked_off(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    assert piece.bin_id is not None
    walk = count_walks.start_walk([piece.bin_id]).id
    page = tech_page.get(f"/counting/{walk}/bins/{piece.bin_id}")
    lots = {f"lot-{one.lot.id}": "0" for one in count_walks.to_count(walk, piece.bin_id).lots}
    follow(tech_page, submit(tech_page, page, f"/bins/{piece.bin_id}", seen=[piece.id], **lots))
    assert count_walks.walk_bins(walk)[0].state == "booked"


def test_a_viewer_looks_on(viewer_page: PageClient) -> None:
    _, bin_, _ = stocked(3)
    walk = count_walks.start_walk([bin_.id]).id
    for address in ("/counting", f"/counting/{walk}"):
        page = viewer_page.get(address)
        assert page.status_code == 200
        assert "/next" not in " ".join(one.action for one in forms(page))
    assert viewer_page.get(f"/counting/{walk}/bins/{bin_.id}").status_code == 403
    assert viewer_page.get("/counting/999").status_code == 404


def test_a_bin_asks_for_a_lot_that_the_book_says_is_used_up(tech_page: PageClient) -> None:
    part, bin_, done = stocked(4)
    pull.pull(4, bin_id=bin_.id, job_id=a_job().id)
    fresh = receive.receive(part.id, 6, bin_.id).lot_ids[0]
    walk = count_walks.start_walk([bin_.id])
    address = f"/counting/{walk.id}/bins/{bin_.id}"
    page = tech_page.get(address).text
    assert "A lot is here that the book says is used up" in page
    line = count_walks.to_count(walk.id, bin_.id).line
    sent = {f"lot-{fresh}": "6", f"lot-{done.lot_ids[0]}": "", "line": line}
    assert tech_page.post_form(address, **sent).status_code == 303
    assert count_walks.walk(walk.id).to_count == 0
