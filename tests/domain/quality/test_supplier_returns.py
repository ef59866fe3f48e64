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


def loose(done: ActionResult) -> dict[str, int]:
    assert done.bin_id is not None
    return {"bin_id": done.bin_id, "lot_id": done.lot_ids[0]}


def test_it_leaves_the_shelf_and_what_it_cost_is_expected_back_of_whoever_sent_it() -> None:
    seller, came = delivered()
    found, done = sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(came), reference="CR 118", note="rattle")
    adjustments.scrap(1, reason="bent", **loose(came))
    went = trace_lot(came.lot_ids[0])
    assert (went.left, went.sent_back, went.scrapped, went.otherwise) == (6, 3, 1, 0)
    assert (found.supplier_id, found.quantity, found.cause, found.entry) == (
        seller.id,
        3,
        DEAD_ON_ARRIVAL,
        done.entry,
    )
    assert (found.expected_minor, found.reference, found.note, found.waits) == (300, "CR 118", "rattle", True)
    assert sent_back.describe_sent_back(found) == "3 pieces of 4-way header went back to Quayside Spares."
    assert verify.verify_ledger().faults == []


def test_another_sum_may_be_asked_for_and_where_no_cost_is_known_none_is() -> None:
    _, dear = delivered()
    _, unknown = _second(None)
    assert sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(dear), expected_minor=0)[0].expected_minor == 0
    assert sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(unknown))[0].expected_minor is None
    found = sent_back.money_back()
    assert (found.waiting, found.expected_minor, found.without_sum) == (2, 0, 1)


def _second(cost: int | None) -> tuple[SupplierRecord, ActionResult]:
    seller, part = add_supplier("Northgate Components"), a_part()
    more = {} if cost is None else {"cost_minor": cost}
    return seller, receive.receive(part.id, 5, a_bin(part).id, supplier_id=seller.id, **more)


def test_a_piece_goes_back_with_its_label() -> None:
    seller = add_supplier("Quayside Spares")
    piece = a_piece("C-07", received={"supplier_id": seller.id, "cost_minor": 1850})
    found, done = sent_back.send_back(piece_id=piece.id, cause="failed in use")
    assert (found.quantity, found.expected_minor, done.piece_ids) == (1, 1850, (piece.id,))


def test_of_stock_that_nobody_supplied_it_asks_to_whom() -> None:
    _, bin_, done = a_stocked_part(5)
    with pytest.raises(Invalid, match="say to whom it goes back") as refused:
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, bin_id=bin_.id, lot_id=done.lot_ids[0])
    assert refused.value.reason == "no_supplier"
    assert stock_of(done.part_id).on_shelf == 5  # nothing has left
    seller = add_supplier("Quayside Spares")
    found, _ = sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(done), supplier_id=seller.id)
    assert found.supplier == "Quayside Spares"


def test_it_refuses_what_is_not_there_or_makes_no_sense() -> None:
    _, came = delivered(2)
    with pytest.raises(Conflict, match="has 2 pieces of lot"):
        sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(came))
    with pytest.raises(Invalid, match="The cause must be one of: dead on arrival"):
        sent_back.send_back(1, cause="bored", **loose(came))
    with pytest.raises(Invalid, match="must be a sum from 0 on"):
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(came), expected_minor=-1)
    with pytest.raises(NotFound):
        sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(came), supplier_id=999)
    assert sent_back.list_sent_back().items == []
    assert stock_of(came.part_id).on_shelf == 2


# ---- what came of it -------------------------------------------------------------------------------------


def test_money_that_came_is_noted_and_may_be_corrected() -> None:
    _, came = delivered()
    found, _ = sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(came))
    settled = sent_back.settle_sent_back(found.id, 250, outcome="credit note 88", version=found.version)
    assert (settled.got_minor, settled.outcome, settled.waits) == (250, "credit note 88", False)
    with pytest.raises(Stale):
        sent_back.settle_sent_back(found.id, 100, version=found.version)
    sent_back.settle_sent_back(found.id, 300)
    money = sent_back.money_back()
    assert (money.waiting, money.expected_minor, money.settled, money.got_minor) == (0, 0, 1, 300)
    assert sent_back.edit_sent_back(found.id, expected_minor=None, note="twice").note == "twice"
    with pytest.raises(Invalid, match="cause cannot be changed"):
        sent_back.edit_sent_back(found.id, cause="not needed")


