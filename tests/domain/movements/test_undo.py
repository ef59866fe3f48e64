"""Undo takes back one entry and nothing else: what has moved on since is refused, and nothing comes in twice."""

from __future__ import annotations

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue import bins, lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import PartRecord
from inventory.domain.common.shop import shop_config
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.reorder.offer_terms import offer_terms
from inventory.store import verify
from inventory.store.tables import Piece
from tests.factories import a_bin, a_job, a_part, a_placed_order, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def an_order(part: PartRecord, *quantities: int) -> OrderRecord:
    """Place an order of a part, one line of each quantity (each for a job of its own)."""
    seller = suppliers.add_supplier("Northwind Parts").id
    lines = [NewOrderLine(part.id, quantity, job_id=a_job().id, cost_minor=100) for quantity in quantities]
    return a_placed_order(seller, lines)


# ---- pieces ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("then", ["fitted elsewhere", "scrapped"])
def test_a_piece_that_went_on_to_somewhere_else_is_not_conjured_back_into_its_bin(then: str) -> None:
    part = a_part("60 mm fan", "fan", kept="individually")
    piece = receive.receive(part.id, 1, a_bin(part).id).piece_ids[0]
    first, second = a_job(), a_job()
    pulled = pull.pull_piece(piece, job_id=first.id)
    pull.put_back(job_id=first.id, piece_id=piece)
    if then == "scrapped":
        adjustments.scrap(piece_id=piece, reason="burnt")
    else:
        pull.pull_piece(piece, job_id=second.id)
    with pytest.raises(Conflict, match="has moved on since: undo the later movements first"):
        undo.undo(pulled.entry)
    assert Piece.get_by_id(piece).bin_id is None
    if then == "fitted elsewhere":
        pull.put_back(job_id=second.id, piece_id=piece)  # it is still the second job's


def test_the_movements_of_a_piece_are_undone_one_after_the_other() -> None:
    part = a_part("60 mm fan", "fan", kept="individually")
    bin_, job = a_bin(part), a_job()
    received = receive.receive(part.id, 1, bin_.id)
    pulled = pull.pull_piece(received.piece_ids[0], job_id=job.id)
    back = pull.put_back(job_id=job.id, piece_id=received.piece_ids[0])
    moved = adjustments.move(a_bin(part).id, piece_id=received.piece_ids[0])
    for move in (moved, back, pulled, received):
        undo.undo(move.entry)
    assert stock_of(part.id).on_shelf == 0
    assert verify.verify_ledger().sound


# ---- loose stock -----------------------------------------------------------------------------------------


def test_a_pull_that_was_put_back_is_not_undone_because_the_job_took_more_later() -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    first = pull.pull(2, bin_id=bin_.id, job_id=job.id)
    pull.put_back(2, job_id=job.id, part_id=part.id)
    second = pull.pull(2, bin_id=bin_.id, job_id=job.id)
    with pytest.raises(Conflict, match="put back some of that since"):
        undo.undo(first.entry)
    undo.undo(second.entry)
    assert stock_of(part.id).on_shelf == 5


def test_nothing_comes_back_into_a_bin_that_is_retired_or_another_parts_by_now() -> None:
    part, bin_, _ = a_stocked_part(2)
    pulled = pull.pull(2, bin_id=bin_.id, job_id=a_job().id)
    bins.edit_bin(bin_.id, retired=True)
    with pytest.raises(Conflict, match=f"Bin {bin_.name}, where it came from, is retired: bring that back into use"):
        undo.undo(pulled.entry)
    bins.edit_bin(bin_.id, retired=False, part_id=a_part("another").id)
    with pytest.raises(Conflict, match=f"Bin {bin_.name}, where it came from, is another part's by now"):
        undo.undo(pulled.entry)
    assert stock_of(part.id).on_shelf == 0
    bins.edit_bin(bin_.id, part_id=None, mixed=True)
    undo.undo(pulled.entry)
    assert stock_of(part.id).on_shelf == 2


# ---- receipts --------------------------------------------------------------------------------------------


def test_a_receipt_is_not_undone_while_something_of_its_lot_would_stay() -> None:
    """Counts made up for what was gone: enough is in the bin, but not what the receipt brought in."""
    _, bin_, received = a_stocked_part(5)
    (lot,) = received.lot_ids
    pulled = pull.pull(2, bin_id=bin_.id, job_id=a_job().id)
    counted = adjustments.count(bin_.id, lot, 6)
    with pytest.raises(Conflict, match="has moved on since"):
        undo.undo(received.entry)
    undo.undo(counted.entry)
    undo.undo(pulled.entry)
    undo.undo(received.entry)
    assert lots.remaining_by_lot([lot]) == {}


def test_a_receipt_of_a_line_that_was_dropped_since_leaves_no_order_open_for_nothing() -> None:
    part = a_part()
    order, bin_ = an_order(part, 10), a_bin(part)
    received = receive.receive(part.id, 4, bin_.id, order_line_id=order.lines[0].id)
    orders.cancel_order(order.id)
    result = undo.undo(received.entry)
    after = orders.order(order.id)
    assert (after.status, after.lines[0].received, stock_of(part.id).on_order) == ("cancelled", 0, 0)
    assert result.warnings == (
        f"Order {order.number} expects nothing more on that line: what does come is received without it.",
    )


def test_a_receipt_undone_is_expected_again() -> None:
    part = a_part()
    order, bin_ = an_order(part, 10, 3), a_bin(part)
    received = [receive.receive(part.id, line.quantity, bin_.id, order_line_id=line.id) for line in order.lines]
    assert orders.order(order.id).status == "received"
    result = undo.undo(received[0].entry)
    after = orders.order(order.id)
    assert (after.status, after.closed, [line.received for line in after.lines]) == ("placed", None, [0, 3])
    assert (result.warnings, stock_of(part.id).on_order) == ((), 10)


def test_a_price_that_was_undone_with_its_receipt_is_not_what_the_part_costs() -> None:
    part, seller = a_part(), suppliers.add_supplier("Northwind Parts")
    bin_ = a_bin(part)
    receive.receive(part.id, 2, bin_.id, supplier_id=seller.id, cost_minor=500)
    slip = receive.receive(part.id, 2, bin_.id, supplier_id=seller.id, cost_minor=50_000)
    undo.undo(slip.entry)
    (way,) = offer_terms([part.id], shop_config())
    assert way.price_minor == 250
