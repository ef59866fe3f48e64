"""A recall: nobody pulls from the lot, its pieces are doubtful, and every job it reached is worked through."""

from __future__ import annotations

import csv
import io

import pytest

from inventory.domain.catalogue import lots, stock_totals
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof.standings import standing_of
from inventory.domain.quality import recall
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


def _held_lot() -> tuple[int, int, list[JobRecord]]:
    """Return a lot on hold, its bin, and two jobs that have some of it, the first one closed."""
    _, bin_, receipt = a_stocked_part(10, maker_lot="B17")
    lot_jobs = [a_job(customer="Pier Nine", unit_serial="SN-1"), a_job(customer="Low Tide")]
    for job in lot_jobs:
        pull.pull(2, bin_id=bin_.id, job_id=job.id)
    jobs.close_job(lot_jobs[0].id)
    lots.hold_lot(receipt.lot_ids[0], "no spring in a contact")
    return receipt.lot_ids[0], bin_.id, lot_jobs


def test_it_lists_the_jobs_with_the_units_still_at_the_bench_first() -> None:
    lot, _, (closed, still_open) = _held_lot()
    recalled = recall.recall(lot)
    assert [line.job.id for line in recalled.lines] == [still_open.id, closed.id]
    assert (recalled.to_do, recalled.left, recalled.hold.reason) == (2, 6, "no spring in a contact")


def test_it_ticks_jobs_off_and_puts_one_back_on() -> None:
    lot, _, (closed, still_open) = _held_lot()
    person = a_person()
    result = recall.tick_job(lot, closed.id, note="customer called", by=person.id)
    line = next(line for line in result.lines if line.job.id == closed.id)
    assert (line.person, line.note, result.to_do) == (person.shown_as, "customer called", 1)
    assert recall.tick_job(lot, still_open.id).to_do == 0
    assert recall.tick_job(lot, still_open.id, done=False).to_do == 1


def test_a_job_that_got_nothing_of_it_cannot_be_ticked() -> None:
    lot, _, _ = _held_lot()
    with pytest.raises(Conflict, match="got nothing of this lot"):
        recall.tick_job(lot, a_job().id)


def test_a_released_lot_closes_its_list_and_a_second_hold_begins_a_new_one() -> None:
    lot, _, (closed, _) = _held_lot()
    recall.tick_job(lot, closed.id)
    lots.release_lot(lot, "20 tested, all good")
    with pytest.raises(Conflict, match="its list is closed"):
        recall.tick_job(lot, closed.id)
    assert recall.recall(lot).to_do == 1  # the list as it was left
    lots.hold_lot(lot, "it came back after all")
    assert recall.recall(lot).to_do == 2


def test_a_lot_that_was_never_held_has_no_list() -> None:
    _, _, receipt = a_stocked_part()
    with pytest.raises(Conflict, match="never on hold"):
        recall.recall(receipt.lot_ids[0])


def test_pieces_of_a_held_lot_are_doubtful_until_it_is_released() -> None:
    fan = a_piece("C-07")
    prove_fan(fan.id)
    assert standing_of(fan.id).word == "proved"
    lots.hold_lot(fan.lot_id, "bearings dry")
    standing = standing_of(fan.id)
    assert (standing.word, standing.why) == ("doubtful", "Its lot is on hold: bearings dry.")
    lots.release_lot(fan.lot_id)
    assert standing_of(fan.id).word == "proved"


def test_scrapping_the_rest_ends_the_hold_and_empties_the_bins() -> None:
    lot, _, _ = _held_lot()
    part = lots.lot(lot).part_id
    result = recall.scrap_rest(lot, "sent to be melted")
    assert result is not None
    assert result.quantity == 6
    assert stock_totals.stock_of(part).on_hold == 0
    assert lots.holds(lot)[0].outcome == "sent to be melted"
    assert verify.verify_ledger().sound


def test_what_comes_back_to_a_scrapped_lot_is_on_hold_at_once() -> None:
    lot, bin_, (_, still_open) = _held_lot()
    result = recall.scrap_rest(lot, "melted")
    part = lots.lot(lot).part_id
    pull.put_back(1, job_id=still_open.id, part_id=part)
    assert stock_totals.stock_of(part).on_shelf == 0
    assert stock_totals.stock_of(part).on_hold == 1
    reason = lots.holds(lot)[0].reason
    with pytest.raises(Conflict, match=rf"is on hold \({reason}\)"):  # that hold is current until it is released
        pull.pull(1, lot_id=lot, bin_id=bin_, job_id=still_open.id)
    with pytest.raises(Conflict, match="scrap what came back since by itself"):
        recall.scrap_rest(lot, "melted too")
    assert result is not None
    undo.undo(result.entry)  # thrown away by mistake: it is back, and on hold until somebody says it is good
    assert stock_totals.stock_of(part).on_hold == 7
    lots.release_lot(lot, "the wrong bag was scrapped")
    assert stock_totals.stock_of(part).on_shelf == 7


