"""Whatever people do across everything that moves stock, each part of the bench tells the same story.

Needs, orders, recalls, use, cost and whereabouts must agree with the second book (``reference_ledger``).
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import bins, lots, parts
from inventory.domain.common.errors import DomainError
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, suggested_substitutes, undo
from inventory.domain.proof.loans import SWAP_RESULTS
from inventory.domain.quality import recall
from inventory.store import verify
from inventory.store.connection import database, execute
from inventory.store.tables import Loan, Lot, Need, Order, OrderLine, Piece
from tests.factories import a_bin, a_job, a_part, a_placed_order
from tests.store.reference_ledger import CHECKS, replay_ledger

pytestmark = pytest.mark.usefixtures("bench")

ACTS = (
    *("receive", "receive pieces", "receive ordered", "pull", "pull", "pull piece", "pull instead", "put back"),
    *("put back", "put back piece", "move", "move piece", "scrap", "scrap piece", "count", "single out"),
    *("take", "bring back", "leave fitted", "cancel", "reopen", "hold", "release", "scrap rest", "close", "open"),
    *("need", "drop need", "retire", "use again", "order", "drop line", "cancel order", "undo", "undo", "undo last"),
)
Act = tuple[str, int, int]
one_act = st.tuples(st.sampled_from(ACTS), st.integers(0, 11), st.integers(1, 4))


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(one_act, min_size=1, max_size=40))
@example(
    [("receive pieces", 0, 1), ("pull piece", 0, 2), ("put back piece", 0, 2), ("pull piece", 1, 2), ("undo", 2, 1)]
)
@example([("receive", 0, 1), ("pull", 0, 2), ("retire", 0, 1), ("undo last", 0, 1)])
@example([("order", 0, 4), ("receive ordered", 0, 1), ("cancel order", 0, 1), ("undo last", 0, 1)])
@example([("receive", 0, 2), ("pull", 0, 2), ("put back", 0, 2), ("pull instead", 0, 1), ("need", 1, 3)])
@example([("receive", 0, 1), ("pull", 0, 2), ("need", 0, 3)])
def test_everything_tells_the_same_story_after_any_sequence_of_acts(acts: list[Act]) -> None:
    with database.atomic() as everything:
        bench = _Bench()
        for act in acts:
            try:
                with database.atomic():
                    bench.do(*act)
            except DomainError as refused:
                assert refused.sentence.endswith((".", "?")), refused.sentence  # noqa: PT017
        book = replay_ledger()
        for agrees in CHECKS:
            agrees(book)
        rows = verify.verify_ledger()
        assert rows.sound, rows.faults
        everything.rollback()


class _Bench:
    """Two parts that stand in for each other, one kept piece by piece, two jobs, a supplier; does the n-th thing."""

    def __init__(self) -> None:
        self.loose = [a_part("header"), a_part("latched header")]
        self.fans = a_part("60 mm fan", "fan", kept="individually")
        self.parts = [*self.loose, self.fans]
        parts.set_substitute(self.loose[1].id, self.loose[0].id)
        self.bins = [a_bin(self.loose[0]), a_bin(self.loose[1]), a_bin(self.fans), a_bin(mixed=True)]
        self.jobs = [a_job(), a_job()]
        self.seller = suppliers.add_supplier("Northwind Parts").id

    def do(self, act: str, which: int, number: int) -> None:
        getattr(self, f"_{act.replace(' ', '_')}")(which, number)

    # ---- the n-th of what there is -------------------------------------------------------------------------

    def _job(self, which: int) -> int:
        return self.jobs[which % 2].id

    def _bin(self, which: int) -> int:
        return self.bins[which % 4].id

    def _lying(self, which: int) -> tuple[int, int]:
        rows = execute("SELECT bin_id, lot_id FROM balances WHERE quantity > 0 ORDER BY lot_id, bin_id").fetchall()
        return rows[which % len(rows)] if rows else (999, 999)

    def _held(self, which: int) -> tuple[int, int]:
        rows = execute("SELECT DISTINCT job_id, lot_id FROM movements WHERE kind = 'pull' ORDER BY 1, 2").fetchall()
        return rows[which % len(rows)] if rows else (999, 999)

    def _nth(self, table: Any, which: int, *where: Any) -> int:
        rows = [row.id for row in table.select(table.id).where(*where or (table.id > 0,)).order_by(table.id)]
        return rows[which % len(rows)] if rows else 999

    # ---- in, out, about ------------------------------------------------------------------------------------

    def _receive(self, which: int, number: int) -> None:
        receive.receive(self.loose[which % 2].id, 2 * number, self._bin(which % 2), cost_minor=99 * number or None)

    def _receive_pieces(self, which: int, number: int) -> None:
        receive.receive(self.fans.id, number, self._bin(2 + which % 2))

    def _receive_ordered(self, which: int, number: int) -> None:
        line = self._nth(OrderLine, which)
        part = next((n for n, ordered in enumerate(self.parts) if line != 999 and ordered.id == _part_of(line)), 0)
        receive.receive(self.parts[part].id, number, self._bin(part), order_line_id=line)

    def _pull(self, which: int, number: int) -> None:
        pull.pull(number, lot_id=self._lying(which)[1], job_id=self._job(which))

    def _pull_piece(self, which: int, number: int) -> None:
        pull.pull_piece(self._nth(Piece, number - 2), job_id=self._job(which))

    def _pull_instead(self, which: int, number: int) -> None:
        suggested_substitutes.pull_substitute(self.loose[1].id, self.loose[0].id, self._job(which), quantity=number)

    def _put_back(self, which: int, number: int) -> None:
        job, lot = self._held(which)
        pull.put_back(number, job_id=job, lot_id=lot)

    def _put_back_piece(self, which: int, number: int) -> None:
        pull.put_back(job_id=self._job(which), piece_id=self._nth(Piece, number - 2))

    def _move(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.move(self._bin(3 if which % 3 else number), number, bin_id=place, lot_id=lot)

    def _move_piece(self, which: int, number: int) -> None:
        adjustments.move(self._bin(which), piece_id=self._nth(Piece, number))

    def _scrap(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.scrap(
            number, reason="bent", bin_id=place, lot_id=lot, job_id=self._job(which) if number > 2 else None
        )

    def _scrap_piece(self, which: int, number: int) -> None:
        adjustments.scrap(reason="burnt", piece_id=self._nth(Piece, which))

    def _count(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.count(place, lot, number)

    def _single_out(self, which: int, number: int) -> None:
        adjustments.single_out(*self._lying(which), spare=number > 2)

    # ---- loans, holds, jobs --------------------------------------------------------------------------------

    def _out(self, which: int) -> int:
        return self._nth(Loan, which, Loan.ended.is_null())

    def _take(self, which: int, number: int) -> None:
        swap_tests.take_piece(self._nth(Piece, number), self._job(which))

    def _bring_back(self, which: int, number: int) -> None:
        swap_tests.bring_back_piece(
            self._out(which), SWAP_RESULTS[number % 3], bin_id=self._bin(3) if number > 2 else None
        )

    def _leave_fitted(self, which: int, _: int) -> None:
        swap_tests.leave_piece_fitted(self._out(which))

    def _cancel(self, which: int, _: int) -> None:
        swap_tests.cancel_loan(self._out(which), reason="slip")

    def _reopen(self, which: int, _: int) -> None:
        swap_tests.reopen_loan(self._nth(Loan, which), reason="slip")

    def _hold(self, which: int, _: int) -> None:
        lots.hold_lot(self._nth(Lot, which), "dull contacts")

    def _release(self, which: int, _: int) -> None:
        lots.release_lot(self._nth(Lot, which))

    def _scrap_rest(self, which: int, _: int) -> None:
        recall.scrap_rest(self._nth(Lot, which), "melted")

    def _close(self, which: int, _: int) -> None:
        jobs.close_job(self._job(which))

    def _open(self, which: int, _: int) -> None:
        jobs.reopen_job(self._job(which))

    def _need(self, which: int, number: int) -> None:
        jobs.set_need(self._job(which), self.parts[number % 3].id, number)

    def _drop_need(self, which: int, _: int) -> None:
        jobs.drop_need(self._nth(Need, which))

    def _retire(self, which: int, _: int) -> None:
        bins.edit_bin(self._bin(which), retired=True)

    def _use_again(self, which: int, _: int) -> None:
        bins.edit_bin(self._bin(which), retired=False)

    # ---- orders, undo --------------------------------------------------------------------------------------

    def _order(self, which: int, number: int) -> None:
        lines = [NewOrderLine(self.parts[(which + n) % 3].id, number, cost_minor=70) for n in range(1 + which % 2)]
        a_placed_order(self.seller, lines)

    def _drop_line(self, which: int, _: int) -> None:
        orders.drop_line(self._nth(OrderLine, which))

    def _cancel_order(self, which: int, _: int) -> None:
        orders.cancel_order(self._nth(Order, which))

    def _undo(self, which: int, _: int) -> None:
        entries = [entry for (entry,) in execute("SELECT DISTINCT entry FROM movements ORDER BY entry").fetchall()]
        undo.undo(entries[which % len(entries)] if entries else 999)

    def _undo_last(self, which: int, _: int) -> None:
        entries = execute(
            "SELECT DISTINCT entry FROM movements WHERE kind <> 'reverse' ORDER BY entry DESC"
        ).fetchall()
        undo.undo(entries[which % 3 % len(entries)][0] if entries else 999)


def _part_of(line: int) -> int:
    return int(OrderLine.get_by_id(line).part_id)
