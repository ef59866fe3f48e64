"""Sending stock back to its supplier, and noting what came of it, on the pages."""

from __future__ import annotations

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import ActionResult
from inventory.domain.movements import receive
from inventory.domain.quality import sent_back
from tests.factories import a_bin, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text, submit_form
from tests.proof_factories import a_piece


def _delivered(quantity: int = 10) -> ActionResult:
    part, seller = a_part(), suppliers.add_supplier("Quayside Spares")
    return receive.receive(part.id, quantity, a_bin(part).id, supplier_id=seller.id, cost_minor=1000)


def test_faulty_ones_go_back_and_the_money_that_came_is_noted(tech_page: PageClient, owner_page: PageClient) -> None:
    receipt = _delivered()
    lot = receipt.lot_ids[0]
    assert f'href="/bins/{receipt.bin_id}/send-back?lot={lot}"' in tech_page.get(f"/lots/{lot}").get_data(
        as_text=True
    )
    page = tech_page.get(f"/bins/{receipt.bin_id}/send-back?lot={lot}")
    answer = follow_redirect(
        tech_page, submit_form(tech_page, page, "/send-back", amount="3", cause="dead on arrival")
    )
    assert "3 pieces of 4-way header went back to Quayside Spares." in page_text(answer)
    assert "no answer yet" in page_text(answer)
    assert "Asked for it 3.00" in page_text(answer)
    assert "Sent back 3 pieces dead on arrival" in page_text(tech_page.get(f"/lots/{lot}"))
    assert "Expected for 1 that no supplier has answered" in page_text(owner_page.get("/money"))
    settled = follow_redirect(
        tech_page, submit_form(tech_page, answer, "/settle", got_minor="2,50", outcome="credit note 88")
    )
    assert "Came 2.50 EUR: credit note 88" in page_text(settled)
    assert "2.50 EUR came for 1." in page_text(tech_page.get("/sent-back"))
    supplier = sent_back.list_sent_back().items[0].supplier_id
    text = page_text(tech_page.get(f"/suppliers/{supplier}"))
    assert "3 of 3 seen so far were dead on arrival" in text
    assert "3 pieces of 4-way header dead on arrival" in text


def test_it_can_be_undone_like_all_that_moves_stock(tech_page: PageClient) -> None:
    receipt = _delivered()
    page = tech_page.get(f"/bins/{receipt.bin_id}/send-back?lot={receipt.lot_ids[0]}")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/send-back", amount="3", cause="not needed"))
    follow_redirect(tech_page, submit_form(tech_page, answer, "/undo"))
    assert stock_of(receipt.part_id).on_shelf == 10
    (record,) = sent_back.list_sent_back().items
    second_page = tech_page.get(f"/sent-back/{record.id}")
    assert "It is on the shelf again: nothing is expected." in page_text(second_page)
    assert "Nothing waits for a supplier's answer" in page_text(tech_page.get("/sent-back"))
    assert "settle" not in second_page.get_data(as_text=True)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"cause": ""}, "Say why it goes back."),
        ({"amount": "11"}, "type fewer, or count the bin"),
        ({"expected_minor": "plenty"}, "plenty"),
        ({"what": ""}, "Choose what in the bin it is about."),
    ],
)
def test_what_cannot_be_right_is_refused_and_what_was_typed_stays(
    fields: dict[str, str], sentence: str, tech_page: PageClient
) -> None:
    receipt = _delivered()
    page = tech_page.get(f"/bins/{receipt.bin_id}/send-back?lot={receipt.lot_ids[0]}")
    data = {"amount": "3", "cause": "not needed", "reference": "RMA 118", **fields}
    refused = submit_form(tech_page, page, "/send-back", **data)
    assert refused.status_code in (409, 422)
    assert sentence in page_text(refused)
    assert 'value="RMA 118"' in refused.get_data(as_text=True)
    assert stock_of(receipt.part_id).on_shelf == 10


def test_of_stock_that_nobody_supplied_it_asks_to_whom(tech_page: PageClient) -> None:
    _, bin_, receipt = a_stocked_part(5)
    seller = suppliers.add_supplier("Quayside Spares")
    page = tech_page.get(f"/bins/{bin_.id}/send-back?lot={receipt.lot_ids[0]}")
    refused = submit_form(tech_page, page, "/send-back", amount="1", cause="not needed")
    assert "say to whom it goes back" in page_text(refused)
    submit_form(tech_page, refused, "/send-back", supplier_id=str(seller.id))
    assert sent_back.list_sent_back().items[0].supplier_id == seller.id


def test_a_piece_goes_back_from_its_own_page(tech_page: PageClient) -> None:
    seller = suppliers.add_supplier("Quayside Spares")
    piece = a_piece("C-07", received={"supplier_id": seller.id, "cost_minor": 1850})
    address = f"/bins/{piece.bin_id}/send-back?piece={piece.id}"
    assert f'href="{address}"' in tech_page.get(f"/pieces/{piece.id}").get_data(as_text=True)
    follow_redirect(tech_page, submit_form(tech_page, tech_page.get(address), "/send-back", cause="failed in use"))
    assert "sent back: failed in use" in page_text(tech_page.get(f"/pieces/{piece.id}"))


def test_the_rest_of_a_recalled_lot_goes_back_and_ends_the_hold(tech_page: PageClient) -> None:
    lot = _delivered().lot_ids[0]
    lots.hold_lot(lot, "cracked latches")
    page = tech_page.get(f"/lots/{lot}/recall")
    refused = submit_form(tech_page, page, "/send-rest-back")
    assert "Say why it goes back." in page_text(refused)
    answer = follow_redirect(
        tech_page, submit_form(tech_page, refused, "/send-rest-back", cause="lot rejected", expected_minor="8")
    )
    assert "Asked for it 8.00" in page_text(answer)
    assert "Nothing is left." in page_text(tech_page.get(f"/lots/{lot}"))


def test_what_is_noted_can_be_corrected_and_a_viewer_only_looks(
    tech_page: PageClient, viewer_page: PageClient
) -> None:
    receipt = _delivered()
    send_back, _ = sent_back.send_back(
        1, cause="not needed", bin_id=receipt.bin_id, lot_id=receipt.lot_ids[0], reference="RMA 1"
    )
    page = tech_page.get(f"/sent-back/{send_back.id}")
    edited = follow_redirect(
        tech_page, submit_form(tech_page, page, f"/sent-back/{send_back.id}", reference="RMA 2", note="twice")
    )
    assert "They call it RMA 2" in page_text(edited)
    answer = viewer_page.get(f"/sent-back/{send_back.id}")
    assert "RMA 2" in page_text(answer)
    assert "/settle" not in answer.get_data(as_text=True)
    assert viewer_page.get(f"/bins/{receipt.bin_id}/send-back").status_code == 403
