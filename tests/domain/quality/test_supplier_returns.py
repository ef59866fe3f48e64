"""Sending stock back to its supplier: it leaves the shelf, money is expected, the cause counts where it should."""

from __future__ import annotations

from importlib import import_module

import pytest

from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.buying.suppliers import add_supplier
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.common.records import ActionResult
from inventory.domain.movements import adjustments, receive, undo
from inventory.domain.quality import recall, sent_back
from inventory.domain.quality.dead_on_arrival import supplier_dead_on_arrival
from inventory.domain.quality.sent_back_records import CAUSE_NOT_STATED, DEAD_ON_ARRIVAL, RETURN_CAUSES
from inventory.domain.quality.trace import trace_lot
from inventory.store import verify
from inventory.store.connection import execute
from tests.factories import a_bin, a_part, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")


def delivered(quantity: int = 10, cost: int | None = 1000) -> tuple[SupplierRecord, ActionResult]:
    """Receive so many from a supplier."""
    seller, part = add_supplier("Quayside Spares"), a_part()
    more = {} if cost is None else {"cost_minor": cost}
    return seller, receive.receive(part.id, quantity, a_bin(part).id, supplier_id=seller.id, **more)


def loose(receipt: ActionResult) -> dict[str, int]:
    assert receipt.bin_id is not None
    return {"bin_id": receipt.bin_id, "lot_id": receipt.lot_ids[0]}


def test_it_leaves_the_shelf_and_what_it_cost_is_expected_back_of_whoever_sent_it() -> None:
    seller, receipt = delivered()
    supplier_return, result = sent_back.send_back(
        3, cause=DEAD_ON_ARRIVAL, **loose(receipt), reference="CR 118", note="rattle"
    )
    adjustments.scrap(1, reason="bent", **loose(receipt))
    went = trace_lot(receipt.lot_ids[0])
    assert (went.left, went.sent_back, went.scrapped, went.otherwise) == (6, 3, 1, 0)
    assert (supplier_return.supplier_id, supplier_return.quantity, supplier_return.cause, supplier_return.entry) == (
        seller.id,
        3,
        DEAD_ON_ARRIVAL,
        result.entry,
    )
    assert (
        supplier_return.expected_minor,
        supplier_return.reference,
        supplier_return.note,
        supplier_return.waits,
    ) == (300, "CR 118", "rattle", True)
    assert sent_back.describe_sent_back(supplier_return) == "3 pieces of 4-way header went back to Quayside Spares."
    assert verify.verify_ledger().faults == []


def test_another_sum_may_be_asked_for_and_where_no_cost_is_known_none_is() -> None:
    _, dear = delivered()
    _, unknown = _second(None)
    assert sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(dear), expected_minor=0)[0].expected_minor == 0
    assert sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(unknown))[0].expected_minor is None
    totals = sent_back.money_back()
    assert (totals.waiting, totals.expected_minor, totals.without_sum) == (2, 0, 1)


def _second(cost: int | None) -> tuple[SupplierRecord, ActionResult]:
    seller, part = add_supplier("Northgate Components"), a_part()
    more = {} if cost is None else {"cost_minor": cost}
    return seller, receive.receive(part.id, 5, a_bin(part).id, supplier_id=seller.id, **more)


def test_a_piece_goes_back_with_its_label() -> None:
    seller = add_supplier("Quayside Spares")
    piece = a_piece("C-07", received={"supplier_id": seller.id, "cost_minor": 1850})
    supplier_return, result = sent_back.send_back(piece_id=piece.id, cause="failed in use")
    assert (supplier_return.quantity, supplier_return.expected_minor, result.piece_ids) == (1, 1850, (piece.id,))


def test_of_stock_that_nobody_supplied_it_asks_to_whom() -> None:
    _, bin_, receipt = a_stocked_part(5)
    with pytest.raises(Invalid, match="say to whom it goes back") as refused:
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    assert refused.value.reason == "no_supplier"
    assert stock_of(receipt.part_id).on_shelf == 5  # nothing has left
    seller = add_supplier("Quayside Spares")
    supplier_return, _ = sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(receipt), supplier_id=seller.id)
    assert supplier_return.supplier == "Quayside Spares"


def test_it_refuses_what_is_not_there_or_makes_no_sense() -> None:
    _, receipt = delivered(2)
    with pytest.raises(Conflict, match="has 2 pieces of lot"):
        sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(receipt))
    with pytest.raises(Invalid, match="The cause must be one of: dead on arrival"):
        sent_back.send_back(1, cause="bored", **loose(receipt))
    with pytest.raises(Invalid, match="must be a sum from 0 on"):
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(receipt), expected_minor=-1)
    with pytest.raises(NotFound):
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(receipt), supplier_id=999)
    assert sent_back.list_sent_back().items == []
    assert stock_of(receipt.part_id).on_shelf == 2


# ---- what came of it -------------------------------------------------------------------------------------


