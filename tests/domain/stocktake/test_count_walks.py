"""Count walks: two people at once, surprises counted again, differences reviewed, pulls in between never lost."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.diagnosis import swap_tests
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof.pieces import piece
from inventory.domain.stocktake import count_entry, count_walks
from inventory.domain.stocktake.count_review import (
    book_bins,
    end_walk,
    request_recount,
    suggest_counts,
    walk_differences,
)
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")


class Walk:
    """A walk past one bin with 20 of a lot in it."""

    def __init__(self, quantity: int = 20, **more: object) -> None:
        self.part, self.bin, receipt = a_stocked_part(quantity, **more)
        self.lot = receipt.lot_ids[0]
        self.id = count_walks.start_walk([self.bin.id]).id

    def count(self, number: int, by: int | None = None) -> str:
        """Count the bin as one goes; return the state it is in then."""
        line = count_walks.bin_to_count(self.id, self.bin.id).line
        return count_entry.enter_count(self.id, self.bin.id, {self.lot: number}, line=line, by=by).bin.state


def test_bins_come_in_the_order_of_the_walk() -> None:
    walk_bins = [a_bin(a_part(), walk=walk) for walk in (30, 10, 20)]
    walk = count_walks.start_walk([one.id for one in walk_bins])
    assert [bin_.bin.walk for bin_ in count_walks.walk_bins(walk.id)] == [10, 20, 30]


def test_two_people_get_different_bins_and_each_keeps_the_one_begun() -> None:
    first, second = (a_bin(a_part(), walk=walk) for walk in (1, 2))
    one, two = a_person(), a_person()
    walk = count_walks.start_walk([first.id, second.id]).id
    mine, theirs = count_walks.claim_next_bin(walk, by=one.id), count_walks.claim_next_bin(walk, by=two.id)
    assert mine is not None
    assert theirs is not None
    assert (mine.bin.id, theirs.bin.id) == (first.id, second.id)
    assert count_walks.claim_next_bin(walk, by=one.id) == mine
    assert count_walks.claim_next_bin(walk, by=a_person().id) is None  # both are busy


def test_a_bin_that_somebody_left_is_free_again_after_a_while() -> None:
    walk = Walk()
    count_walks.claim_next_bin(walk.id, by=a_person().id)
    later = clock.now() + timedelta(minutes=16)
    with clock.freeze_at(later):
        assert count_walks.claim_next_bin(walk.id, by=a_person().id) is not None


def test_a_count_as_booked_is_booked_at_once_and_can_be_seen_in_the_ledger() -> None:
    walk = Walk()
    assert walk.count(20) == "booked"
    assert count_walks.get_walk(walk.id).done == 1
    assert stock_of(walk.part.id).on_shelf == 20


def test_a_usual_difference_waits_for_review_and_then_is_booked() -> None:
    walk = Walk()
    assert walk.count(19) == "counted"
    assert stock_of(walk.part.id).on_shelf == 20
    differences = walk_differences(walk.id)
    assert [
        (difference.booked, difference.counted, difference.difference) for difference in differences[0].differences
    ] == [(20, 19, -1)]
    result = book_bins(walk.id, [walk.bin.id])
    assert stock_of(walk.part.id).on_shelf == 19
    assert walk_differences(walk.id) == []
    undo.undo(result[0].entry)
    assert stock_of(walk.part.id).on_shelf == 20
    assert verify.verify_ledger().sound


def test_a_surprise_is_counted_again_until_two_counts_agree() -> None:
    walk = Walk()
    assert walk.count(10) == "recount"
    assert walk.count(12) == "recount"
    assert walk.count(10) == "counted"
    assert walk_differences(walk.id)[0].differences[0].rounds == 3


def test_a_second_count_that_agrees_with_the_book_settles_it() -> None:
    walk = Walk()
    assert walk.count(10) == "recount"
    assert walk.count(20) == "booked"


def test_a_surprise_goes_to_somebody_else_first() -> None:
    walk, other = Walk(), a_stocked_part(3)[1]
    person = a_person()
    both = count_walks.start_walk([other.id])
    assert walk.count(10, by=person.id) == "recount"
    claimed = count_walks.claim_next_bin(walk.id, by=person.id)  # nobody else is there: better than no second count
    assert claimed is not None
    assert both.bins == 1


def test_a_pull_while_counting_asks_for_another_count() -> None:
    walk = Walk()
    line = count_walks.bin_to_count(walk.id, walk.bin.id).line
    pull.pull(2, bin_id=walk.bin.id, job_id=a_job().id)
    with pytest.raises(Conflict, match="while you counted"):
        count_entry.enter_count(walk.id, walk.bin.id, {walk.lot: 18}, line=line)
    assert walk.count(18) == "booked"


def test_a_pull_between_counting_and_booking_is_neither_lost_nor_booked_twice() -> None:
    walk = Walk()
    walk.count(19)
    pull.pull(5, bin_id=walk.bin.id, job_id=a_job().id)
    book_bins(walk.id, [walk.bin.id])
    assert stock_of(walk.part.id).on_shelf == 14


def test_a_count_of_its_own_in_between_is_not_booked_twice() -> None:
    walk = Walk()
    walk.count(19)
    adjustments.count(walk.bin.id, walk.lot, 19)
    assert "counted again since" in walk_differences(walk.id)[0].stale
    with pytest.raises(Conflict, match="counted again since"):
        book_bins(walk.id, [walk.bin.id])
    request_recount(walk.id, walk.bin.id)
    assert walk.count(19) == "booked"


def test_an_undo_of_something_older_than_the_count_asks_for_another_count() -> None:
    walk = Walk()
    result = pull.pull(1, bin_id=walk.bin.id, job_id=a_job().id)
    walk.count(20)  # the pull never happened: 19 are booked
    undo.undo(result.entry)
    with pytest.raises(Conflict, match="undone since"):
        book_bins(walk.id, [walk.bin.id])


def test_a_bin_that_was_moved_out_asks_for_another_count() -> None:
    walk = Walk()
    walk.count(19)
    other = a_bin(walk.part)
    adjustments.move(other.id, 20, bin_id=walk.bin.id, lot_id=walk.lot)
    with pytest.raises(Conflict, match="moved since"):
        book_bins(walk.id, [walk.bin.id])


def test_a_shortage_larger_than_what_is_left_by_now_asks_for_another_count() -> None:
    walk = Walk(2)
    walk.count(1)
    pull.pull(2, bin_id=walk.bin.id, job_id=a_job().id)
    with pytest.raises(Conflict, match="less than the count found missing"):
        book_bins(walk.id, [walk.bin.id])
    assert verify.verify_ledger().sound


def test_a_piece_that_is_not_there_is_asked_for_twice_and_then_booked_as_missing() -> None:
    fan = a_piece("C-07")
    bin_id = fan.bin_id
    assert bin_id is not None
    walk = count_walks.start_walk([bin_id]).id
    to_count = count_walks.bin_to_count(walk, bin_id)
    assert [piece.id for piece in to_count.pieces] == [fan.id]
    lots = {lot.lot.id: 0 for lot in to_count.lots}
    states = [
        count_entry.enter_count(walk, bin_id, lots, pieces={fan.id: False}, line=to_count.line).bin.state
        for _ in range(2)
    ]
    assert states == ["recount", "counted"]
    book_bins(walk, [bin_id])
    assert piece(fan.id).where.words.startswith("missing at a count on")


def test_a_piece_that_is_out_is_not_missed() -> None:
    piece = a_piece("C-07")
    assert piece.bin_id is not None
    walk = count_walks.start_walk([piece.bin_id]).id
    to_count = count_walks.bin_to_count(walk, piece.bin_id)
    lots = {lot.lot.id: 0 for lot in to_count.lots}
    swap_tests.take_piece(piece.id, a_job().id)  # taken just before the shelf was looked at
    assert (
        count_entry.enter_count(walk, piece.bin_id, lots, pieces={piece.id: False}, line=to_count.line).bin.state
        == "booked"
    )
    assert count_walks.bin_to_count(walk, piece.bin_id).pieces == ()


def test_what_was_not_counted_is_named() -> None:
    walk = Walk()
    again = receive.receive(walk.part.id, 5, walk.bin.id).lot_ids[0]
    line = count_walks.bin_to_count(walk.id, walk.bin.id).line
    with pytest.raises(Invalid) as refused:
        count_entry.enter_count(walk.id, walk.bin.id, {walk.lot: 20}, line=line)
    assert f"lot-{again}" in refused.value.errors


@pytest.mark.parametrize("number", [-1, 2_000_000_000, True, "many"])
def test_an_absurd_number_is_refused(number: object) -> None:
    walk = Walk()
    line = count_walks.bin_to_count(walk.id, walk.bin.id).line
    with pytest.raises(Invalid):
        count_entry.enter_count(walk.id, walk.bin.id, {walk.lot: number}, line=line)  # type: ignore[dict-item]


@pytest.mark.parametrize("line", [-1, 10**9, True])
def test_a_count_of_a_ledger_that_does_not_exist_is_refused(line: int) -> None:
    walk = Walk()
    with pytest.raises(Invalid, match="Open the page of the bin again"):
        count_entry.enter_count(walk.id, walk.bin.id, {walk.lot: 20}, line=line)


def test_a_bin_is_in_one_open_walk_at_a_time() -> None:
    walk = Walk()
    with pytest.raises(Conflict, match="in an open walk already"):
        count_walks.start_walk([walk.bin.id])
    walk.count(20)
    end_walk(walk.id)
    assert count_walks.start_walk([walk.bin.id]).bins == 1


def test_a_bin_out_of_use_is_not_walked_to() -> None:
    empty = a_bin()
    bins.edit_bin(empty.id, retired=True)
    with pytest.raises(Conflict, match="not in use"):
        count_walks.start_walk([empty.id])
    with pytest.raises(Invalid, match="Choose 1 to"):
        count_walks.start_walk([])


def test_a_walk_ends_when_its_differences_are_settled() -> None:
    walk = Walk()
    walk.count(19)
    with pytest.raises(Conflict, match="1 bin has differences not booked"):
        end_walk(walk.id)
    count_walks.leave_out_bin(walk.id, walk.bin.id)
    assert end_walk(walk.id).ended is not None
    assert stock_of(walk.part.id).on_shelf == 20
    with pytest.raises(Conflict, match="This walk is ended"):
        walk.count(20)


def test_a_blind_walk_does_not_say_what_the_book_says() -> None:
    _, bin_, _ = a_stocked_part(7)
    blind = count_walks.start_walk([bin_.id])
    assert [lot.booked for lot in count_walks.bin_to_count(blind.id, bin_.id).lots] == [None]
    end_walk(blind.id)
    open_walk = count_walks.start_walk([bin_.id], blind=False)
    assert [lot.booked for lot in count_walks.bin_to_count(open_walk.id, bin_.id).lots] == [7]


def test_the_dear_bin_nobody_counted_comes_first() -> None:
    _, cheap, _ = a_stocked_part(5, cost_minor=50)
    _, dear, _ = a_stocked_part(5, cost_minor=500_000)
    with clock.freeze_at(clock.now() + timedelta(days=90)):
        assert [count.bin.id for count in suggest_counts()] == [dear.id, cheap.id]
        walk = count_walks.start_walk([dear.id]).id
        to_count = count_walks.bin_to_count(walk, dear.id)
        count_entry.enter_count(walk, dear.id, {lot.lot.id: 5 for lot in to_count.lots}, line=to_count.line)
        suggestions = suggest_counts()
    assert [suggestion.bin.id for suggestion in suggestions] == [cheap.id, dear.id]
    assert suggestions[1].counted is not None
    assert suggestions[1].walk_id == walk


# ---- lots that the book says are used up -----------------------------------------------------------------


def test_a_used_up_lot_that_is_found_is_counted_as_itself_and_not_as_a_new_find() -> None:
    walk, job = Walk(4), a_job()
    pull.pull(4, bin_id=walk.bin.id, job_id=job.id)
    fresh = receive.receive(walk.part.id, 6, walk.bin.id).lot_ids[0]
    to_count = count_walks.bin_to_count(walk.id, walk.bin.id)
    assert [(lot.lot.id, lot.booked) for lot in to_count.gone] == [(walk.lot, None)]
    counted = {fresh: 6, walk.lot: 2}
    for _ in range(2):  # two more of it than there can be is a surprise: count again
        line = count_walks.bin_to_count(walk.id, walk.bin.id).line
        state = count_entry.enter_count(walk.id, walk.bin.id, counted, line=line).bin.state
        if state == "counted":
            break
    book_bins(walk.id, [walk.bin.id])
    holdings = {holding.lot.id: holding.quantity for holding in bins.holdings(bin_id=walk.bin.id)}
    assert holdings == {fresh: 6, walk.lot: 2}
    assert verify.verify_ledger().sound


def test_used_up_lots_need_not_be_counted_and_a_zero_of_one_is_no_difference() -> None:
    walk = Walk(4)
    pull.pull(4, bin_id=walk.bin.id, job_id=a_job().id)
    fresh = receive.receive(walk.part.id, 6, walk.bin.id).lot_ids[0]
    line = count_walks.bin_to_count(walk.id, walk.bin.id).line
    assert count_entry.enter_count(walk.id, walk.bin.id, {fresh: 6, walk.lot: 0}, line=line).bin.state == "booked"


def test_a_lot_that_is_elsewhere_or_whose_receipt_was_undone_is_not_offered_as_used_up() -> None:
    walk = Walk(4)
    undo.undo(receive.receive(walk.part.id, 3, walk.bin.id).entry)
    other = a_bin(walk.part)
    adjustments.move(other.id, 4, bin_id=walk.bin.id, lot_id=walk.lot)
    receive.receive(walk.part.id, 6, walk.bin.id)
    assert count_walks.bin_to_count(walk.id, walk.bin.id).gone == ()


def test_a_lot_of_another_part_is_refused_as_before() -> None:
    walk, (_, _, strange) = Walk(4), a_stocked_part(3)
    line = count_walks.bin_to_count(walk.id, walk.bin.id).line
    with pytest.raises(Invalid, match="receive it as found"):
        count_entry.enter_count(walk.id, walk.bin.id, {walk.lot: 4, strange.lot_ids[0]: 1}, line=line)
