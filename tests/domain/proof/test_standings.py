"""Standing of pieces from what the database knows: now, at past moments, for many at once."""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.common.errors import NotFound
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, receive
from inventory.domain.proof import pieces, proofs, standings
from tests import ORACLES
from tests.factories import a_bin, a_job, a_part
from tests.proof_factories import FAN_ATTRIBUTES, a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")

START = datetime(2025, 3, 10, 9, tzinfo=UTC)
ORACLE = json.loads((ORACLES / "standing_lots_holding.json").read_text())


def on(day: int) -> Any:
    """Let it be so many days after the start."""
    return clock.freeze_at(START + timedelta(days=day))


def test_a_new_one_starts_with_what_its_kind_is_assumed_to_be() -> None:
    with on(0):
        piece = a_piece()
        standing = standings.standing_of(piece.id)
    assert (standing.word, round(standing.p_good, 6)) == ("unproved", 0.98)  # 24.5 / (0.5 + 24.5)
    assert standing.why == "It has never passed a proof or run in a unit."
    assert standing.steps[0].words == "from a lot with 0 bad of 0 tested"
    with pytest.raises(NotFound):
        standings.standing_of(999)


@pytest.mark.parametrize(
    ("worked", "share", "words"),
    [
        (True, 0.93, "came from a donor unit that worked"),
        (False, 0.80, "came from a donor unit that was dead"),
        (None, 0.80, "came from a donor unit; whether it worked was not noted, so it counts as dead"),
    ],
)
def test_one_from_a_donor_starts_with_what_the_donor_was(worked: bool | None, share: float, words: str) -> None:
    with on(0):
        piece = a_piece(received={"origin": "donor", "donor_worked": worked})
        standing = standings.standing_of(piece.id)
    assert round(standing.p_good, 6) == share
    assert standing.steps[0].words == words


def test_it_is_proved_until_its_proof_runs_out_and_then_lapsed() -> None:
    with on(0):
        piece = a_piece()
        prove_fan(piece.id)
    proved = standings.standing_of(piece.id, START + timedelta(days=1))
    assert (proved.word, proved.proof_until) == ("proved", (START + timedelta(days=365)).date())
    assert proved.valid_until == proved.proof_until
    assert (proved.next_word, proved.next_on) == ("lapsed", (START + timedelta(days=366)).date())
    assert standings.standing_of(piece.id, START + timedelta(days=366)).word == "lapsed"


def test_it_tells_what_was_believed_at_any_past_moment() -> None:
    with on(0):
        piece = a_piece()
    with on(10):
        prove_fan(piece.id)
    with on(20):
        loan = swap_tests.take_piece(piece.id, a_job().id).loan
    with on(21):
        swap_tests.bring_back_piece(loan.id, "still fails")
    words = [standings.standing_of(piece.id, START + timedelta(days=day)).word for day in (5, 15, 20, 25)]
    assert words == ["unproved", "proved", "proved", "doubtful"]
    believed = standings.standing_of(piece.id, START + timedelta(days=20))
    assert loan.standing == "proved"
    assert loan.p_good == pytest.approx(believed.p_good)


def test_a_unit_that_still_fails_makes_it_doubtful_until_the_job_is_closed() -> None:
    with on(0):
        piece, job = a_piece(), a_job()
        prove_fan(piece.id)
        loan = swap_tests.take_piece(piece.id, job.id).loan
    with on(1):
        swap_tests.bring_back_piece(loan.id, "still fails")
        doubtful = standings.standing_of(piece.id)
        assert doubtful.word == "doubtful"
        assert f"not closed yet: {job.number}" in doubtful.why
    with on(2):
        jobs.close_job(job.id, "it was the line")
        assert standings.standing_of(piece.id).word == "proved"
    with on(3):
        jobs.reopen_job(job.id)
        assert standings.standing_of(piece.id).word == "doubtful"


def test_swaps_move_its_chance_by_the_ratio_that_the_oracle_has() -> None:
    """Case E4 of the oracle file: g = .90, the unit works with it, a = .397235 -> .994547, capped at .99."""
    case = next(case for case in ORACLE["standing"] if case["name"].startswith("E4"))
    a, after = case["log"][1][0][2], case["log"][1][1]
    with on(0):
        piece = a_piece(kind="other", received={"origin": "donor", "donor_worked": True})
        assert standings.standing_of(piece.id).p_good == pytest.approx(0.90)
        loan = swap_tests.take_piece(piece.id, a_job().id).loan
        back = swap_tests.bring_back_piece(loan.id, "works with it", others_good=a)
    swap = [step.p_good for step in back.after.steps if "a unit worked with it" in step.words]
    worn = 0.95 ** ((1 / 20) ** 2)  # one mating of 20 rated, on the way in
    odds = 0.9 * worn / (1 - 0.9 * worn) * (after / (1 - after)) / (0.9 / 0.1)
    assert swap == [pytest.approx(odds / (1 + odds), abs=1e-6)]
    assert back.after.word == "proved"


def test_every_fitting_is_one_mating_and_past_the_rated_number_it_is_lapsed() -> None:
    with on(0):
        part = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES, rated_matings=4)
        piece = a_piece(part_id=part.id)
        prove_fan(piece.id)
    for day in (1, 2, 3, 4, 5):
        with on(day):
            loan = swap_tests.take_piece(piece.id, a_job().id).loan
            swap_tests.bring_back_piece(loan.id, "cannot tell")
    standing = standings.standing_of(piece.id, START + timedelta(days=6))
    assert (standing.matings, standing.rated_matings, standing.word) == (5, 4, "lapsed")
    assert standing.why == "It has been mated 5 times and is rated for 4."
    assert standings.standing_of(piece.id, START + timedelta(days=2.5)).matings == 2
    assert pieces.piece(piece.id).piece.matings == 5