def test_pieces_of_a_scrapped_lot_stay_doubtful_when_one_turns_up_again() -> None:
    fan = a_piece("C-07")
    prove_fan(fan.id)
    lots.hold_lot(fan.lot_id, "bearings dry")
    result = recall.scrap_rest(fan.lot_id, "all scrapped")
    assert result is not None
    assert result.piece_ids == (fan.id,)
    undo.undo(result.entry)
    assert standing_of(fan.id).word == "doubtful"


def test_a_piece_that_is_out_must_come_back_before_its_lot_is_scrapped() -> None:
    fan, job = a_piece("C-07"), a_job()
    swap_tests.take_piece(fan.id, job.id)
    lots.hold_lot(fan.lot_id, "bearings dry")
    with pytest.raises(Conflict, match=f"C-07 of it is out with job {job.number}"):
        recall.scrap_rest(fan.lot_id, "all scrapped")
    assert lots.lot(fan.lot_id).on_hold
    assert lots.holds(fan.lot_id)[0].ended is None


def test_scrapping_a_lot_of_which_nothing_is_left_only_ends_the_hold() -> None:
    _, bin_, receipt = a_stocked_part(2)
    pull.pull(2, bin_id=bin_.id, job_id=a_job().id)
    lots.hold_lot(receipt.lot_ids[0], "cracked")
    assert recall.scrap_rest(receipt.lot_ids[0], "none left") is None
    assert lots.holds(receipt.lot_ids[0])[0].ended is not None


def test_a_lot_that_is_nowhere_cannot_be_held() -> None:
    _, _, receipt = a_stocked_part(3)
    undo.undo(receipt.entry)
    with pytest.raises(Conflict, match="Nothing of this lot is left, and no job got any"):
        lots.hold_lot(receipt.lot_ids[0], "cracked")


def test_a_lot_that_is_used_up_can_be_held_because_jobs_have_it() -> None:
    _, bin_, receipt = a_stocked_part(2)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    lots.hold_lot(receipt.lot_ids[0], "cracked")
    assert [line.job.id for line in recall.recall(receipt.lot_ids[0]).lines] == [job.id]


def test_suspicion_spreads_on_request_to_lots_with_the_same_marks() -> None:
    lot, bin_, _ = _held_lot()
    part = lots.lot(lot).part_id
    same_lot = receive.receive(part, 5, bin_, maker_lot="B17").lot_ids[0]
    elsewhere = a_part("2-way header")
    receive.receive(elsewhere.id, 5, a_bin(elsewhere).id, maker_lot="B17")  # another maker counts in B too
    assert [(similar.lot.id, similar.why) for similar in recall.similar_lots(lot)] == [
        (same_lot, "maker's lot B17, the same part")
    ]
    result = recall.hold_similar_lots(lot, [same_lot])
    assert result[0].reason == f"maker's lot B17, as lot {lots.lot(lot).code}: no spring in a contact"
    assert lots.lot(same_lot).on_hold


def test_a_date_code_alone_makes_lots_of_the_same_part_alike() -> None:
    part = a_part()
    bin_ = a_bin(part)
    receipt, two = (receive.receive(part.id, 5, bin_.id, date_code="2614").lot_ids[0] for _ in range(2))
    other = a_part("another")
    receive.receive(other.id, 5, a_bin(other).id, date_code="2614")
    lots.hold_lot(receipt, "cracked")
    assert [lot.lot.id for lot in recall.similar_lots(receipt)] == [two]


def test_a_lot_without_marks_is_like_no_other() -> None:
    part = a_part()
    bin_ = a_bin(part)
    receipt, _ = (receive.receive(part.id, 5, bin_.id).lot_ids[0] for _ in range(2))
    assert recall.similar_lots(receipt) == []


def test_only_lots_that_are_alike_can_be_held_with_it() -> None:
    lot, _, _ = _held_lot()
    _, _, other = a_stocked_part()
    with pytest.raises(Invalid, match="share a maker's lot or date code"):
        recall.hold_similar_lots(lot, [other.lot_ids[0]])


def test_the_list_goes_into_a_spreadsheet_and_runs_nothing_there() -> None:
    _, bin_, receipt = a_stocked_part(10)
    job = a_job(customer="=HYPERLINK(1)", unit_serial="SN, 1")
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    lots.hold_lot(receipt.lot_ids[0], "cracked")
    lines = list(csv.DictReader(io.StringIO(recall.recall_csv(receipt.lot_ids[0]))))
    assert lines[0]["customer"] == "'=HYPERLINK(1)"
    assert (lines[0]["unit serial"], lines[0]["fitted"], lines[0]["seen to"]) == ("SN, 1", "2", "")


def test_a_lot_of_which_all_was_scrapped_cannot_be_held_whatever_job_it_was_scrapped_for() -> None:
    _, bin_, receipt = a_stocked_part(2)
    lot, job = receipt.lot_ids[0], a_job()
    adjustments.scrap(2, bin_id=bin_.id, lot_id=lot, job_id=job.id, reason="bent")
    with pytest.raises(Conflict, match="there is nothing to hold back"):
        lots.hold_lot(lot, "dull contacts")
