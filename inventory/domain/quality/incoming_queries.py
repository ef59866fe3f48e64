"""Reads incoming checks with their tests and what they say, many at a time by a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from peewee import JOIN, fn

from inventory.domain.buying.incoming_records import IncomingCheckRecord, IncomingResultRecord
from inventory.domain.common.kind_figures import figures_by_kind, figures_of_part
from inventory.domain.common.records import LotRecord, PartRecord, from_row
from inventory.domain.proof.proof_records import ReadingRecord
from inventory.domain.proof.readings import describe_reading
from inventory.domain.quality.incoming_text import (
    describe_requirement,
    describe_result,
    estimate_untested,
    rest_record,
)
from inventory.reckoning.quality.acceptance import SamplingPlan, acceptance_verdict
from inventory.store.tables import (
    Balance,
    IncomingReading,
    IncomingTest,
    Loan,
    Lot,
    Part,
    Person,
    Piece,
    Procedure,
    ProofReading,
    Supplier,
)


def check_record(found: Any) -> IncomingCheckRecord:
    """Return the record of one check (row)."""
    return check_records([found])[0]


def check_records(rows: Sequence[Any]) -> list[IncomingCheckRecord]:
    """Return the records of checks (rows), in their order."""
    lots = _lots_by_id(
        Lot.select(Lot, Part, Supplier).join(Part).switch(Lot).join(Supplier, JOIN.LEFT_OUTER), Lot, rows
    )
    tests = _results_by_check([row.id for row in rows])
    untested, kinds, names = _untested_by_check(rows, tests), figures_by_kind(), _person_names(rows)
    return [
        _record(
            row,
            lots[row.lot_id],
            tests[row.id],
            untested.get(row.id, 0),
            figures_of_part(lots[row.lot_id].part, kinds),
            names,
        )
        for row in rows
    ]


def _lots_by_id(query: Any, model: Any, rows: Sequence[Any]) -> dict[int, Any]:
    return {lot.id: lot for lot in query.where(model.id << [row.lot_id for row in rows])}


def _person_names(rows: Sequence[Any]) -> dict[int | None, str]:
    ids = {key for row in rows for key in (row.opened_by_id, row.closed_by_id) if key is not None}
    return {person.id: person.shown_as for person in Person.select().where(Person.id << ids)}


def _record(
    row: Any,
    lot: Any,
    tests: Sequence[IncomingResultRecord],
    untested: int,
    figures: Any,
    names: dict[int | None, str],
) -> IncomingCheckRecord:
    live = [test for test in tests if test.struck is None]
    tested, bad = len(live), sum(not test.good for test in live)
    plan = SamplingPlan(row.tests if row.closed else min(row.tests, tested + untested), row.accept)
    estimate = estimate_untested(row, tested, bad, figures)
    return from_row(
        IncomingCheckRecord,
        row,
        lot=from_row(LotRecord, lot),
        part=from_row(PartRecord, lot.part),
        supplier=lot.supplier.name if lot.supplier_id else "",
        tests=plan.tests,
        opened_by=names.get(row.opened_by_id, ""),
        closed_by=names.get(row.closed_by_id, ""),
        holds=row.closed is None and row.hold_id is not None and lot.on_hold,
        tested=tested,
        bad=bad,
        left=untested,
        verdict=acceptance_verdict(plan, tested, bad, sort_all=row.every),
        asks=describe_requirement(row, plan.tests),
        says=describe_result(estimate, tested, bad),
        rest=rest_record(estimate),
        results=tuple(tests),
    )


# ---- how many are here and not tested --------------------------------------------------------------------


def _untested_by_check(rows: Sequence[Any], tests: dict[int, list[IncomingResultRecord]]) -> dict[int, int]:
    """Return by check how many of its lot are in bins, not lent and not tested for it."""
    lots = [row.lot_id for row in rows]
    loose, pieces = dict(_loose_by_lot(lots)), pieces_available_to_test(lots)
    untested = {}
    for row in rows:
        live = [test for test in tests[row.id] if test.struck is None]
        returned = sum(test.piece_id is None and test.fate == "back" for test in live)
        done = {test.piece_id for test in live}
        new_pieces = sum(piece.id not in done for piece in pieces[row.lot_id])
        untested[row.id] = max(0, loose.get(row.lot_id, 0) - returned) + new_pieces
    return untested


def _loose_by_lot(lots: Iterable[int]) -> list[tuple[int, int]]:
    query: Any = Balance.select(Balance.lot, fn.SUM(Balance.quantity)).where(Balance.lot << list(lots))
    return [(int(lot), int(number)) for lot, number in query.group_by(Balance.lot).tuples()]


def pieces_available_to_test(lots: Iterable[int]) -> dict[int, list[Any]]:
    """Return by lot its pieces (rows) that are in a bin, not lent, and did not fail at a check yet."""
    lent = Loan.select(Loan.piece).where(Loan.ended.is_null())
    failed = IncomingTest.select(IncomingTest.piece).where(
        IncomingTest.piece.is_null(False), ~IncomingTest.good, IncomingTest.struck.is_null()
    )
    by_lot: dict[int, list[Any]] = defaultdict(list)
    query = Piece.select().where(Piece.lot << list(lots), Piece.bin.is_null(False), Piece.id.not_in(lent))
    for piece in query.where(Piece.id.not_in(failed)).order_by(Piece.id):
        by_lot[piece.lot_id].append(piece)
    return by_lot


def units_to_test(lot_id: int) -> int:
    """Return how many of a lot are here to be tested."""
    return dict(_loose_by_lot([lot_id])).get(lot_id, 0) + len(pieces_available_to_test([lot_id])[lot_id])


# ---- tests -----------------------------------------------------------------------------------------------

_Striker = Person.alias()


def _results_by_check(check_ids: Sequence[int]) -> dict[int, list[IncomingResultRecord]]:
    query = (
        IncomingTest.select(IncomingTest, Person, _Striker, Procedure, Piece)
        .join(Person, JOIN.LEFT_OUTER, on=(IncomingTest.person == Person.id)).switch(IncomingTest)
        .join(_Striker, JOIN.LEFT_OUTER, on=(IncomingTest.struck_by == _Striker.id), attr="striker")
        .switch(IncomingTest).join(Procedure, JOIN.LEFT_OUTER).switch(IncomingTest).join(Piece, JOIN.LEFT_OUTER)
        .where(IncomingTest.incoming << list(check_ids)).order_by(IncomingTest.number, IncomingTest.id)
    )  # fmt: skip
    rows = list(query)
    own, proved = _readings_by_result(rows)
    by_check: dict[int, list[IncomingResultRecord]] = defaultdict(list)
    for row in rows:
        by_check[row.incoming_id].append(_result_record(row, proved[row.proof_id] if row.proof_id else own[row.id]))
    return by_check


def _readings_by_result(rows: Sequence[Any]) -> tuple[dict[int, list[ReadingRecord]], dict[int, list[ReadingRecord]]]:
    """Return the readings of tests, and those that pieces keep with their proofs."""
    own: dict[int, list[ReadingRecord]] = defaultdict(list)
    proved: dict[int, list[ReadingRecord]] = defaultdict(list)
    for row in IncomingReading.select().where(IncomingReading.test << [row.id for row in rows]).order_by(
        IncomingReading.position
    ):  # fmt: skip
        own[row.test_id].append(from_row(ReadingRecord, row, says=describe_reading(row)))
    proofs = [row.proof_id for row in rows if row.proof_id is not None]
    for proof_reading in ProofReading.select().where(ProofReading.proof << proofs).order_by(ProofReading.position):
        proved[proof_reading.proof_id].append(
            from_row(ReadingRecord, proof_reading, says=describe_reading(proof_reading))
        )
    return own, proved


def _result_record(row: Any, readings: Sequence[ReadingRecord]) -> IncomingResultRecord:
    return from_row(
        IncomingResultRecord, row, person=row.person.shown_as if row.person_id else "",
        procedure=row.procedure.name if row.procedure_id else "",
        piece_name=row.piece.shown_as if row.piece_id else "", readings=tuple(readings),
        struck_by=row.striker.shown_as if row.struck_by_id else "",
    )  # fmt: skip
