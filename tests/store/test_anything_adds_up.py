"""Whatever people do, in whatever order, the ledger adds up and nothing goes below zero."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue import bins, lots
from inventory.domain.common.errors import DomainError
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.store import verify
from inventory.store.connection import database, execute
from tests.factories import a_bin, a_job, a_part

pytestmark = pytest.mark.usefixtures("bench")

ACTS = (
    "receive",
    "pull",
    "put back",
    "move",
    "scrap",
    "count",
    "single out",
    "undo",
    "hold",
    "release",
    "close",
    "pull piece",
)
MORE_BACK_THAN_TAKEN = """
SELECT job_id, lot_id, piece_id, SUM(quantity) FROM movements WHERE job_id IS NOT NULL
GROUP BY job_id, lot_id, piece_id HAVING SUM(quantity) > 0
"""
one_act = st.tuples(st.sampled_from(ACTS), st.integers(0, 7), st.integers(1, 4), st.integers(0, 1))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(one_act, min_size=1, max_size=30))
@example([("receive", 0, 2, 0), ("pull", 0, 1, 0), ("put back", 0, 1, 0), ("undo", 1, 1, 0)])
def test_the_ledger_adds_up_after_any_sequence_of_acts(acts: list[tuple[str, int, int, int]]) -> None:
    with database.atomic() as everything:
        bench, refusals = _Bench(), []
        for act in acts:
            before = _stock()
            try:
                bench.do(*act)
            except DomainError as refused:
                refusals.append((act, refused.sentence, _stock() == before))
        assert all(sentence.endswith((".", "?")) for _, sentence, _ in refusals), refusals
        assert all(unchanged for _, _, unchanged in refusals), "a refused act changed the stock"
        verification = verify.verify_ledger()
        assert verification.sound, verification.faults
        assert execute("SELECT COUNT(*) FROM balances WHERE quantity < 0").fetchone()[0] == 0
        assert execute(MORE_BACK_THAN_TAKEN).fetchall() == []
        everything.rollback()


def _stock() -> list[Any]:
    return [
        execute(
            "SELECT bin_id, lot_id, quantity FROM balances WHERE quantity > 0 ORDER BY bin_id, lot_id"
        ).fetchall(),
        execute("SELECT id, bin_id FROM pieces ORDER BY id").fetchall(),
        execute("SELECT COUNT(*) FROM movements").fetchone(),
    ]


class _Bench:
    """Two bins of one part, two jobs, and a way to do the n-th thing to the n-th of them."""

    def __init__(self) -> None:
        self.part = a_part()
        self.bins = [a_bin(self.part), a_bin(self.part)]
        self.jobs = [a_job(), a_job()]
        self.entries: list[int] = []
        self.lots: list[int] = []

    def do(self, act: str, which: int, quantity: int, side: int) -> None:
        bin_, job = self.bins[side].id, self.jobs[which % 2].id
        lot = self.lots[which % len(self.lots)] if self.lots else None
        pieces = bins.stocked_pieces(part_id=self.part.id)
        if act == "receive":
            receipt = receive.receive(self.part.id, quantity, bin_)
            self.lots.append(receipt.lot_ids[0])
        elif act == "pull":
            receipt = pull.pull(quantity, bin_id=bin_, job_id=job)
        elif act == "put back":
            receipt = pull.put_back(quantity, job_id=job, part_id=self.part.id, bin_id=bin_)
        elif act == "pull piece" and pieces:
            receipt = pull.pull_piece(pieces[which % len(pieces)].id, job_id=job)
        elif act == "undo" and self.entries:
            receipt = undo.undo(self.entries[which % len(self.entries)])
        elif act == "close":
            jobs.close_job(job) if quantity > 2 else jobs.reopen_job(job)
            return
        elif lot is not None:
            receipt = self._to_lot(act, lot, bin_, quantity, self.bins[1 - side].id)
        else:
            return
        if receipt is not None:
            self.entries.append(receipt.entry)

    def _to_lot(self, act: str, lot: int, bin_: int, quantity: int, other: int) -> Any:
        if act == "move":
            return adjustments.move(other, quantity, bin_id=bin_, lot_id=lot)
        if act == "scrap":
            return adjustments.scrap(quantity, bin_id=bin_, lot_id=lot, reason="burnt")
        if act == "count":
            return adjustments.count(bin_, lot, quantity)
        if act == "single out":
            return adjustments.single_out(bin_, lot)
        if act == "hold":
            lots.hold_lot(lot, "dull contacts")
        if act == "release":
            lots.release_lot(lot)
        return None
