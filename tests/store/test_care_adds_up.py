"""Whatever people do with recalls and counts, in whatever order, the ledger adds up and counts are believed once.

A second book is kept beside the ledger: what truly lies in the bin. Counts look at that; so whatever is booked, the
ledger and the truth may differ only by slips that nobody has counted yet.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue import lots
from inventory.domain.common.errors import DomainError
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.quality import recall
from inventory.domain.stocktake import count_entry, count_walks
from inventory.domain.stocktake.count_review import book_bins, end_walk, request_recount
from inventory.store import verify
from inventory.store.connection import database, execute
from tests.factories import a_bin, a_job, a_part

pytestmark = pytest.mark.usefixtures("bench")

ACTS = (
    *("receive", "pull", "put back", "slip", "begin", "count", "count", "book", "again", "end", "leave out"),
    *("hold", "release", "scrap rest", "tick", "count alone", "undo"),
)
one_act = st.tuples(st.sampled_from(ACTS), st.integers(0, 5), st.integers(1, 3))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(one_act, min_size=1, max_size=30))
def test_the_ledger_adds_up_after_any_sequence_of_recalls_and_counts(acts: list[tuple[str, int, int]]) -> None:
    with database.atomic() as everything:
        bench = _Bench()
        for act in acts:
            before = _stock()
            try:
                bench.do(*act)
            except DomainError as refused:
                assert refused.sentence.endswith((".", "?")), refused.sentence  # noqa: PT017
                assert _stock() == before, f"{act} was refused but changed something"
        verification = verify.verify_ledger()
        assert verification.sound, verification.faults
        assert execute("SELECT COUNT(*) FROM balances WHERE quantity < 0").fetchone()[0] == 0
        bench.settle()
        everything.rollback()


def _stock() -> list[Any]:
    return [
        execute("SELECT bin_id, lot_id, quantity FROM balances ORDER BY bin_id, lot_id").fetchall(),
        execute("SELECT COUNT(*) FROM movements").fetchone(),
        execute("SELECT COUNT(*) FROM tallies").fetchone(),
        execute("SELECT id, state FROM walk_bins ORDER BY id").fetchall(),
        execute("SELECT id, ended FROM holds ORDER BY id").fetchall(),
    ]


class _Bench:
    """One bin, what the ledger says is in it, and what truly is."""

    def __init__(self) -> None:
        self.part = a_part()
        self.bin = a_bin(self.part)
        self.jobs = [a_job(), a_job()]
        self.entries: list[int] = []
        self.truth: dict[int, int] = {}
        self.walk: int | None = None
        self.do("receive", 0, 3)

    def do(self, act: str, which: int, number: int) -> None:
        getattr(self, f"_{act.replace(' ', '_')}")(which, number)

    def try_all(self, acts: list[tuple[str, int]]) -> None:
        """Do what the book allows of some acts on the first lot."""
        for act, number in acts:
            with suppress(DomainError):
                self.do(act, 0, number)

    def _lot(self, which: int) -> int:
        return list(self.truth)[which % len(self.truth)]

    def _receive(self, _: int, number: int) -> None:
        receipt = receive.receive(self.part.id, 4 * number, self.bin.id)
        self.truth[receipt.lot_ids[0]] = 4 * number
        self.entries.append(receipt.entry)

    def _follow(self, entry: int) -> None:
        """Let the truth follow what the ledger says was moved."""
        self.entries.append(entry)
        for lot, change in execute("SELECT lot_id, quantity FROM movements WHERE entry = ?", entry).fetchall():
            self.truth[lot] = max(0, self.truth[lot] + change)

    def _pull(self, which: int, number: int) -> None:
        lot = self._lot(which)
        if self.truth[lot] >= number:  # nobody takes what is not there
            self._follow(pull.pull(number, lot_id=lot, bin_id=self.bin.id, job_id=self.jobs[which % 2].id).entry)

    def _put_back(self, which: int, number: int) -> None:
        self._follow(pull.put_back(number, job_id=self.jobs[which % 2].id, lot_id=self._lot(which)).entry)

    def _slip(self, which: int, _: int) -> None:
        """Somebody takes one and tells nobody."""
        self.truth[self._lot(which)] = max(0, self.truth[self._lot(which)] - 1)

    def _begin(self, _: int, __: int) -> None:
        if self.walk is None:
            self.walk = count_walks.start_walk([self.bin.id]).id

    def _count(self, which: int, _: int) -> None:
        if self.walk is None:
            return
        to_count = count_walks.bin_to_count(self.walk, self.bin.id)
        there = {lot.lot.id: self.truth[lot.lot.id] for lot in to_count.lots}
        if which == 5 and there:  # a miscount
            there[next(iter(there))] += 1
        count_entry.enter_count(self.walk, self.bin.id, there, line=to_count.line)

    def _book(self, _: int, __: int) -> None:
        if self.walk is not None:
            book_bins(self.walk, [self.bin.id])

    def _again(self, _: int, __: int) -> None:
        if self.walk is not None:
            request_recount(self.walk, self.bin.id)

    def _leave_out(self, _: int, __: int) -> None:
        if self.walk is not None:
            count_walks.leave_out_bin(self.walk, self.bin.id)

    def _end(self, _: int, __: int) -> None:
        if self.walk is not None:
            end_walk(self.walk)
            self.walk = None

    def _hold(self, which: int, _: int) -> None:
        lots.hold_lot(self._lot(which), "dull contacts")

    def _release(self, which: int, _: int) -> None:
        lots.release_lot(self._lot(which), "fine")

    def _scrap_rest(self, which: int, _: int) -> None:
        result = recall.scrap_rest(self._lot(which), "scrapped")
        if result is not None:
            self.entries.append(result.entry)
        self.truth[self._lot(which)] = 0

    def _tick(self, which: int, _: int) -> None:
        recall.tick_job(self._lot(which), self.jobs[which % 2].id)

    def _count_alone(self, which: int, _: int) -> None:
        lot = self._lot(which)
        self.entries.append(adjustments.count(self.bin.id, lot, self.truth[lot]).entry)

    def _undo(self, which: int, _: int) -> None:
        if self.entries:
            entry = self.entries[which % len(self.entries)]
            kinds = execute("SELECT DISTINCT kind FROM movements WHERE entry = ?", entry).fetchall()
            result = undo.undo(entry)
            if kinds != [("count",)]:  # undoing a count moves nothing
                self._follow(result.entry)

    def settle(self) -> None:
        """Count every lot honestly at last: then the ledger says what is there."""
        for lot, there in self.truth.items():
            adjustments.count(self.bin.id, lot, there)
        for lot, booked in execute("SELECT lot_id, quantity FROM balances").fetchall():
            assert booked == self.truth[lot]


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.integers(4, 12), st.integers(-2, 2),
    st.lists(st.tuples(st.sampled_from(("pull", "receive")), st.integers(1, 2)), max_size=6), st.integers(0, 6),
)  # fmt: skip
def test_a_difference_is_booked_rightly_whatever_was_pulled_between_counting_and_booking(
    stock: int, off: int, acts: list[tuple[str, int]], when: int
) -> None:
    with database.atomic() as everything:
        bench = _Bench()
        lot = next(iter(bench.truth))
        adjustments.count(bench.bin.id, lot, stock)
        bench.truth[lot] = stock + off  # what truly is there
        bench._begin(0, 0)
        bench.try_all(acts[:when])
        # a lot that the book thinks is gone is not on the walk: what is left of it comes back as a find
        assume(execute("SELECT quantity FROM balances WHERE lot_id = ?", lot).fetchone()[0] > 0)
        while count_walks.walk_bins(bench.walk or 0)[0].state in count_walks.UNCOUNTED_STATES:
            bench._count(0, 0)
        bench.try_all(acts[when:])
        try:
            if count_walks.walk_bins(bench.walk or 0)[0].state == "counted":
                book_bins(bench.walk or 0, [bench.bin.id])
        except DomainError as refused:
            assert refused.reason == "stale_count"  # noqa: PT017
        else:
            booked = execute("SELECT quantity FROM balances WHERE lot_id = ?", lot).fetchone()[0]
            assert booked == bench.truth[lot]
        everything.rollback()
