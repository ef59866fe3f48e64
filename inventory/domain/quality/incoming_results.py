"""One test of an incoming check: judged, kept, and what becomes of the one that was tested."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.incoming_records import FATES
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.validation import validated_choice
from inventory.domain.movements import adjustments
from inventory.domain.movements.pull import get_available_piece
from inventory.domain.proof import proofs
from inventory.domain.proof.procedures import add_procedure
from inventory.domain.proof.proof_records import ReadingRecord
from inventory.domain.proof.readings import judge_readings, missing_readings_error, stored_reading
from inventory.store.tables import Balance, IncomingReading, IncomingTest, Part, Procedure

BY_EYE_PROCEDURE = "Good or bad, as the tester saw it"
_BY_EYE_CHECK = "Works as it should"


@dataclass(frozen=True)
class _JudgedTest:
    """What a test showed: by which procedure, its readings as judged (none: good or bad, as the tester
    saw it), and as they were taken."""

    good: bool
    procedure_id: int | None
    readings: tuple[ReadingRecord, ...]
    taken: Sequence[Mapping[str, Any]]

    @property
    def failed(self) -> str:
        return "; ".join(reading.says for reading in self.readings if not reading.passed)


def store_result(
    check: Any, *, good: bool | None, procedure_id: int | None, readings: Sequence[Mapping[str, Any]],
    piece_id: int | None, bin_id: int | None, fate: str, name: str, note: str, by: int | None,
) -> None:  # fmt: skip
    """Keep one test of a check (row) and do what it entails; call it inside ``ledger.ledger_transaction``."""
    part = check.lot.part
    judged = _judge_test(part, good, procedure_id, readings)
    outcome = _resolve_fate(fate, judged.good, loose=piece_id is None)
    columns: dict[str, Any] = {"fate": outcome, "procedure": judged.procedure_id}
    if piece_id is not None:
        columns |= _settle_piece(check, piece_id, judged, outcome, note, by)
    else:
        columns |= _settle_loose_unit(check, bin_id, judged, outcome, name, note, by)
    row = IncomingTest.create(
        incoming=check.id,
        number=_next_number(check.id),
        at=clock.now(),
        person=by,
        good=judged.good,
        note=note,
        **columns,
    )
    if columns.get("proof") is None:
        _store_readings(row, judged.readings)


# ---- judging ---------------------------------------------------------------------------------------------


def _judge_test(
    part: Part, good: bool | None, procedure_id: int | None, readings: Sequence[Mapping[str, Any]]
) -> _JudgedTest:
    if procedure_id is None:
        if not isinstance(good, bool) or readings:
            raise _unclear_result("Say whether it is good or bad, or by which procedure these readings were taken.")
        return _JudgedTest(good, None, (), ())
    if good is not None:
        raise _unclear_result("Send the readings, or good or bad, not both: readings are judged here.")
    checks = proofs.resolve_procedure_for_part(procedure_id, part).checks
    judged = judge_readings(checks, readings)
    passed = all(reading.passed for reading in judged)
    if passed and len(judged) < len(checks):
        raise missing_readings_error(checks, judged)
    return _JudgedTest(passed, procedure_id, tuple(judged), readings)


def _unclear_result(sentence: str) -> Invalid:
    return Invalid(sentence, reason="unclear_result", errors={"good": [sentence]})


def _resolve_fate(fate: str, good: bool, *, loose: bool) -> str:
    """Return what becomes of it; raise Invalid for a bad one that would go back among the others."""
    chosen = validated_choice(fate, "fate", FATES) if fate else ("back" if good else "scrapped")
    if chosen == "back" and not good and loose:
        sentence = "A bad one must not go back among the others: scrap it, or give it a label of its own."
        raise Invalid(sentence, reason="bad_goes_back", errors={"fate": [sentence]})
    if chosen == "labelled" and not loose:
        sentence = "It has a label already: put it back, or scrap it."
        raise Invalid(sentence, errors={"fate": [sentence]})
    return chosen


# ---- what it entails -------------------------------------------------------------------------------------


def _settle_piece(
    check: Any, piece_id: int, judged: _JudgedTest, outcome: str, note: str, by: int | None
) -> dict[str, Any]:
    piece = get_available_piece(piece_id)
    if piece.lot_id != check.lot_id:
        raise Conflict(f"Piece {piece.shown_as} is not of this lot: take one that is.", reason="other_lot")
    if _valid_results(check.id).where(IncomingTest.piece == piece_id).exists():
        raise Conflict(
            f"Piece {piece.shown_as} was tested already: take back that result first, or take another.",
            reason="tested_already",
        )
    proof = _prove_piece(piece_id, judged, note, by)
    entry = None
    if outcome == "scrapped":
        entry = adjustments.scrap(piece_id=piece_id, reason=_scrap_reason(judged), by=by).entry
    return {"piece": piece_id, "proof": proof, "entry": entry}


def _settle_loose_unit(
    check: Any, bin_id: int | None, judged: _JudgedTest, outcome: str, name: str, note: str, by: int | None
) -> dict[str, Any]:  # fmt: skip
    place = _bin_to_draw_from(check.lot_id, bin_id)
    if outcome == "scrapped":
        result = adjustments.scrap(1, bin_id=place, lot_id=check.lot_id, reason=_scrap_reason(judged), by=by)
        return {"entry": result.entry}
    if outcome == "labelled":
        result = adjustments.single_out(place, check.lot_id, name=name, by=by)
        piece = result.piece_ids[0]
        return {"entry": result.entry, "piece": piece, "proof": _prove_piece(piece, judged, note, by)}
    return {}


def _bin_to_draw_from(lot_id: int, bin_id: int | None) -> int:
    """Return the bin that one without a label comes from: the one named, else the fullest."""
    balances = Balance.select().where(Balance.lot == lot_id, Balance.quantity > 0)
    if bin_id is not None:
        balances = balances.where(Balance.bin == bin_id)
    fullest = balances.order_by(Balance.quantity.desc(), Balance.bin).first()
    if fullest is None:
        raise Conflict(
            "No loose one of this lot is there: say which piece was tested, or another bin.", reason="not_there"
        )
    return int(fullest.bin_id)


def _prove_piece(piece_id: int, judged: _JudgedTest, note: str, by: int | None) -> int:
    """Keep the proof of a piece; good or bad as the tester saw it is a procedure of one question."""
    procedure, readings = judged.procedure_id, judged.taken
    if procedure is None:
        procedure = _by_eye_procedure_id()
        readings = [{"name": _BY_EYE_CHECK, "value": "yes" if judged.good else "no"}]
    return proofs.record_proof(piece_id, procedure, readings, note=note, by=by).proof.id


def _by_eye_procedure_id() -> int:
    procedure = Procedure.get_or_none(Procedure.name == BY_EYE_PROCEDURE, ~Procedure.retired)
    if procedure is not None:
        return int(procedure.id)
    return add_procedure(
        BY_EYE_PROCEDURE,
        [{"name": _BY_EYE_CHECK}],
        steps="Test it in the way that suits it, and say whether it works.",
        source="Common practice, no published source.",
    ).id


def _scrap_reason(judged: _JudgedTest) -> str:
    if judged.good:
        return "Incoming check: used up by the test"
    return f"Incoming check: bad{f', {judged.failed}' if judged.failed else ''}"[:300]


def _store_readings(result: Any, readings: Sequence[ReadingRecord]) -> None:
    for reading in readings:
        IncomingReading.create(test=result.id, **stored_reading(reading))


def _valid_results(check_id: int) -> Any:
    return IncomingTest.select().where(IncomingTest.incoming == check_id, IncomingTest.struck.is_null())


def _next_number(check_id: int) -> int:
    """Return the lowest number that no result has: one that is corrected keeps its place."""
    taken = {result.number for result in _valid_results(check_id)}
    return next(number for number in range(1, len(taken) + 2) if number not in taken)
