"""Moving, scrapping, counting, single labels, and the list of bins."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.movements import adjustments, bin_list, receive
from tests.factories import a_bin, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, send_form, submit_form
from tests.proof_factories import a_piece

EVIL = "<script>alert('x')</script>'; DROP TABLE bins;--"
FORMS = ("move", "scrap", "send-back", "count", "single-out")


def booked(bin_id: int) -> int:
    """Return how many loose units are in a bin."""
    return sum(holding.quantity for holding in bins.holdings(bin_id=bin_id))


def test_it_is_reached_from_the_bin(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    body = tech_page.get(f"/bins/{bin_.id}").get_data(as_text=True)
    for form in FORMS:
        assert f'href="/bins/{bin_.id}/{form}"' in body


def test_it_moves_some_into_the_bin_whose_label_was_scanned(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    other = a_bin()
    page = tech_page.get(f"/bins/{bin_.id}/move")
    answer = follow_redirect(
        tech_page, submit_form(tech_page, page, "/move", amount="2", to=f"HTTPS://OLD.LAN/S/{other.code}")
    )
    assert f"2 pieces of {part.name} moved to {other.name}." in page_text(answer)
    assert (booked(bin_.id), booked(other.id)) == (3, 2)
    follow_redirect(tech_page, submit_form(tech_page, answer, "/undo"))
    assert (booked(bin_.id), booked(other.id)) == (5, 0)


def test_it_moves_a_piece(tech_page: PageClient) -> None:
    piece = a_piece("F no. 1")
    other = a_bin()
    assert piece.bin_id is not None
    page = tech_page.get(f"/bins/{piece.bin_id}/move?piece={piece.id}")
    assert dict(find_form(page, "/move").fields)["what"] == f"piece {piece.id}"
    follow_redirect(tech_page, submit_form(tech_page, page, "/move", to=other.name))
    assert [piece.id for piece in bins.stocked_pieces(bin_id=other.id)] == [piece.id]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"to": ""}, "Scan the bin it should go to"),
        ({"to": "nowhere"}, "No bin is called 'nowhere'"),
        ({"amount": "9"}, "type fewer, or count the bin"),
        ({"amount": "few"}, "is not a quantity"),
        ({"what": ""}, "Choose what in the bin it is about."),
        ({"what": "lot x"}, "Choose what in the bin it is about."),
        ({"what": "lot 999"}, "There is no lot 999"),
        ({"what": "piece 999"}, "There is no piece 999"),
    ],
)
def test_it_moves_nothing_that_cannot_be_right(tech_page: PageClient, fields: dict[str, str], sentence: str) -> None:
    _, bin_, _ = a_stocked_part(5)
    other = a_bin()
    page = tech_page.get(f"/bins/{bin_.id}/move")
    refused = submit_form(tech_page, page, "/move", **{"to": other.name, "reason": "kept words", **fields})
    assert refused.status_code in (404, 409, 422)
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/move").fields)["reason"] == "kept words"
    assert booked(bin_.id) == 5


def test_it_scraps_with_a_reason_and_only_once(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    form = find_form(tech_page.get(f"/bins/{bin_.id}/scrap"), "/scrap")
    refused = send_form(tech_page, form, amount="2", reason="")
    assert refused.status_code == 422
    assert "Say why it is thrown away" in page_text(refused)
    form = find_form(refused, "/scrap")
    first, second = send_form(tech_page, form, reason="bent pins"), send_form(tech_page, form, reason="bent pins")
    assert first.headers["Location"] == second.headers["Location"]
    assert booked(bin_.id) == 3
    assert movements(part_id=part.id, kind="scrap").items[0].reason == "bent pins"


def test_it_gives_one_its_own_label(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}/single-out")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/single-out", name="H no. 1", serial="SN 5"))
    stocked_pieces = bins.stocked_pieces(part_id=part.id)[0]
    assert (stocked_pieces.name, stocked_pieces.serial, stocked_pieces.spare) == ("H no. 1", "SN 5", True)
    assert "It is a piece of its own now: print its label" in page_text(answer)
    assert booked(bin_.id) == 4


def test_it_counts_a_bin_and_books_the_difference(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}/count")
    assert "Never counted yet." in page_text(page)
    assert "The book says 5 pieces" in page_text(page)
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/count", **{f"lot-{receipt.lot_ids[0]}": "3"}))
    assert "2 fewer than booked" in page_text(answer)
    assert booked(bin_.id) == 3
    assert "Last counted today" in page_text(tech_page.get(f"/bins/{bin_.id}/count"))


def test_it_counts_several_lots_all_or_none(tech_page: PageClient) -> None:
    part, bin_, first = a_stocked_part(5)
    second = receive.receive(part.id, 4, bin_.id)
    first_field, two = (f"lot-{receipt.lot_ids[0]}" for receipt in (first, second))
    page = tech_page.get(f"/bins/{bin_.id}/count")
    refused = submit_form(tech_page, page, "/count", **{first_field: "1", two: "lots"})
    assert refused.status_code == 422
    assert dict(find_form(refused, "/count").fields)[first_field] == "1"
    assert booked(bin_.id) == 9
    follow_redirect(tech_page, submit_form(tech_page, refused, "/count", **{first_field: "0", two: ""}))
    assert booked(bin_.id) == 4


def test_it_asks_to_count_again_when_stock_moved_meanwhile(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}/count")
    adjustments.scrap(1, reason="bent", bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    refused = submit_form(tech_page, page, "/count", **{f"lot-{receipt.lot_ids[0]}": "5"})
    assert refused.status_code == 409
    assert "The book went from 5 to 4 while you counted" in page_text(refused)
    assert booked(bin_.id) == 4
    follow_redirect(tech_page, submit_form(tech_page, refused, "/count"))
    assert booked(bin_.id) == 5


def test_it_says_that_nothing_was_counted(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    refused = submit_form(tech_page, tech_page.get(f"/bins/{bin_.id}/count"), "/count")
    assert refused.status_code == 422
    assert "Type what you counted, 0 if there is none." in page_text(refused)


def test_it_lists_what_ran_out_should_some_turn_up(tech_page: PageClient) -> None:
    part, bin_, receipt = a_stocked_part(5)
    adjustments.count(bin_.id, receipt.lot_ids[0], 0)
    page = tech_page.get(f"/bins/{bin_.id}/count")
    assert "The book says 0 pieces" in page_text(page)
    submit_form(tech_page, page, "/count", **{f"lot-{receipt.lot_ids[0]}": "2"})
    assert stock_of(part.id).on_shelf == 2


def test_it_walks_on_to_the_next_bin(tech_page: PageClient) -> None:
    part = a_part()
    first, second = a_bin(part, walk=10), a_bin(a_part("Fan"), walk=20)
    lot = receive.receive(part.id, 5, first.id).lot_ids[0]
    page = tech_page.get(f"/bins/{first.id}/count")
    assert f"And on to bin {second.name}" in page_text(page)
    answer = submit_form(tech_page, page, "/count", **{f"lot-{lot}": "5", "onward": second.id})
    assert answer.headers["Location"] == f"/bins/{second.id}/count"


def test_it_lists_bins_in_the_order_of_the_walk_or_of_their_last_count(tech_page: PageClient) -> None:
    _, counted, receipt = a_stocked_part(5)
    never = a_bin(name="Z-1", walk=900)
    with clock.freeze_at(clock.now() - timedelta(days=3)):
        adjustments.count(counted.id, receipt.lot_ids[0], 5)
    walk, by_count = (page_text(tech_page.get(address)) for address in ("/bins", "/bins?by=count"))
    assert walk.index(str(counted.name)) < walk.index("Z-1")
    assert by_count.index("Z-1") < by_count.index(str(counted.name))
    assert "never counted" in by_count
    assert str(never.name) in by_count


def test_it_adds_a_bin_and_refuses_a_name_twice(tech_page: PageClient) -> None:
    page = tech_page.get("/bins")
    follow_redirect(tech_page, submit_form(tech_page, page, "/bins", name="A-14", walk="3"))
    assert bins.bins().items[0].walk == 3
    refused = submit_form(tech_page, tech_page.get("/bins"), "/bins", name="A-14")
    assert refused.status_code == 409
    assert "There is a bin A-14 already" in page_text(refused)
    assert submit_form(tech_page, tech_page.get("/bins"), "/bins", name=" ").status_code == 422
    assert submit_form(tech_page, tech_page.get("/bins"), "/bins", name="B", walk="far").status_code == 422


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    part = a_part(EVIL)
    bin_ = a_bin(part, name=EVIL)
    receive.receive(part.id, 5, bin_.id)
    for address in ("/bins", *(f"/bins/{bin_.id}/{form}" for form in FORMS)):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body
    refused = submit_form(
        tech_page, tech_page.get(f"/bins/{bin_.id}/move"), "/move", to=EVIL, reason=EVIL, amount=EVIL
    )
    assert "<script>alert" not in refused.get_data(as_text=True)


def test_a_long_list_of_bins_is_narrowed_and_comes_in_pages(
    tech_page: PageClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    fan = a_part("Rear fan", "fan")
    for moment, name in enumerate(("A-1", "A-2", "B-1")):
        a_bin(fan if name == "B-1" else None, name=name, walk=moment)
    monkeypatch.setattr(bin_list, "MAX_LISTED", 2)
    first = tech_page.get("/bins")
    assert "B-1" not in page_text(first)
    assert 'href="/bins?skip=2"' in first.get_data(as_text=True)
    assert "B-1" in page_text(tech_page.get("/bins?skip=2"))
    assert "More bins" not in page_text(tech_page.get("/bins?skip=2"))
    for find in ("b-1", "rear fan"):
        text = page_text(tech_page.get("/bins", query_string={"find": find}))
        assert "B-1" in text
        assert "A-1" not in text.replace("Such as A-14", "")
    assert "No bin is called so" in page_text(tech_page.get("/bins?find=zzz"))


def test_it_finds_no_bin_that_is_not_there(tech_page: PageClient) -> None:
    for form in FORMS:
        assert tech_page.get(f"/bins/999/{form}").status_code == 404
        assert tech_page.post_form(f"/bins/999/{form}", what="lot 1", to="x", reason="x").status_code == 404


def test_it_is_for_techs(viewer_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    assert viewer_page.get("/bins").status_code == 200
    assert "Count" not in page_text(viewer_page.get(f"/bins/{bin_.id}"))
    assert viewer_page.post_form("/bins", name="A-1").status_code == 403
    for form in FORMS:
        assert viewer_page.get(f"/bins/{bin_.id}/{form}").status_code == 403
        assert viewer_page.post_form(f"/bins/{bin_.id}/{form}").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    assert tech_page.put(f"/bins/{bin_.id}/move").status_code == 405