def test_money_that_came_is_noted_and_may_be_corrected() -> None:
    _, receipt = delivered()
    supplier_return, _ = sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(receipt))
    settled = sent_back.settle_sent_back(
        supplier_return.id, 250, outcome="credit note 88", version=supplier_return.version
    )
    assert (settled.got_minor, settled.outcome, settled.waits) == (250, "credit note 88", False)
    with pytest.raises(Stale):
        sent_back.settle_sent_back(supplier_return.id, 100, version=supplier_return.version)
    sent_back.settle_sent_back(supplier_return.id, 300)
    money = sent_back.money_back()
    assert (money.waiting, money.expected_minor, money.settled, money.got_minor) == (0, 0, 1, 300)
    assert sent_back.edit_sent_back(supplier_return.id, expected_minor=None, note="twice").note == "twice"
    with pytest.raises(Invalid, match="cause cannot be changed"):
        sent_back.edit_sent_back(supplier_return.id, cause="not needed")


def test_undone_it_is_on_the_shelf_again_and_nothing_is_expected() -> None:
    seller, receipt = delivered()
    supplier_return, result = sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(receipt))
    undo.undo(result.entry)
    assert stock_of(receipt.part_id).on_shelf == 10
    assert sent_back.sent_back(supplier_return.id).undone
    assert sent_back.money_back().waiting == 0
    assert supplier_dead_on_arrival(seller.id).dead == 0
    with pytest.raises(Conflict, match="That was undone"):
        sent_back.settle_sent_back(supplier_return.id, 100)


def test_it_is_listed_by_supplier_and_lot_and_by_whether_the_supplier_answered() -> None:
    first, receipt = delivered()
    second, other = _second(500)
    returned, _ = sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(receipt))
    two, _ = sent_back.send_back(1, cause="not needed", **loose(other))
    three, taken_back = sent_back.send_back(1, cause="not needed", **loose(other))
    undo.undo(taken_back.entry)
    sent_back.settle_sent_back(returned.id, 0, outcome="out of their time")

    def ids(**filters: object) -> list[int]:
        return [item.id for item in sent_back.list_sent_back(**filters).items]  # type: ignore[arg-type]

    assert ids() == [three.id, two.id, returned.id]
    assert (ids(supplier_id=first.id), ids(lot_id=other.lot_ids[0])) == ([returned.id], [three.id, two.id])
    assert (ids(waits=True), ids(waits=False)) == ([two.id], [three.id, returned.id])
    assert ids(supplier_id=second.id, waits=True) == [two.id]


# ---- a whole lot, and the supplier's record --------------------------------------------------------------


def test_the_rest_of_a_lot_on_hold_goes_back_at_once_from_all_its_bins() -> None:
    _, receipt = delivered()
    other = a_bin(None)
    adjustments.move(other.id, 4, **loose(receipt))
    lots.hold_lot(receipt.lot_ids[0], "cracked latches")
    supplier_return, _ = sent_back.send_rest_back(receipt.lot_ids[0], cause="lot rejected")
    assert (supplier_return.quantity, supplier_return.expected_minor) == (10, 1000)
    assert stock_of(receipt.part_id).on_hold == 0
    assert recall.recall(receipt.lot_ids[0]).hold.outcome == "sent back: lot rejected"
    with pytest.raises(Conflict, match="Nothing of this lot is left"):
        sent_back.send_rest_back(receipt.lot_ids[0], cause="lot rejected")
    with pytest.raises(Conflict, match="not on hold"):
        sent_back.send_rest_back(_second(100)[1].lot_ids[0], cause="lot rejected")


def test_a_lot_on_hold_of_which_nothing_is_left_cannot_go_back_and_stays_on_hold() -> None:
    _, receipt = delivered(2)
    lots.hold_lot(receipt.lot_ids[0], "melts")
    adjustments.scrap(2, reason="melted", **loose(receipt))
    with pytest.raises(Conflict, match="Nothing of this lot is left"):
        sent_back.send_rest_back(receipt.lot_ids[0], cause="lot rejected")
    assert lots.lot(receipt.lot_ids[0]).on_hold


@pytest.mark.parametrize("cause", RETURN_CAUSES)
def test_only_what_was_dead_when_it_came_counts_against_the_supplier(cause: str) -> None:
    seller, receipt = delivered()
    sent_back.send_back(3, cause=cause, **loose(receipt))
    rate = supplier_dead_on_arrival(seller.id)
    assert (rate.dead, rate.seen) == ((3, 3) if cause == DEAD_ON_ARRIVAL else (0, 0))


# ---- benches that said it in words -----------------------------------------------------------------------


def test_scraps_whose_words_said_so_before_count_as_sent_back_with_nothing_expected() -> None:
    seller, receipt = delivered()
    _, bin_, no_supplier = a_stocked_part(5)
    result = adjustments.scrap(2, reason="Returned to the supplier, credit 1.40", **loose(receipt))
    adjustments.scrap(1, reason="wire torn", **loose(receipt))
    undo.undo(adjustments.scrap(1, reason="went back to Quayside", **loose(receipt)).entry)
    adjustments.scrap(1, reason="sent back", bin_id=bin_.id, lot_id=no_supplier.lot_ids[0])
    execute(import_module("inventory.store.migrations.0005_sent_back").READ_ONCE)
    (supplier_return,) = sent_back.list_sent_back().items
    assert (supplier_return.entry, supplier_return.supplier_id, supplier_return.quantity, supplier_return.cause) == (
        result.entry,
        seller.id,
        2,
        CAUSE_NOT_STATED,
    )
    assert (supplier_return.waits, supplier_return.expected_minor, supplier_return.got_minor) == (False, None, None)
    assert supplier_return.outcome == "Returned to the supplier, credit 1.40"