def test_undone_it_is_on_the_shelf_again_and_nothing_is_expected() -> None:
    seller, came = delivered()
    found, done = sent_back.send_back(3, cause=DEAD_ON_ARRIVAL, **loose(came))
    undo.undo(done.entry)
    assert stock_of(came.part_id).on_shelf == 10
    assert sent_back.sent_back(found.id).undone
    assert sent_back.money_back().waiting == 0
    assert supplier_dead_on_arrival(seller.id).dead == 0
    with pytest.raises(Conflict, match="That was undone"):
        sent_back.settle_sent_back(found.id, 100)


def test_it_is_listed_by_supplier_and_lot_and_by_whether_the_supplier_answered() -> None:
    first, came = delivered()
    second, other = _second(500)
    one, _ = sent_back.send_back(1, cause=DEAD_ON_ARRIVAL, **loose(came))
    two, _ = sent_back.send_back(1, cause="not needed", **loose(other))
    three, taken_back = sent_back.send_back(1, cause="not needed", **loose(other))
    undo.undo(taken_back.entry)
    sent_back.settle_sent_back(one.id, 0, outcome="out of their time")

    def ids(**asked: object) -> list[int]:
        return [found.id for found in sent_back.list_sent_back(**asked).items]  # type: ignore[arg-type]

    assert ids() == [three.id, two.id, one.id]
    assert (ids(supplier_id=first.id), ids(lot_id=other.lot_ids[0])) == ([one.id], [three.id, two.id])
    assert (ids(waits=True), ids(waits=False)) == ([two.id], [three.id, one.id])
    assert ids(supplier_id=second.id, waits=True) == [two.id]


# ---- a whole lot, and the supplier's record --------------------------------------------------------------


def test_the_rest_of_a_lot_on_hold_goes_back_at_once_from_all_its_bins() -> None:
    _, came = delivered()
    other = a_bin(None)
    adjustments.move(other.id, 4, **loose(came))
    lots.hold_lot(came.lot_ids[0], "cracked latches")
    found, _ = sent_back.send_rest_back(came.lot_ids[0], cause="lot rejected")
    assert (found.quantity, found.expected_minor) == (10, 1000)
    assert stock_of(came.part_id).on_hold == 0
    assert recall.recall(came.lot_ids[0]).hold.outcome == "sent back: lot rejected"
    with pytest.raises(Conflict, match="Nothing of this lot is left"):
        sent_back.send_rest_back(came.lot_ids[0], cause="lot rejected")
    with pytest.raises(Conflict, match="not on hold"):
        sent_back.send_rest_back(_second(100)[1].lot_ids[0], cause="lot rejected")


def test_a_lot_on_hold_of_which_nothing_is_left_cannot_go_back_and_stays_on_hold() -> None:
    _, came = delivered(2)
    lots.hold_lot(came.lot_ids[0], "melts")
    adjustments.scrap(2, reason="melted", **loose(came))
    with pytest.raises(Conflict, match="Nothing of this lot is left"):
        sent_back.send_rest_back(came.lot_ids[0], cause="lot rejected")
    assert lots.lot(came.lot_ids[0]).on_hold


@pytest.mark.parametrize("cause", RETURN_CAUSES)
def test_only_what_was_dead_when_it_came_counts_against_the_supplier(cause: str) -> None:
    seller, came = delivered()
    sent_back.send_back(3, cause=cause, **loose(came))
    found = supplier_dead_on_arrival(seller.id)
    assert (found.dead, found.seen) == ((3, 3) if cause == DEAD_ON_ARRIVAL else (0, 0))


# ---- benches that said it in words -----------------------------------------------------------------------


def test_scraps_whose_words_said_so_before_count_as_sent_back_with_nothing_expected() -> None:
    seller, came = delivered()
    _, nobody, no_supplier = a_stocked_part(5)
    done = adjustments.scrap(2, reason="Returned to the supplier, credit 1.40", **loose(came))
    adjustments.scrap(1, reason="wire torn", **loose(came))
    undo.undo(adjustments.scrap(1, reason="went back to Quayside", **loose(came)).entry)
    adjustments.scrap(1, reason="sent back", bin_id=nobody.id, lot_id=no_supplier.lot_ids[0])
    execute(import_module("inventory.store.migrations.0005_sent_back").READ_ONCE)
    (found,) = sent_back.list_sent_back().items
    assert (found.entry, found.supplier_id, found.quantity, found.cause) == (
        done.entry,
        seller.id,
        2,
        CAUSE_NOT_STATED,
    )
    assert (found.waits, found.expected_minor, found.got_minor) == (False, None, None)
    assert found.outcome == "Returned to the supplier, credit 1.40"
