"""Receiving: a bag becomes a lot in a bin, once, with what is known of it."""

from __future__ import annotations

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue import bins, lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import LotRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive
from shared.codes import format_code
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, send_form, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE lots;--"


def the_lot(part_id: int) -> LotRecord:
    """Return the newest lot of a part."""
    record: LotRecord = lots.lots(part_id=part_id).items[0]
    return record


def test_it_asks_which_part_and_goes_by_the_label_of_a_bin(tech_page: PageClient) -> None:
    part = a_part("Rear fan", "fan")
    bin_ = a_bin(part)
    assert "What came in?" in page_text(tech_page.get("/receive"))
    for code in (bin_.code.lower(), f"https://anywhere.example/S/{bin_.code}", "rear fan", part.number):
        page = tech_page.get("/receive", query_string={"q": code})
        assert "Rear fan" in page_text(page)
        assert dict(find_form(page, "/receive").fields)["bin"] == bin_.name


def test_it_offers_a_choice_when_words_mean_several_parts(tech_page: PageClient) -> None:
    a_part("4-way header"), a_part("5-way header")
    several = tech_page.get("/receive?q=header")
    assert several.status_code == 422
    assert "5-way header" in page_text(several)
    assert "No part has 'valve'" in page_text(tech_page.get("/receive?q=valve"))
    other = a_job()
    assert "That is the label of a job" in page_text(tech_page.get(f"/receive?q={other.code}"))


def test_it_puts_what_came_into_its_bin_and_offers_the_label_and_undo(tech_page: PageClient) -> None:
    part = a_part()
    bin_ = a_bin(part)
    seller = suppliers.add_supplier("Northgate Components")
    page = tech_page.get(f"/receive?part={part.id}")
    answer = follow_redirect(
        tech_page,
        submit_form(
            tech_page,
            page,
            "/receive",
            amount="40",
            supplier=seller.id,
            cost_minor="18.00",
            maker_lot="LT7",
            date_code="2541",
            best_before="2028-01-31",
        ),
    )
    lot = the_lot(part.id)
    assert (lot.quantity, lot.supplier_id, lot.cost_minor, lot.maker_lot) == (40, seller.id, 1800, "LT7")
    assert bins.holdings(bin_id=bin_.id)[0].quantity == 40
    assert "Print the lot's label" in page_text(answer)
    assert f"40 pieces of {part.name} received into {bin_.name}." in page_text(answer)
    follow_redirect(tech_page, submit_form(tech_page, answer, "/undo"))
    assert stock_of(part.id).on_shelf == 0


def test_it_receives_once_when_tapped_twice(tech_page: PageClient) -> None:
    part = a_part()
    a_bin(part)
    form = find_form(tech_page.get(f"/receive?part={part.id}"), "/receive")
    first, second = send_form(tech_page, form, amount="5"), send_form(tech_page, form, amount="5")
    assert first.headers["Location"] == second.headers["Location"]
    assert stock_of(part.id).on_shelf == 5


def test_it_reads_a_quantity_in_its_unit(tech_page: PageClient) -> None:
    part = a_part("Wire", "consumable", unit="mm")
    a_bin(part)
    submit_form(tech_page, tech_page.get(f"/receive?part={part.id}"), "/receive", amount="1.5 m")
    assert stock_of(part.id).on_shelf == 1500


def test_it_makes_a_piece_of_each_when_they_are_kept_individually(tech_page: PageClient) -> None:
    part = a_part("24 V supply", "supply", kept="individually")
    a_bin(part)
    answer = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/receive?part={part.id}"), "/receive", amount="2")
    )
    assert "Print 2 piece labels" in page_text(answer)
    assert len(bins.stocked_pieces(part_id=part.id)) == 2


def test_it_offers_the_bin_that_some_lie_in_when_none_is_its_own(tech_page: PageClient) -> None:
    part, shelf = a_part("Motorised fader"), a_bin(name="M-4", mixed=True)
    receive.receive(part.id, 1, shelf.id)
    page = tech_page.get(f"/receive?part={part.id}")
    assert dict(find_form(page, "/receive").fields)["bin"] == "M-4"
    assert "Some lie in it now." in page_text(page)


def test_it_adds_a_bin_that_is_not_there_yet(tech_page: PageClient) -> None:
    part = a_part()
    a_bin()
    page = tech_page.get(f"/receive?part={part.id}")
    refused = submit_form(tech_page, page, "/receive", amount="5", bin="A-77")
    assert refused.status_code == 422
    assert "No bin is called 'A-77'" in page_text(refused)
    assert dict(find_form(refused, "/receive").fields)["amount"] == "5"
    follow_redirect(tech_page, submit_form(tech_page, refused, "/receive", new_bin="1"))
    assert bins.bins(part_id=part.id).items[0].name == "A-77"


def placed(part_id: int, quantity: int = 10) -> OrderRecord:
    """Place an order of a part with a new supplier."""
    seller = suppliers.add_supplier("Quayside Spares")
    order = orders.draft_order(seller.id, [NewOrderLine(part_id, quantity, cost_minor=1000)])
    return orders.place_order(order.id)


