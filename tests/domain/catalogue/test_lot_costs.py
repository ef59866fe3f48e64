"""What a lot cost follows its pieces into jobs, and adds up."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lot_costs, lots
from inventory.domain.common.errors import DomainError
from inventory.domain.common.records import ActionResult
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.movements.overview import job_overview
from inventory.domain.stocktake.level_usage import full_job_trace
from inventory.reckoning.stock.lot_cost import SHELF
from inventory.store.connection import database
from tests.factories import a_bin, a_job, a_part, a_placed_order, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def test_three_pieces_for_100_cost_three_jobs_exactly_100() -> None:
    _, bin_, _ = a_stocked_part(3, cost_minor=100)
    costs = []
    for _ in range(3):
        job = a_job()
        pull.pull(1, bin_id=bin_.id, job_id=job.id)
        costs.append(job_overview(job.id).cost_minor)
    assert costs == [33, 34, 33]


def test_a_piece_that_stays_fitted_bears_its_share_of_the_lot() -> None:
    part = a_part("24 V fan", "fan", kept="individually")
    bin_, job = a_bin(part), a_job()
    receipt = receive.receive(part.id, 2, bin_.id, cost_minor=3701)
    for piece in receipt.piece_ids:
        pull.pull_piece(piece, job_id=job.id)
    overview = job_overview(job.id)
    assert sorted(cost or 0 for cost in overview.piece_costs) == [1850, 1851]
    assert overview.cost_minor == full_job_trace(job.id).cost_minor == 3701


def test_correcting_what_a_lot_cost_corrects_the_job() -> None:
    _, bin_, receipt = a_stocked_part(4, cost_minor=100)
    job = a_job()
    pull.pull(1, bin_id=bin_.id, job_id=job.id)
    lots.edit_lot(receipt.lot_ids[0], cost_minor=200)
    assert job_overview(job.id).cost_minor == 50


def test_parcels_of_one_order_line_add_up_to_what_the_line_cost() -> None:
    part = a_part()
    bin_, seller = a_bin(part), suppliers.add_supplier("Quayside Spares")
    order = a_placed_order(seller.id, [NewOrderLine(part.id, 3, cost_minor=100)])
    receipts = [receive.receive(part.id, 1, bin_.id, order_line_id=order.lines[0].id) for _ in range(3)]
    assert sum(lots.lot(receipt.lot_ids[0]).cost_minor or 0 for receipt in receipts) == 100


def test_a_lot_without_a_cost_bears_none_that_is_known() -> None:
    _, bin_, receipt = a_stocked_part(4)
    job = a_job()
    pull.pull(1, bin_id=bin_.id, job_id=job.id)
    assert lot_costs.costs_in_job(job.id, receipt.lot_ids) == {}
    assert job_overview(job.id).used[0].cost_minor is None


STEP = st.tuples(
    st.sampled_from(["pull", "bench", "put back", "scrap", "count", "move", "single out", "undo"]), st.integers(0, 5)
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(1, 9), st.integers(0, 5000), st.lists(STEP, max_size=14))
def test_it_adds_up_after_any_sequence_of_actions(quantity: int, cost: int, steps: list[tuple[str, int]]) -> None:
    with database.atomic() as everything:
        bench = _Bench(quantity, cost)
        for what, number in steps:
            bench.do(what, number)
        money = lot_costs.cost_ledgers([bench.lot])[bench.lot]
        holders = list(money.holders())
        assert sum(each for _, _, each in holders) == cost
        assert money.units(SHELF) == bench.on_shelf()
        for job in bench.jobs:
            overview = job_overview(job)
            assert money.units(job) == sum(u.quantity for u in overview.used) + len(overview.pieces)
            assert money.money(job) == overview.cost_minor == full_job_trace(job).cost_minor
        everything.rollback()


class _Bench:
    """One lot in two bins, three jobs, and things that happen to them; what is refused does not happen."""

    def __init__(self, quantity: int, cost: int) -> None:
        self.part, self.home, receipt = a_stocked_part(quantity, cost_minor=cost)
        self.other, self.lot = a_bin(self.part), receipt.lot_ids[0]
        self.jobs = [a_job().id for _ in range(3)]
        self.entries = [receipt.entry]

    def on_shelf(self) -> int:
        cursor: Any = database.execute_sql(
            f"SELECT (SELECT COALESCE(SUM(quantity), 0) FROM balances WHERE lot_id = {self.lot})"
            f" + (SELECT COUNT(*) FROM pieces WHERE lot_id = {self.lot} AND bin_id IS NOT NULL)"
        ).fetchone()
        return int(cursor[0])

    def do(self, what: str, number: int) -> None:
        job, bin_ = self.jobs[number % 3], (self.home, self.other)[number % 2].id
        acts: dict[str, Callable[[], ActionResult]] = {
            "pull": lambda: pull.pull(1 + number % 3, bin_id=bin_, job_id=job),
            "bench": lambda: pull.pull(1, bin_id=bin_, reason="trying"),
            "put back": lambda: pull.put_back(1 + number % 2, job_id=job, lot_id=self.lot),
            "scrap": lambda: adjustments.scrap(1, bin_id=bin_, lot_id=self.lot, reason="bent", job_id=job),
            "count": lambda: adjustments.count(bin_, self.lot, number),
            "move": lambda: adjustments.move(self.other.id, 1, bin_id=self.home.id, lot_id=self.lot),
            "single out": lambda: adjustments.single_out(bin_, self.lot),
            "undo": lambda: undo.undo(self.entries[-1 - number % len(self.entries)]),
        }
        with suppress(DomainError), database.atomic():
            self.entries.append(acts[what]().entry)