def test_the_same_run_twice_counts_once_as_evidence() -> None:
    def after(times: int) -> float:
        with on(0):
            piece, job = a_piece(), a_job()
            suspect = jobs.add_suspect(job.id, "line")
            for _ in range(times):
                loan = swap_tests.take_piece(piece.id, job.id, suspect_id=suspect.id).loan
                swap_tests.bring_back_piece(loan.id, "still fails", others_good=0.5)
            return standings.standing_of(piece.id).p_good

    once, twice = after(1), after(2)
    assert twice < once  # the second run may have harmed it, and wore its contacts
    assert once - twice < 0.01


def test_what_its_lot_showed_counts_for_those_not_tested() -> None:
    with on(0):
        part = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
        bin_ = a_bin(part)
        lot = receive.receive(part.id, 5, bin_.id).lot_ids[0]
        fans = [adjustments.single_out(bin_.id, lot).made_pieces[0] for _ in range(4)]
        alone = a_piece(part_id=part.id)
    with on(1):
        for fan in fans[:3]:
            prove_fan(fan.id, Current="0.5")
        prove_fan(fans[0].id, Current="0.5")  # a second proof of one piece is no second piece
    with on(2):
        by_piece = standings.standings_of([fans[3].id, alone.id])
        (loose,) = (step for step in by_piece[fans[3].id].steps if "3 bad of 3" in step.words)
    sentences = [step.words for step in by_piece[fans[3].id].steps if "tested" in step.words]
    assert sentences == [f"from a lot with {bad} bad of {bad} tested" for bad in (0, 1, 2, 3)]
    own = [step.words for step in standings.standing_of(fans[0].id).steps if "tested" in step.words]
    assert own[-1] == "from a lot with 2 bad of 2 tested"  # its own proofs are not counted twice
    assert loose.p_good == pytest.approx(24.5 / 28 / (24.5 / 28 + (1 - 24.5 / 28)), abs=1e-3)
    assert by_piece[alone.id].p_good > 0.97


def test_a_hold_on_its_lot_makes_it_doubtful_until_released() -> None:
    with on(0):
        piece = a_piece()
        prove_fan(piece.id)
    with on(1):
        lots.hold_lot(piece.lot_id, "one of five dead")
    with on(3):
        lots.release_lot(piece.lot_id)
    words = [standings.standing_of(piece.id, START + timedelta(days=day)).word for day in (0.5, 2, 4)]
    assert words == ["proved", "doubtful", "proved"]
    standing = standings.standing_of(piece.id, START + timedelta(days=2))
    assert "one of five dead" in standing.why


@pytest.mark.parametrize("good", ["0.99", "0.97", "0.96", "0.95", "0.9", "0.8"])
def test_its_worth_as_a_test_is_what_the_oracle_says(good: str) -> None:
    left = ORACLE["thresholds"][good][1]  # of a suspect that was at 50 %
    assert standings.suspect_after_failed_swap(float(good)) == pytest.approx(left, abs=1e-6)


def test_it_says_the_worth_in_words() -> None:
    assert standings.describe_test_value(0.8) == (
        "If the unit still fails with it, a suspect that was at 50 % falls to 17.2 %."
    )


def test_it_lists_what_to_prove_again_and_what_has_lapsed() -> None:
    with on(0):
        old, soon, fresh = a_piece("old"), a_piece("soon"), a_piece("fresh")
        scrapped = a_piece("gone")
        prove_fan(old.id)
        prove_fan(scrapped.id)
        adjustments.scrap(piece_id=scrapped.id, reason="dropped")
    with on(40):
        prove_fan(soon.id)
    with on(380):
        prove_fan(fresh.id)
        a_piece("unproved")
        assert [piece.piece.name for piece in standings.pieces_lapsing_soon(within_days=30)] == ["soon"]
        assert [piece.piece.name for piece in standings.pieces_lapsing_soon(within_days=400)] == ["soon", "fresh"]
        assert [piece.piece.name for piece in standings.lapsed_pieces()] == ["old"]
        assert standings.lapsed_pieces()[0].where.state == "in bin"


def test_a_list_of_many_asks_the_database_no_more_often_than_one_of_few(caplog: pytest.LogCaptureFixture) -> None:
    with on(0):
        first = a_piece()
        ids = [first.id] + [a_piece(part_id=first.part_id).id for _ in range(39)]
        for part_id in ids[::3]:
            prove_fan(part_id, Current="0.14" if part_id % 2 else "0.4")
        job = a_job()
        for part_id in ids[1::3]:
            loan = swap_tests.take_piece(part_id, job.id).loan
            if part_id % 2:
                swap_tests.bring_back_piece(loan.id, "still fails")

    def queries(piece_ids: list[int]) -> int:
        caplog.clear()
        with caplog.at_level(logging.DEBUG, logger="peewee"):
            assert len(standings.piece_statuses(piece_ids)) == len(piece_ids)
        return len(caplog.records)

    assert 0 < queries(ids) <= queries(ids[:4]) <= 14


def test_a_proof_that_follows_from_a_loan_counts_once() -> None:
    with on(0):
        piece, other = a_piece(kind="supply"), a_piece(kind="supply")
        loan = swap_tests.take_piece(piece.id, a_job().id).loan
        by_loan = swap_tests.bring_back_piece(loan.id, "works with it", others_good=1.0).after
        by_hand = proofs.record_run_in_unit(other.id, a_job().id).after
    assert len([step for step in by_loan.steps if "worked" in step.words or "passed" in step.words]) == 1
    raw = [step.p_good for step in by_hand.steps if "passed" in step.words]
    assert raw == [pytest.approx(0.990909 / (0.990909 + 0.009091), abs=0.01)]
