"""What the stock is worth on any past day, held against the ledger told by hand."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.common import clock
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.money.stock_value import stock_value_by_month, stock_value_on
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.store.connection import database, execute
from inventory.store.fields import to_micros
from tests.factories import a_bin, a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def on_day(number: int) -> datetime:
    return NOON + timedelta(days=number)


def test_it_says_what_the_stock_was_worth_on_a_past_day() -> None:
    with clock.freeze_at(on_day(0)):
        _, bin_, _ = a_stocked_part(10, cost_minor=1000)
    with clock.freeze_at(on_day(5)):
        pull.pull(4, bin_id=bin_.id, job_id=a_job().id)
    with clock.freeze_at(on_day(9)):
        adjustments.scrap(1, bin_id=bin_.id, lot_id=1, reason="bent")
        days = [-1, 0, 4, 5, 8, 9]
        assert [stock_value_on(on_day(day).date()).value_minor for day in days] == [0, 1000, 1000, 600, 600, 500]


def test_a_lot_without_a_cost_is_counted_and_not_guessed() -> None:
    part, bin_, _ = a_stocked_part(10, cost_minor=1000)
    receive.receive(part.id, 3, bin_.id, origin="found")
    value = stock_value_on()
    assert (value.value_minor, value.lots, value.lots_without_cost) == (1000, 2, 1)
    assert [(part.quantity, part.quantity_without_cost) for part in value.by_part] == [(13, 3)]


def test_parts_kinds_and_bins_each_add_up_to_the_whole() -> None:
    _, bin_, receipt = a_stocked_part(3, cost_minor=100)
    mixed = a_bin(mixed=True)
    adjustments.move(mixed.id, 1, bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    fan = a_part("24 V fan", "fan", kept="individually")
    receive.receive(fan.id, 2, mixed.id, cost_minor=3701)
    value = stock_value_on()
    for shares in (value.by_part, value.by_kind, value.by_bin):
        assert sum(share.value_minor for share in shares) == value.value_minor == 3801
    assert {bin_.word: bin_.value_minor for bin_ in value.by_bin} == {
        "bins for several parts": 3734, "bins of one part": 67,
    }  # fmt: skip


def test_a_day_ends_where_the_bench_is() -> None:
    with clock.freeze_at(datetime(2026, 3, 2, 23, 30, tzinfo=UTC)):
        a_stocked_part(1, cost_minor=100)
    with clock.freeze_at(on_day(30)):
        assert stock_value_on(date(2026, 3, 2), "UTC").value_minor == 100
        assert stock_value_on(date(2026, 3, 2), "Europe/Helsinki").value_minor == 0
        assert stock_value_on(date(2026, 3, 2), "America/New_York").value_minor == 100


@pytest.mark.parametrize("day", [date(1926, 3, 2), date(2126, 3, 2)])
def test_a_year_that_cannot_be_right_is_refused(day: date) -> None:
    with pytest.raises(Invalid, match="check the year"):
        stock_value_on(day)


def test_a_day_to_come_is_refused() -> None:
    with clock.freeze_at(NOON), pytest.raises(Invalid, match="still to come"):
        stock_value_on(date(2026, 3, 3))


def test_months_end_with_now_and_agree_with_the_days() -> None:
    with clock.freeze_at(on_day(0)):
        _, bin_, _ = a_stocked_part(10, cost_minor=1000)
    with clock.freeze_at(on_day(40)):
        pull.pull(4, bin_id=bin_.id, job_id=a_job().id)
    with clock.freeze_at(on_day(70)):
        months = stock_value_by_month()
        assert [month.day for month in months] == [date(2026, 3, 31), date(2026, 4, 30), date(2026, 5, 11)]
        assert [month.value_minor for month in months] == [stock_value_on(month.day).value_minor for month in months]


def test_an_empty_bench_is_worth_nothing() -> None:
    assert (stock_value_on().value_minor, stock_value_on().by_part, stock_value_by_month()) == (0, (), [])


STEP = st.tuples(
    st.sampled_from(["receive", "pull", "put back", "scrap", "count", "move", "undo"]), st.integers(0, 6),
    st.integers(0, 3),
)  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(STEP, min_size=1, max_size=15))
def test_every_past_day_is_what_the_ledger_told_by_hand_says(steps: list[tuple[str, int, int]]) -> None:
    with database.atomic() as everything:
        bench, day = _Bench(), 0
        for what, number, days in steps:
            day += days
            with clock.freeze_at(on_day(day)):
                bench.do(what, number)
        with clock.freeze_at(on_day(day + 1)):
            for past in range(day + 2):
                value = stock_value_on(on_day(past).date())
                quantity, worth = _told_by_hand(on_day(past) + timedelta(hours=12))
                assert sum(part.quantity for part in value.by_part) == quantity
                assert abs(value.value_minor - worth) <= len(bench.lots) * 2
                assert sum(part.value_minor for part in value.by_bin) == value.value_minor
        everything.rollback()


def _told_by_hand(until: datetime) -> tuple[int, Fraction]:
    """Add up what the lines left of each lot, each unit at an even share of the lot's cost."""
    left: dict[int, int] = defaultdict(int)
    for lot, quantity in execute(
        "SELECT lot_id, quantity FROM movements WHERE at < ?", to_micros(until)
    ).fetchall():  # fmt: skip
        left[lot] += quantity
    known = {key: (n, cost) for key, n, cost in execute("SELECT id, quantity, cost_minor FROM lots").fetchall()}
    worth = sum((Fraction(known[lot][1] * n, known[lot][0]) for lot, n in left.items()), Fraction(0))
    return sum(left.values()), worth


class _Bench:
    """One part in two bins, some lots of it, two jobs; counts find things missing, never more."""

    def __init__(self) -> None:
        self.part = a_part()
        self.bins = [a_bin(self.part).id, a_bin(self.part).id]
        self.jobs = [a_job().id, a_job().id]
        self.lots: list[int] = []
        self.entries: list[int] = []

    def do(self, what: str, number: int) -> None:
        if what == "receive" or not self.lots:
            receipt = receive.receive(self.part.id, number + 1, self.bins[number % 2], cost_minor=97 * number + 100)
            self.lots.append(receipt.lot_ids[0])
            self.entries.append(receipt.entry)
            return
        try:
            with database.atomic():
                self.entries.append(self._act(what, number).entry)
        except DomainError:
            return

    def _act(self, what: str, number: int) -> Any:
        lot, bin_, job = self.lots[number % len(self.lots)], self.bins[number % 2], self.jobs[number % 2]
        if what == "pull":
            return pull.pull(1 + number % 3, bin_id=bin_, job_id=job)
        if what == "put back":
            return pull.put_back(1, job_id=job, part_id=self.part.id)
        if what == "scrap":
            return adjustments.scrap(1, bin_id=bin_, lot_id=lot, reason="bent")
        if what == "move":
            return adjustments.move(self.bins[1 - number % 2], 1, bin_id=bin_, lot_id=lot)
        if what == "undo":
            return undo.undo(self.entries[-1 - number % len(self.entries)])
        booked = execute("SELECT quantity FROM balances WHERE lot_id = ? AND bin_id = ?", lot, bin_).fetchone()
        return adjustments.count(bin_, lot, max(0, (booked[0] if booked else 0) - 1))
