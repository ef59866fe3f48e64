"""Pieces: where each is, what happened to it, and lists of them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from inventory.domain.catalogue import lots as lots_
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.diagnosis import swap_tests
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof import pieces, proofs, timeline
from shared.codes import format_code
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")

MORNING = datetime(2026, 3, 10, 9, tzinfo=UTC)


def where(piece_id: int) -> str:
    return pieces.piece(piece_id).where.words


def test_it_shows_a_piece_with_part_lot_place_and_standing() -> None:
    piece = a_piece("C-07")
    record = pieces.piece(piece.id)
    assert (record.piece, record.part.name, record.lot.id) == (piece, "24 V fan", piece.lot_id)
    assert (record.where.state, record.where.bin_id, record.standing.word) == ("in bin", piece.bin_id, "unproved")
    with pytest.raises(NotFound, match="There is no piece 999"):
        pieces.piece(999)


def test_it_says_where_a_piece_is_in_words() -> None:
    part = a_part("24 V fan", "fan")
    bin_ = a_bin(part, name="A-03")
    piece = a_piece("C-07", part_id=part.id)
    job = a_job()
    assert where(piece.id) == "in bin A-03"
    with clock.freeze_at(MORNING):
        lent = swap_tests.take_piece(piece.id, job.id)
        assert where(piece.id) == f"out with job {job.number} since 10 Mar 2026"
    with clock.freeze_at(MORNING + timedelta(days=3)):
        assert where(piece.id) == f"out with job {job.number} since 10 Mar 2026, overdue since 12 Mar 2026"
        assert pieces.piece(piece.id).where.overdue
        result = swap_tests.leave_piece_fitted(lent.loan.id)
        assert where(piece.id) == f"fitted in job {job.number} since 13 Mar 2026"
        assert result.entry is not None
        undo.undo(result.entry)
        assert (where(piece.id), pieces.piece(piece.id).where.bin_id) == ("in bin A-03", bin_.id)
        adjustments.scrap(piece_id=piece.id, reason="bearing gone")
        assert where(piece.id) == "scrapped on 13 Mar 2026: bearing gone"


def test_it_says_where_a_piece_is_that_was_taken_put_back_or_never_was() -> None:
    job = a_job()
    part, bin_, _ = a_stocked_part(3)
    lot = lots_.lots(part_id=part.id).items[0].id
    with clock.freeze_at(MORNING):
        single = adjustments.single_out(bin_.id, lot)
        piece_id = single.made_pieces[0].id
        pull.pull_piece(piece_id, job_id=job.id)
        back = pull.put_back(job_id=job.id, piece_id=piece_id)
        assert where(piece_id) == f"in bin {bin_.name}"
        undo.undo(back.entry)
        assert where(piece_id) == f"fitted in job {job.number} since 10 Mar 2026"
        pull.put_back(job_id=job.id, piece_id=piece_id)
        taken = pull.pull_piece(piece_id, reason="test rig")
        assert where(piece_id) == "taken on 10 Mar 2026: test rig"
        undo.undo(taken.entry)
        undo.undo(single.entry)
        assert where(piece_id) == "among the loose stock again since 10 Mar 2026"
        individual = a_part(kept="individually")
        receipt = receive.receive(individual.id, 1, a_bin(individual).id)
        undo.undo(receipt.entry)
        assert where(receipt.piece_ids[0]) == "its receipt was undone on 10 Mar 2026"


def test_it_edits_name_serial_note_and_spare_and_nothing_else() -> None:
    piece = a_piece()
    record = pieces.edit_piece(piece.id, piece.version, name="C-07", serial="8812", note="quiet", spare=False)
    assert (record.piece.name, record.piece.serial, record.piece.note, record.piece.spare) == (
        "C-07",
        "8812",
        "quiet",
        False,
    )
    with pytest.raises(Stale):
        pieces.edit_piece(piece.id, piece.version, name="C-08")
    with pytest.raises(Invalid, match="A piece's bin_id, lot_id cannot be edited"):
        pieces.edit_piece(piece.id, bin_id=3, lot_id=1)
    with pytest.raises(Invalid, match="The serial number is 81 characters long"):
        pieces.edit_piece(piece.id, serial="8" * 81)
    with pytest.raises(Invalid, match="Say yes or no"):
        pieces.edit_piece(piece.id, spare="yes")


def test_a_used_one_may_come_with_matings_but_not_fewer_than_its_swap_tests() -> None:
    piece = a_piece()
    assert pieces.edit_piece(piece.id, matings=12).standing.matings == 12
    loan = swap_tests.take_piece(piece.id, a_job().id).loan
    assert swap_tests.bring_back_piece(loan.id, "cannot tell").after.matings == 13
    assert pieces.edit_piece(piece.id, matings=1).standing.matings == 1
    for bad in (0, -1, True, "3", 10**6):
        with pytest.raises(Invalid, match=r"whole number from 1 \(its swap tests so far\) to 100000"):
            pieces.edit_piece(piece.id, matings=bad)


def test_a_name_means_one_piece_at_the_bench() -> None:
    first, second = a_piece("C-07"), a_piece()
    with pytest.raises(Conflict, match="There is a piece C-07 already: choose another name"):
        pieces.edit_piece(second.id, name="C-07")
    adjustments.scrap(piece_id=first.id, reason="dropped")
    assert pieces.edit_piece(second.id, name="C-07").piece.name == "C-07"


def test_it_lists_pieces_by_part_bin_spare_standing_out_and_gone() -> None:
    fan = a_piece("C-07")
    mate = a_piece("C-08", part_id=fan.part_id, spare=False)
    board = a_piece("M-01", kind="module", part_name="driver board")
    scrapped = a_piece("C-09", part_id=fan.part_id)
    adjustments.scrap(piece_id=scrapped.id, reason="dropped")
    prove_fan(fan.id)
    swap_tests.take_piece(board.id, a_job().id)

    def listed(**by: object) -> list[str]:
        return [piece.piece.name for piece in pieces.pieces(**by).items]  # type: ignore[arg-type]

    assert listed() == ["C-07", "C-08", "M-01"]
    assert listed(part_id=fan.part_id) == ["C-07", "C-08"]
    assert listed(bin_id=fan.bin_id) == ["C-07", "C-08"]
    assert listed(lot_id=mate.lot_id) == ["C-08"]
    assert listed(spare=False) == ["C-08"]
    assert listed(standing="proved") == ["C-07"]
    assert listed(standing="unproved") == ["C-08", "M-01"]
    assert listed(standing="lapsed") == []
    assert listed(out=True) == ["M-01"]
    assert listed(out=False) == ["C-07", "C-08"]
    assert listed(gone=True) == ["C-09"]
    assert listed(gone=None) == ["C-07", "C-08", "M-01", "C-09"]
    with pytest.raises(Invalid, match="standing must be one of: proved, lapsed"):
        pieces.pieces(standing="fine")


def test_it_lists_in_pages_with_the_standing_filter_too() -> None:
    first = a_piece("1")
    names = ["1"]
    for number in range(2, 6):
        a_piece(str(number), part_id=first.part_id)
        names.append(str(number))
    listed: list[str] = []
    mark = None
    while True:
        page = pieces.pieces(standing="unproved", after=mark, limit=2)
        listed += [item.piece.name for item in page.items]
        mark = page.next
        if mark is None:
            break
    assert listed == names


def test_its_timeline_tells_movements_proofs_loans_and_holds_newest_first() -> None:
    part = a_part("24 V fan", "fan", attributes={"amps": 0.15, "rpm": 2000})
    bin_, other = a_bin(part, name="A-03"), a_bin(part, name="A-04")
    job, ines = a_job(), a_person(name="ines")
    times = iter(range(100))

    def next_day() -> datetime:
        return MORNING + timedelta(days=next(times))

    with clock.freeze_at(next_day()):
        receive.receive(part.id, 1, bin_.id)
        lot = lots_.lots(part_id=part.id).items[0]
    with clock.freeze_at(next_day()):
        piece = adjustments.single_out(bin_.id, lot.id, name="C-07", by=ines.id).made_pieces[0]
    with clock.freeze_at(next_day()):
        wrong = prove_fan(piece.id, Current="0.2")
    with clock.freeze_at(next_day()):
        proofs.strike_proof(wrong.proof.id, reason="meter on the wrong range")
        prove_fan(piece.id)
    with clock.freeze_at(next_day()):
        mistake = swap_tests.take_piece(piece.id, job.id)
        swap_tests.cancel_loan(mistake.loan.id, reason="scanned the wrong one")
    with clock.freeze_at(next_day()):
        loan = swap_tests.take_piece(piece.id, job.id, by=ines.id).loan
    with clock.freeze_at(next_day()):
        swap_tests.bring_back_piece(loan.id, "works with it", bin_id=other.id)
    with clock.freeze_at(next_day()):
        lots_.hold_lot(lot.id, "one of five dead")
    with clock.freeze_at(next_day()):
        lots_.release_lot(lot.id, "supplier's harness was wrong")
    events = timeline.piece_timeline(piece.id)
    words = [event.words for event in events]
    assert words[0] == "the hold on its lot ended: supplier's harness was wrong"
    assert words[1] == "its lot went on hold: one of five dead"
    assert sorted(words[2:4]) == [
        f"job {job.number}: works with it; brought back",
        f"moved from A-03 to A-04: back from job {job.number}",
    ]
    assert words[4].startswith(f"taken out to job {job.number} (proved, ")
    assert words[5:] == [
        words[5],
        words[6],
        "passed Fan bench run (bench meter 2)",
        "failed Fan bench run: Current 0.2 A is above 0.15 A (bench meter 2); struck: meter on the wrong range",
        f"singled out from lot {format_code(lot.code)} in A-03, with its own label",
    ]
    assert {event.struck for event in events if event.loan_id == mistake.loan.id} == {True}
    assert f"was not used on job {job.number} after all" in words[5:7]
    assert [event.good for event in events if event.what == "proof"] == [True, False]
    assert events[4].person == ines.shown_as
    assert [event.at for event in events] == sorted((event.at for event in events), reverse=True)
