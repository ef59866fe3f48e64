"""Reads incoming checks with their tests and what they say, many at a time by a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from peewee import JOIN, fn

from inventory.domain.buying.incoming_records import IncomingRecord, ResultRecord
from inventory.domain.common.kind_figures import figures_of, table
from inventory.domain.common.records import LotRecord, PartRecord, read
from inventory.domain.proof.proof_records import ReadingRecord
from inventory.domain.proof.readings import says_again
from inventory.domain.quality.incoming_text import asks, rest_record, says, told
from inventory.reckoning.quality.acceptance import Sample, verdict
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
    Reading,
    Supplier,
)


def record_of(found: Any) -> IncomingRecord:
    """Return the record of one check (row)."""
    return records([found])[0]


def records(rows: Sequence[Any]) -> list[IncomingRecord]:
    """Return the records of checks (rows), in their order."""
    lots = _by_id(Lot.select(Lot, Part, Supplier).join(Part).switch(Lot).join(Supplier, JOIN.LEFT_OUTER), Lot, rows)
    tests = _tests([one.id for one in rows])
    here, kinds, names = _untested(rows, tests), table(), _names(rows)
    return [
        _record(
            one, lots[one.lot_id], tests[one.id], here.get(one.id, 0), figures_of(lots[one.lot_id].part, kinds), names
        )
        for one in rows
    ]


def _by_id(query: Any, model: Any, rows: Sequence[Any]) -> dict[int, Any]:
    return {one.id: one for one in query.where(model.id << [row.lot_id for row in rows])}


def _names(rows: Sequence[Any]) -> dict[int | None, str]:
    ids = {key for one in rows for key in (one.opened_by_id, one.closed_by_id) if key is not None}
    return {one.id: one.shown_as for one in Person.select().where(Person.id << ids)}


def _record(
    one: Any, lot: Any, tests: Sequence[ResultRecord], here: int, figures: Any, names: dict[int | None, str]
) -> IncomingRecord:
    live = [test for test in tests if test.struck is None]
    tested, bad = len(live), sum(not test.good for test in live)
    asked = Sample(one.tests if one.closed else min(one.tests, tested + here), one.accept)
    found = told(one, tested, bad, figures)
    return read(
        IncomingRecord, one, lot=read(LotRecord, lot), part=read(PartRecord, lot.part),
        supplier=lot.supplier.name if lot.supplier_id else "", tests=asked.tests,
        opened_by=names.get(one.opened_by_id, ""), closed_by=names.get(one.closed_by_id, ""),
        holds=one.closed is None and one.hold_id is not None and lot.on_hold, tested=tested, bad=bad, left=here,
        verdict=verdict(asked, tested, bad, every=one.every), asks=asks(one, asked.tests),
        says=says(found, tested, bad), rest=rest_record(found), results=tuple(tests),
    )  # fmt: skip


# ---- how many are here and not tested --------------------------------------------------------------------


def _untested(rows: Sequence[Any], tests: dict[int, list[ResultRecord]]) -> dict[int, int]:
    """Return by check how many of its lot are in bins, not lent and not tested for it."""
    lots = [one.lot_id for one in rows]
    loose, pieces = dict(_sums(lots)), present_pieces(lots)
    found = {}
    for one in rows:
        live = [test for test in tests[one.id] if test.struck is None]
        back = sum(test.piece_id is None and test.fate == "back" for test in live)
        done = {test.piece_id for test in live}
        fresh = sum(piece.id not in done for piece in pieces[one.lot_id])
        found[one.id] = max(0, loose.get(one.lot_id, 0) - back) + fresh
    return found


def _sums(lots: Iterable[int]) -> list[tuple[int, int]]:
    query: Any = Balance.select(Balance.lot, fn.SUM(Balance.quantity)).where(Balance.lot << list(lots))
    return [(int(lot), int(number)) for lot, number in query.group_by(Balance.lot).tuples()]


def present_pieces(lots: Iterable[int]) -> dict[int, list[Any]]:
    """Return by lot its pieces (rows) that are in a bin, not lent, and did not fail at a check yet."""
    lent = Loan.select(Loan.piece).where(Loan.ended.is_null())
    failed = IncomingTest.select(IncomingTest.piece).where(
        IncomingTest.piece.is_null(False), ~IncomingTest.good, IncomingTest.struck.is_null()
    )
    by_lot: dict[int, list[Any]] = defaultdict(list)
    query = Piece.select().where(Piece.lot << list(lots), Piece.bin.is_null(False), Piece.id.not_in(lent))
    for one in query.where(Piece.id.not_in(failed)).order_by(Piece.id):
        by_lot[one.lot_id].append(one)
    return by_lot


def to_draw_from(lot_id: int) -> int:
    """Return how many of a lot are here to be tested."""
    return dict(_sums([lot_id])).get(lot_id, 0) + len(present_pieces([lot_id])[lot_id])


# ---- tests -----------------------------------------------------------------------------------------------

_Striker = Person.alias()


def _tests(check_ids: Sequence[int]) -> dict[int, list[ResultRecord]]:
    query = (
        IncomingTest.select(IncomingTest, Person, _Striker, Procedure, Piece)
        .join(Person, JOIN.LEFT_OUTER, on=(IncomingTest.person == Person.id)).switch(IncomingTest)
        .join(_Striker, JOIN.LEFT_OUTER, on=(IncomingTest.struck_by == _Striker.id), attr="striker")
        .switch(IncomingTest).join(Procedure, JOIN.LEFT_OUTER).switch(IncomingTest).join(Piece, JOIN.LEFT_OUTER)
        .where(IncomingTest.incoming << list(check_ids)).order_by(IncomingTest.number, IncomingTest.id)
    )  # fmt: skip
    rows = list(query)
    own, proved = _readings(rows)
    by_check: dict[int, list[ResultRecord]] = defaultdict(list)
    for one in rows:
        by_check[one.incoming_id].append(_test(one, proved[one.proof_id] if one.proof_id else own[one.id]))
    return by_check


def _readings(rows: Sequence[Any]) -> tuple[dict[int, list[ReadingRecord]], dict[int, list[ReadingRecord]]]:
    """Return the readings of tests, and those that pieces keep with their proofs."""
    own: dict[int, list[ReadingRecord]] = defaultdict(list)
    proved: dict[int, list[ReadingRecord]] = defaultdict(list)
    for row in IncomingReading.select().where(IncomingReading.test << [one.id for one in rows]).order_by(
        IncomingReading.position
    ):  # fmt: skip
        own[row.test_id].append(read(ReadingRecord, row, says=says_again(row)))
    proofs = [one.proof_id for one in rows if one.proof_id is not None]
    for one in Reading.select().where(Reading.proof << proofs).order_by(Reading.position):
        proved[one.proof_id].append(read(ReadingRecord, one, says=says_again(one)))
    return own, proved


def _test(one: Any, readings: Sequence[ReadingRecord]) -> ResultRecord:
    return read(
        ResultRecord, one, person=one.person.shown_as if one.person_id else "",
        procedure=one.procedure.name if one.procedure_id else "",
        piece_name=(one.piece.name or one.piece.code) if one.piece_id else "", readings=tuple(readings),
        struck_by=one.striker.shown_as if one.struck_by_id else "",
    )  # fmt: skip
