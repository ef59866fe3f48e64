"""Whatever people do with incoming checks, dates and levels, in whatever order, the ledger adds up.

A refused act changes nothing; a check under way holds its lot; a result that counts still has done what it says.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import incoming_plans, suppliers
from inventory.domain.catalogue import bins, lots
from inventory.domain.common.errors import DomainError
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.quality import incoming_testing, recall, sent_back
from inventory.domain.quality.trace import trace_lot
from inventory.domain.reorder import stock_dates
from inventory.domain.stocktake import level_readings
from inventory.store import verify
from inventory.store.connection import database, execute
from tests.factories import a_bin, a_job, a_part

pytestmark = pytest.mark.usefixtures("bench")

ACTS = (
    *("receive", "receive pieces", "receive paste", "test good", "test bad", "use up", "label", "test piece"),
    *("test good", "test bad", "correct", "take back", "close", "override", "call off", "sort", "begin"),
    *("pull", "put back", "move", "scrap", "count", "hold", "release", "scrap rest", "undo", "undo"),
    *("send back", "send rest back"),
    *("open", "not opened", "close bag", "bake", "read level", "open new"),
)
one_act = st.tuples(st.sampled_from(ACTS), st.integers(0, 7), st.integers(1, 4))
TABLES = (
    "movements", "balances", "holds", "incoming_checks", "incoming_tests", "incoming_readings", "pieces", "proofs",
    "bag_openings", "bakes", "level_readings", "sent_back",
)  # fmt: skip


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(one_act, min_size=1, max_size=30))
def test_the_ledger_adds_up_after_any_sequence_of_checks_dates_and_levels(acts: list[tuple[str, int, int]]) -> None:
    with database.atomic() as everything:
        bench = _Bench()
        for act in acts:
            before = _everything()
            try:
                with database.atomic() if act[0] == "correct" else nullcontext():
                    bench.do(*act)
            except DomainError as refused:
                assert refused.sentence.endswith((".", "?")), refused.sentence  # noqa: PT017
                assert _everything() == before, f"{act} was refused but changed something"
            _checks_hold()
            _sent_back_left_the_shelf()
        verification = verify.verify_ledger()
        assert verification.sound, verification.faults
        assert execute("SELECT COUNT(*) FROM balances WHERE quantity < 0").fetchone()[0] == 0
        everything.rollback()


def _everything() -> list[Any]:
    """Return all that an act may change. Corrections take back before they note: those are undone by their block."""
    return [sorted(map(repr, execute(f"SELECT * FROM {table}").fetchall())) for table in TABLES]


def _checks_hold() -> None:
    """Hold every check to what it promises."""
    for check in incoming_testing.checks(limit=200).items:
        live = [test for test in check.results if test.struck is None]
        assert len({test.number for test in live}) == len(live) == check.tested
        pieces = [test.piece_id for test in live if test.piece_id is not None]
        assert len(set(pieces)) == len(pieces)
        if check.closed is None:
            hold_id = execute("SELECT hold_id FROM incoming_checks WHERE id = ?", check.id).fetchone()[0]
            assert hold_id is None or check.lot.on_hold
            undone = execute("SELECT entry FROM movements WHERE id IN (SELECT reverses_id FROM movements)").fetchall()
            assert not {test.entry for test in live} & {entry for (entry,) in undone}
        struck = "SELECT COUNT(*) FROM proofs WHERE struck IS NOT NULL AND id = ?"
        assert not any(execute(struck, test.proof_id).fetchone()[0] for test in live if test.proof_id)


def _sent_back_left_the_shelf() -> None:
    """Hold what was sent back to the lines of the ledger by which it left, and to what its lot says of it."""
    known = sent_back.list_sent_back(limit=200).items
    for row in known:
        lines = execute(
            "SELECT SUM(quantity) FROM movements WHERE entry = ? AND kind = 'scrap'", row.entry
        ).fetchone()[0]
        assert lines == -row.quantity
    for lot in {row.lot.id for row in known}:
        standing = sum(row.quantity for row in known if row.lot.id == lot and not row.undone)
        went = trace_lot(lot)
        assert went.sent_back == standing
        assert went.scrapped >= 0


class _Bench:
    """Headers in two bins, boards kept one by one, paste kept by level; each delivery is checked but the paste."""

    def __init__(self) -> None:
        self.headers, self.boards = a_part(), a_part("driver board", "module", kept="individually")
        self.paste = a_part("paste", "consumable", kept="by level", unit="g")
        stock_dates.set_part_storage(self.paste.id, days_opened=30, moisture_level="3")
        incoming_plans.set_plan(part_id=self.headers.id, test=2, accept=1)
        incoming_plans.set_plan(part_id=self.boards.id, sure=0.8, most_bad=0.4, hold=False)
        self.bins = [a_bin(self.headers), a_bin(self.headers)]
        self.board_bin, self.paste_bin = a_bin(self.boards), a_bin(self.paste)
        self.job, self.seller = a_job(), suppliers.add_supplier("Quayside Spares")
        self.entries: list[int] = []
        self.lots: list[int] = []
        self.do("receive", 0, 2)

    def do(self, act: str, which: int, number: int) -> None:
        act_on: Callable[[int, int], Any] = getattr(self, f"_{act.replace(' ', '_')}")
        result = act_on(which, number)
        if getattr(result, "entry", None) is not None:
            self.entries.append(result.entry)

    def _lot(self, which: int) -> int:
        return self.lots[which % len(self.lots)]

    def _check(self, which: int) -> int:
        known = incoming_testing.checks(limit=200).items
        return int(known[which % len(known)].id) if known else 1

    def _result(self, which: int) -> tuple[int, int]:
        check = incoming_testing.check(self._check(which))
        return check.id, check.results[which % len(check.results)].id if check.results else 99

    # ---- what comes in -------------------------------------------------------------------------------------

    def _receive(self, which: int, number: int) -> Any:
        return self._received(receive.receive(self.headers.id, 2 * number, self.bins[which % 2].id))

    def _receive_pieces(self, _: int, number: int) -> Any:
        return self._received(receive.receive(self.boards.id, number, self.board_bin.id))

    def _receive_paste(self, _: int, number: int) -> Any:
        return self._received(receive.receive(self.paste.id, 10 * number, self.paste_bin.id))

    def _received(self, result: Any) -> Any:
        self.lots.append(result.lot_ids[0])
        return result

    # ---- checks --------------------------------------------------------------------------------------------

    def _test(self, which: int, **outcome: Any) -> None:
        result = incoming_testing.record_result(self._check(which), **outcome)
        newest = max(result.results, key=lambda piece: piece.id)
        if newest.entry is not None:
            self.entries.append(newest.entry)

    def _test_good(self, which: int, _: int) -> None:
        self._test(which, good=True)

    def _test_bad(self, which: int, _: int) -> None:
        self._test(which, good=False)

    def _use_up(self, which: int, _: int) -> None:
        self._test(which, good=True, fate="scrapped")

    def _label(self, which: int, number: int) -> None:
        self._test(which, good=number > 1, fate="labelled")

    def _test_piece(self, which: int, number: int) -> None:
        there = bins.stocked_pieces(part_id=self.boards.id) + bins.stocked_pieces(part_id=self.headers.id)
        if there:
            fate = "back" if which % 2 else ""
            self._test(which, good=number > 1, piece_id=there[which % len(there)].id, fate=fate)

    def _correct(self, which: int, number: int) -> None:
        check, result = self._result(which)
        self._test(which, good=number > 1, corrects=result)
        assert incoming_testing.check(check).results

    def _take_back(self, which: int, _: int) -> None:
        incoming_testing.take_back_result(*self._result(which), reason="slip")

    def _close(self, which: int, number: int) -> None:
        incoming_testing.close_as_tested(self._check(which), "accepted" if number > 2 else "rejected")

    def _override(self, which: int, number: int) -> None:
        incoming_testing.override_verdict(
            self._check(which), "accepted" if number > 2 else "rejected", reason="I know them"
        )

    def _call_off(self, which: int, _: int) -> None:
        incoming_testing.call_off_check(self._check(which), reason="not needed")

    def _sort(self, which: int, _: int) -> None:
        incoming_testing.sort_rejected_lot(self._check(which))

    def _begin(self, which: int, number: int) -> None:
        incoming_testing.begin_check(self._lot(which), test=number, hold=number > 2)

    # ---- all the rest --------------------------------------------------------------------------------------

    def _pull(self, which: int, number: int) -> Any:
        return pull.pull(number, bin_id=self.bins[which % 2].id, job_id=self.job.id)

    def _put_back(self, _: int, number: int) -> Any:
        return pull.put_back(number, job_id=self.job.id, part_id=self.headers.id)

    def _move(self, which: int, number: int) -> Any:
        source, to = self.bins[which % 2].id, self.bins[1 - which % 2].id
        return adjustments.move(to, number, bin_id=source, lot_id=self._lot(which))

    def _scrap(self, which: int, number: int) -> Any:
        return adjustments.scrap(number, bin_id=self.bins[which % 2].id, lot_id=self._lot(which), reason="bent")

    def _count(self, which: int, number: int) -> Any:
        return adjustments.count(self.bins[which % 2].id, self._lot(which), number)

    def _hold(self, which: int, _: int) -> None:
        lots.hold_lot(self._lot(which), "dull contacts")

    def _release(self, which: int, _: int) -> None:
        lots.release_lot(self._lot(which), "fine")

    def _scrap_rest(self, which: int, _: int) -> Any:
        return recall.scrap_rest(self._lot(which), "melted")

    def _send_back(self, which: int, number: int) -> Any:
        place = {"bin_id": self.bins[which % 2].id, "lot_id": self._lot(which)}
        return sent_back.send_back(number, cause="not needed", supplier_id=self.seller.id, **place)[1]

    def _send_rest_back(self, which: int, _: int) -> Any:
        cause = "lot rejected"
        return sent_back.send_rest_back(self._lot(which), cause=cause, supplier_id=self.seller.id)[1]

    def _undo(self, which: int, _: int) -> Any:
        return undo.undo(self.entries[-1 - which % len(self.entries)])

    def _open(self, which: int, _: int) -> None:
        stock_dates.open_lot(self._lot(which))

    def _not_opened(self, which: int, _: int) -> None:
        stock_dates.undo_open_lot(self._lot(which))

    def _close_bag(self, which: int, _: int) -> None:
        stock_dates.close_bag(self._lot(which))

    def _bake(self, which: int, _: int) -> None:
        stock_dates.record_bake(self._lot(which))

    def _read_level(self, which: int, number: int) -> None:
        level_readings.record_reading(self._lot(which), self.paste_bin.id, f"{3 * number} g")

    def _open_new(self, _: int, __: int) -> None:
        level_readings.open_next_container(self.paste.id)