def test_it_receives_against_an_order_in_two_parcels(tech_page: PageClient) -> None:
    part = a_part("Rear fan", "fan")
    a_bin(part)
    order = placed(part.id)
    assert "On order Rear fan" in page_text(tech_page.get("/receive"))
    page = tech_page.get(f"/receive?line={order.lines[0].id}")
    assert dict(find_form(page, "/receive").fields)["amount"] == "10"
    submit_form(tech_page, page, "/receive", amount="4")
    assert orders.order(order.id).lines[0].outstanding == 6
    assert (the_lot(part.id).supplier_id, the_lot(part.id).cost_minor) == (order.supplier_id, 400)
    submit_form(tech_page, tech_page.get(f"/receive?part={part.id}"), "/receive")
    assert orders.order(order.id).status == "received"


def test_it_offers_only_the_order_lines_of_the_part(tech_page: PageClient) -> None:
    part, other = a_part("Rear fan", "fan"), a_part("Front fan", "fan")
    seller = suppliers.add_supplier("Quayside Spares")
    order = orders.place_order(
        orders.draft_order(seller.id, [NewOrderLine(other.id, 3), NewOrderLine(part.id, 4)]).id
    )
    page = tech_page.get(f"/receive?part={part.id}")
    assert "4 pieces to come" in page_text(page)
    assert "3 pieces to come" not in page_text(page)
    assert dict(find_form(page, "/receive").fields)["line"] == str(order.lines[1].id)


def test_it_keeps_a_donors_part_with_its_job_and_leaves_out_what_belongs_to_a_delivery(tech_page: PageClient) -> None:
    part = a_part()
    a_bin(part)
    order, job = placed(part.id), a_job()
    page = tech_page.get(f"/receive?part={part.id}&origin=donor&job={job.id}")
    submit_form(tech_page, page, "/receive", amount="1", donor_worked="no", line=order.lines[0].id)
    lot = the_lot(part.id)
    assert (lot.origin, lot.job_id, lot.donor_worked, lot.order_line_id) == ("donor", job.id, False, None)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"amount": ""}, "Say how many there are."),
        ({"amount": "many"}, "is not a quantity"),
        ({"amount": "-3"}, "The quantity must be at least 1 piece"),
        ({"amount": "0"}, "The quantity must be at least 1 piece"),
        ({"amount": "99999999999"}, "look for a digit too many"),
        ({"amount": "1.5"}, "is not a whole number"),
        ({"bin": ""}, "Say which bin it goes into"),
        ({"cost_minor": "free"}, "is not a sum of money"),
        ({"best_before": "1026-01-01"}, "check the year"),
        ({"best_before": "31.12."}, "Type a day as year-month-day"),
        ({"supplier": "Northgate"}, "Choose one from the list."),
        ({"supplier": "999"}, "There is no supplier 999"),
        ({"line": "999"}, "There is no order line 999"),
        ({"origin": "stolen"}, "The origin must be one of"),
        ({"date_code": "x" * 21}, "shorten it to 20"),
    ],
)
def test_it_says_what_is_wrong_keeps_what_was_typed_and_writes_nothing(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    part = a_part()
    a_bin(part)
    page = tech_page.get(f"/receive?part={part.id}")
    refused = submit_form(tech_page, page, "/receive", **{"amount": "5", "note": "kept words", **fields})
    assert refused.status_code in (404, 409, 422)
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/receive").fields)["note"] == "kept words"
    assert lots.lots().items == []


def test_it_refuses_a_bin_that_is_another_parts(tech_page: PageClient) -> None:
    _, receipt, _ = a_stocked_part(3)
    part = a_part()
    page = tech_page.get(f"/receive?part={part.id}")
    refused = submit_form(tech_page, page, "/receive", amount="5", bin=format_code(receipt.code))
    assert refused.status_code == 409
    assert "is another part's" in page_text(refused)
    assert stock_of(part.id).on_shelf == 0


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    part = a_part(EVIL, caution=EVIL)
    a_bin(part)
    job = jobs.add_job(unit_model="Corvid 7", symptom=EVIL)
    page = tech_page.get(f"/receive?part={part.id}&job={job.id}")
    refused = submit_form(tech_page, page, "/receive", amount=EVIL, maker_lot=EVIL, note=EVIL, bin=EVIL)
    for shown in (page, refused, tech_page.get("/receive", query_string={"q": EVIL + "?"})):
        assert "<script>alert" not in shown.get_data(as_text=True)


def test_it_finds_no_part_bin_or_line_that_is_not_there(tech_page: PageClient) -> None:
    for query in ("part=999", "bin=999", "line=999"):
        assert tech_page.get(f"/receive?{query}").status_code == 404
    assert tech_page.post_form("/receive", part="999", amount="1", bin="A-1").status_code == 404


def test_it_is_for_techs(viewer_page: PageClient) -> None:
    part = a_part()
    assert viewer_page.get("/receive").status_code == 403
    assert viewer_page.post_form("/receive", part=part.id, amount="1", bin="A-1").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.put("/receive").status_code == 405
