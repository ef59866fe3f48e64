"""Proving a piece: readings judged one by one, and what a result does to the standing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.movements import adjustments, pull
from inventory.domain.proof import procedures, proofs, readings, standings
from inventory.domain.proof.proof_records import CheckRecord
from tests.factories import a_job, a_person
from tests.proof_factories import GOOD_FAN_READINGS, a_piece, built_in_procedure_id, fan_readings, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


def test_a_new_fan_that_passes_is_proved_for_a_year() -> None:
    piece = a_piece("C-07")
    with clock.freeze_at(datetime(2026, 3, 10, 9, tzinfo=UTC)):
        result = prove_fan(piece.id)
    assert (result.before.word, result.after.word) == ("unproved", "proved")
    assert result.proof.passed
    assert [reading.passed for reading in result.proof.readings] == [True] * 5
    assert result.proof.instrument == "bench meter 2"
    assert result.sentence.startswith("C-07 passed Fan bench run. It is proved (")
    assert str(result.after.valid_until) in result.sentence


def test_a_fan_that_draws_too_much_fails_and_it_says_which_reading() -> None:
    piece = a_piece("C-07")
    result = prove_fan(piece.id, Current="0.151")
    assert not result.proof.passed
    assert result.proof.failed_reading == "Current 0.151 A is above 0.15 A"
    assert result.after.word == "failed"
    assert "Current 0.151 A is above 0.15 A" in result.after.why
    assert result.sentence.startswith("C-07 failed Fan bench run: Current 0.151 A is above 0.15 A. It is failed")


def test_limits_are_shares_of_what_the_part_is_rated_for_and_kept_with_the_reading() -> None:
    result = prove_fan(a_piece().id)
    current, speed = result.proof.readings[:2]
    assert (current.low, current.high) == ("", "0.15")
    assert (speed.low, speed.high) == ("1800", "2200")


@pytest.mark.parametrize(("speed", "passes"), [("1800", True), ("1799.9", False), ("2200", True), ("2200.1", False)])
def test_a_reading_at_its_limit_is_inside(speed: str, passes: bool) -> None:
    assert prove_fan(a_piece().id, Speed=speed).proof.passed is passes


def test_a_no_fails_the_check_that_it_answers() -> None:
    result = prove_fan(a_piece().id, No="no")
    assert result.proof.failed_reading == "No rub, no bearing noise: no"


def test_it_asks_for_the_rating_that_the_part_does_not_state() -> None:
    piece = a_piece(attributes={"amps": 0.15})
    with pytest.raises(Conflict) as refused:
        prove_fan(piece.id)
    assert refused.value.reason == "not_rated"
    assert "does not state its rated speed, which Speed is held against: type it on the part's page" in str(
        refused.value
    )


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"unit": "mA"}, "This check is in A, not in 'mA': convert the reading first"),
        ({"unit": ""}, "Say the unit of the reading; this check is in A"),
        ({"value": "nan"}, "'nan' is not a reading: type digits"),
        ({"value": "inf"}, "is not a reading"),
        ({"value": "1e-1"}, "is not a reading"),
        ({"value": "0x1"}, "is not a reading"),
        ({"value": ""}, "is not a reading"),
        ({"value": "0.1.4"}, "is not a reading"),
        ({"value": 0.14}, "Type the number as text"),
        ({"value": None}, "Type the number as text"),
        ({"value": True}, "Type the number as text"),
        ({"value": "1,500"}, "can be read in two ways"),
        ({"value": "100000000000"}, "cannot be right: look for a digit too many"),
        ({"value": "9" * 400}, "is not a reading"),
        ({"value": "'; DROP TABLE proofs; --"}, "is not a reading"),
    ],
)
def test_it_refuses_what_cannot_be_a_reading(change: dict[str, Any], sentence: str) -> None:
    piece = a_piece()
    with pytest.raises(Invalid, match=sentence) as refused:
        proofs.record_proof(
            piece.id,
            built_in_procedure_id("Fan bench run"),
            [{**GOOD_FAN_READINGS[0], **change}, *GOOD_FAN_READINGS[1:]],
        )
    assert list(refused.value.errors) == ["Current"]
    assert proofs.proofs(piece_id=piece.id).items == []


def test_it_names_every_wrong_reading_at_once() -> None:
    piece = a_piece()
    wrong = fan_readings(Current="much", Speed="fast", No="maybe")
    with pytest.raises(Invalid) as refused:
        proofs.record_proof(piece.id, built_in_procedure_id("Fan bench run"), wrong)
    assert set(refused.value.errors) == {"Current", "Speed", "No rub, no bearing noise"}


def test_it_refuses_a_check_that_is_not_asked_for_and_one_read_twice() -> None:
    piece, procedure = a_piece(), built_in_procedure_id("Fan bench run")
    with pytest.raises(Invalid, match="There is no check 'Smell': read Current, Speed"):
        proofs.record_proof(piece.id, procedure, [*GOOD_FAN_READINGS, {"name": "Smell", "value": "yes"}])
    with pytest.raises(Invalid, match="Current: read it once"):
        proofs.record_proof(piece.id, procedure, [*GOOD_FAN_READINGS, GOOD_FAN_READINGS[0]])


def test_a_pass_needs_every_reading_and_a_failure_may_stop_where_it_failed() -> None:
    piece, procedure = a_piece(), built_in_procedure_id("Fan bench run")
    with pytest.raises(Invalid, match=r"Still to read: No rub, no bearing noise\. A test may stop early only where"):
        proofs.record_proof(piece.id, procedure, GOOD_FAN_READINGS[:-1])
    result = proofs.record_proof(piece.id, procedure, [{**GOOD_FAN_READINGS[0], "value": "0.4"}])
    assert not result.proof.passed
    with pytest.raises(Invalid, match="Still to read: Current, Speed"):
        proofs.record_proof(piece.id, procedure, [])


def test_it_refuses_a_procedure_for_another_kind_or_part() -> None:
    piece = a_piece()
    with pytest.raises(Conflict, match="ATX-type supply rails is not for 24 V fan: choose a procedure for it"):
        proofs.record_proof(piece.id, built_in_procedure_id("ATX-type supply rails"), [])
    other = procedures.add_procedure("Only that one", [{"name": "ok"}], part_id=a_piece().part_id)
    with pytest.raises(Conflict, match="is not for 24 V fan"):
        proofs.record_proof(piece.id, other.id, [{"name": "ok", "value": "yes"}])
    assert other.id not in [procedure.id for procedure in proofs.procedures_for_piece(piece.id)]


def test_it_refuses_a_piece_that_is_gone_and_says_where_it_went() -> None:
    piece = a_piece("C-07")
    adjustments.scrap(piece_id=piece.id, reason="bearing gone")
    with pytest.raises(Conflict, match=r"Piece C-07 is not here to be tested \(scrapped on .*: bearing gone\)"):
        prove_fan(piece.id)
    with pytest.raises(NotFound):
        prove_fan(999)


def test_it_says_what_to_mind_and_the_limits_of_this_part_before_the_test() -> None:
    piece = a_piece(kind="supply", part_name="24 V supply", caution="Output floats: do not earth it.")
    procedure = proofs.resolve_procedure(built_in_procedure_id("ATX-type supply rails"), piece.id)
    assert [caution.key for caution in procedure.cautions] == ["mains", "stored_charge", ""]
    assert "can kill" in procedure.cautions[0].text
    fan = proofs.resolve_procedure(built_in_procedure_id("Fan bench run"), a_piece().id)
    assert [(check.low, check.high) for check in fan.checks[:2]] == [("", "0.15"), ("1800", "2200")]


def test_having_run_in_a_unit_proves_it_once() -> None:
    piece, job, ines = a_piece("C-07"), a_job(), a_person(name="ines")
    result = proofs.record_run_in_unit(piece.id, job.id, by=ines.id, note="ran an hour")
    assert (result.after.word, result.proof.procedure_id, result.proof.job_number) == ("proved", None, job.number)
    assert result.proof.person == ines.shown_as
    assert result.sentence.startswith(f"C-07 ran in the unit of job {job.number}. It is proved")
    with pytest.raises(Conflict, match=f"noted already that C-07 ran in the unit of job {job.number}"):
        proofs.record_run_in_unit(piece.id, job.id)


def test_a_piece_that_is_fitted_can_have_run_there() -> None:
    piece, job = a_piece(), a_job()
    pull.pull_piece(piece.id, job_id=job.id)
    assert proofs.record_run_in_unit(piece.id, job.id).after.word == "proved"


def test_a_struck_proof_counts_no_longer_but_did_until_then() -> None:
    piece = a_piece()
    result = prove_fan(piece.id)
    between = clock.now()
    ines = a_person(name="ines")
    struck = proofs.strike_proof(result.proof.id, reason="wrong fan in hand", by=ines.id)
    assert (struck.struck_reason, struck.struck_by) == ("wrong fan in hand", ines.shown_as)
    assert standings.standing_of(piece.id).word == "unproved"
    assert standings.standing_of(piece.id, between).word == "proved"
    with pytest.raises(Conflict, match="struck already"):
        proofs.strike_proof(result.proof.id, reason="again")
    with pytest.raises(Invalid, match="The reason is missing"):
        proofs.strike_proof(prove_fan(piece.id).proof.id, reason=" ")


def test_it_lists_proofs_newest_first() -> None:
    piece = a_piece()
    with clock.freeze_at(clock.now() - timedelta(days=400)):
        old = prove_fan(piece.id, Current="0.4").proof
    new = prove_fan(piece.id).proof
    assert [proof.id for proof in proofs.proofs(piece_id=piece.id).items] == [new.id, old.id]
    assert [proof.id for proof in proofs.proofs(piece_id=piece.id, passed=False).items] == [old.id]
    first = proofs.proofs(piece_id=piece.id, limit=1)
    assert [proof.id for proof in proofs.proofs(piece_id=piece.id, after=first.next).items] == [old.id]


@given(
    value=st.decimals(-1000, 1000, places=3), low=st.decimals(-1000, 1000, places=2),
    width=st.decimals(0, 500, places=2),
)  # fmt: skip
def test_a_reading_passes_exactly_when_it_is_between_its_limits(value: Decimal, low: Decimal, width: Decimal) -> None:
    check = CheckRecord(1, "Output", "V", f"{low:f}", f"{low + width:f}", "")
    outcome = readings.judge_reading(check, {"value": f"{value:f}", "unit": "V"})
    assert outcome.passed is (low <= value <= low + width)
    assert Decimal(outcome.value) == value
    assert readings.describe_reading(outcome) == outcome.says


@pytest.mark.parametrize(
    ("text", "value"),
    [("12.05", "12.05"), ("12,05", "12.05"), (" +3 ", "3"), ("−12.1", "-12.1"), (".5", "0.5"), (7, "7")],
)
def test_it_reads_numbers_as_people_type_them(text: Any, value: str) -> None:
    assert readings.parse_decimal(text, "Output") == Decimal(value)
