"""The use of parts over time: what jobs took and kept, read from the ledger."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue import stock_totals
from inventory.domain.catalogue.parts import edit_part
from inventory.domain.common.errors import Conflict
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.reorder import usage, usage_totals
from inventory.reckoning.reorder.demand import DEFAULT_CONSTANTS
from inventory.store import job_use
from inventory.store.connection import database, transaction
from inventory.store.tables import Movement
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.frozen_days import MONDAY, days_later

pytestmark = pytest.mark.usefixtures("bench", "frozen_monday")


def on_day(day: int) -> datetime:
    return MONDAY + timedelta(days=day)


def used(part_id: int) -> list[tuple[int, int]]:
    """Day and quantity of the events that count, oldest first."""
    uses = usage.use_events([part_id])
    days = (uses.at - int(MONDAY.timestamp() * 1e6)) // usage_totals.DAY_MICROS
    return sorted(zip(days.tolist(), uses.quantity.tolist(), strict=True))


def test_one_jobs_pulls_are_one_use_dated_by_the_first() -> None:
    part, bin_, _ = a_stocked_part(20)
    job = a_job()
    for day, quantity in ((3, 2), (5, 1), (9, 3)):
        with days_later(day):
            pull.pull(quantity, bin_id=bin_.id, job_id=job.id)
    assert used(part.id) == [(3, 6)]


def test_what_is_put_back_is_no_use() -> None:
    part, bin_, _ = a_stocked_part(20)
    using, returned = a_job(), a_job()
    pull.pull(5, bin_id=bin_.id, job_id=using.id)
    pull.pull(3, bin_id=bin_.id, job_id=returned.id)
    pull.put_back(2, job_id=using.id, part_id=part.id)
    pull.put_back(3, job_id=returned.id, part_id=part.id)
    assert used(part.id) == [(0, 3)]


def test_what_was_undone_never_happened() -> None:
    part, bin_, _ = a_stocked_part(20)
    job = a_job()
    slip = pull.pull(9, bin_id=bin_.id, job_id=job.id)
    with days_later(2):
        undo.undo(slip.entry)
        pull.pull(2, bin_id=bin_.id, job_id=job.id)
        back = pull.put_back(1, job_id=job.id, part_id=part.id)
        undo.undo(back.entry)
    assert used(part.id) == [(2, 2)]


def test_a_pull_for_no_job_is_a_use_of_its_own_even_from_two_lots() -> None:
    part, bin_, _ = a_stocked_part(2)
    receive.receive(part.id, 5, bin_.id)
    pull.pull(4, bin_id=bin_.id, reason="test rig")
    with days_later(1):
        pull.pull(1, bin_id=bin_.id, reason="test rig")
    assert used(part.id) == [(0, 4), (1, 1)]


def test_one_off_use_is_left_out_and_what_is_put_back_is_taken_off_it_first() -> None:
    part, bin_, _ = a_stocked_part(20)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    pull.pull(5, bin_id=bin_.id, job_id=job.id, one_off=True)
    assert used(part.id) == [(0, 2)]
    pull.put_back(4, job_id=job.id, part_id=part.id)
    assert used(part.id) == [(0, 2)]
    pull.put_back(2, job_id=job.id, part_id=part.id)
    assert used(part.id) == [(0, 1)]


def test_a_part_shows_its_uses_newest_first_with_what_is_not_counted() -> None:
    first = a_job()
    part = a_part(catalogued_for=first.id)
    bin_ = a_bin(part)
    receive.receive(part.id, 20, bin_.id)
    rush = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=first.id)
    with days_later(4):
        pull.pull(6, bin_id=bin_.id, job_id=rush.id, one_off=True)
    with days_later(8):
        pull.pull(1, bin_id=bin_.id, reason="test rig")
    shown = [(u.at, u.quantity, u.job_number, u.first_job, u.one_off, u.counted) for u in usage.uses_of_part(part.id)]
    assert shown == [
        (on_day(8), 1, "", False, False, 1),
        (on_day(4), 6, rush.number, False, True, 0),
        (on_day(0), 2, first.number, True, False, 2),
    ]
    assert len(usage.uses_of_part(part.id, limit=1)) == 1


def test_scrapping_moving_counting_and_singling_out_are_no_use() -> None:
    part, bin_, receipt = a_stocked_part(20)
    lot = receipt.lot_ids[0]
    adjustments.scrap(2, reason="bent", bin_id=bin_.id, lot_id=lot)
    adjustments.move(a_bin(part).id, 3, bin_id=bin_.id, lot_id=lot)
    adjustments.count(bin_.id, lot, 10)
    adjustments.single_out(bin_.id, lot)
    assert used(part.id) == []


def test_a_piece_that_a_job_took_is_a_use() -> None:
    part = a_part("12 V supply", "supply", kept="individually")
    receipt = receive.receive(part.id, 3, a_bin(part).id)
    job = a_job()
    for piece in receipt.piece_ids[:2]:
        pull.pull_piece(piece, job_id=job.id)
    assert used(part.id) == [(0, 2)]


def test_a_lower_reading_is_use_of_a_part_kept_by_level() -> None:
    part = a_part("Flux", "consumable", kept="by level", unit="ml")
    bin_ = a_bin(part)
    lot = receive.receive(part.id, 100, bin_.id).lot_ids[0]
    for day, reading in ((10, 85), (20, 90), (30, 60)):
        with days_later(day):
            adjustments.count(bin_.id, lot, reading)
    with days_later(31):
        undo.undo(adjustments.count(bin_.id, lot, 0).entry)
    assert used(part.id) == [(10, 15), (30, 30)]


# ---- any history whatever --------------------------------------------------------------------------------

actions = st.lists(
    st.tuples(
        st.sampled_from(["pull", "one-off", "for nobody", "put back", "undo", "scrap"]),
        st.integers(0, 1), st.integers(1, 4), st.integers(0, 40),
    ),
    max_size=14,
)  # fmt: skip


def by_hand(part_id: int) -> dict[int, tuple[int, int]]:
    """Add up the ledger line by line: who (job, or minus the entry) used how many, first when."""
    lines = list(Movement.select().where(Movement.part == part_id).order_by(Movement.id))
    undone = {line.reverses_id for line in lines}
    uses: dict[int, tuple[int, int]] = {}
    for source in {line.job_id or -line.entry for line in lines}:
        own = [m for m in lines if (m.job_id or -m.entry) == source and m.id not in undone]
        pulls = [m for m in own if m.kind == "pull"]
        back = sum(m.quantity for m in own if m.kind == "put back")
        regular = [m for m in pulls if not m.one_off]
        one_off = sum(-m.quantity for m in pulls if m.one_off)
        net = sum(-m.quantity for m in regular) - max(0, back - one_off)
        if net > 0:
            uses[source] = (net, min(int(m.at.timestamp() * 1e6) for m in regular))
    return uses


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(actions)
def test_any_history_adds_up_as_it_does_line_by_line(series: list[tuple[str, int, int, int]]) -> None:
    part, bin_, receipt = a_stocked_part(200)
    jobs = [a_job(), a_job()]
    entries: list[int] = []
    for what, which, quantity, day in series:
        with days_later(day):
            job, has = jobs[which], sum(n for _, n in job_use.loose_of_job(jobs[which].id, part.id))
            if what == "undo" and entries:
                with suppress(Conflict):  # what was put back since is not undone
                    undo.undo(entries.pop(quantity % len(entries)))
            elif what == "put back" and has:
                entries.append(pull.put_back(min(quantity, has), job_id=job.id, part_id=part.id).entry)
            elif what in ("pull", "one-off"):
                taken = pull.pull(quantity, bin_id=bin_.id, job_id=job.id, one_off=what == "one-off")
                entries += [] if has else [taken.entry]
            elif what == "for nobody":
                entries.append(pull.pull(quantity, bin_id=bin_.id, reason="rig").entry)
            elif what == "scrap":
                adjustments.scrap(1, reason="bent", bin_id=bin_.id, lot_id=receipt.lot_ids[0])
    uses = usage.use_events([part.id])
    assert dict(
        zip(uses.job_id.tolist(), zip(uses.quantity.tolist(), uses.at.tolist(), strict=True), strict=True)
    ) == (by_hand(part.id))
    with days_later(50):
        points = usage.stock_over_time(part.id, days=400).points
        assert points[-1].on_books == stock_totals.stock_of(part.id).on_shelf


# ---- stock over time -------------------------------------------------------------------------------------


def test_stock_over_time_begins_with_what_was_there_and_follows_every_change() -> None:
    part, bin_, receipt = a_stocked_part(10)
    job = a_job()
    with days_later(100):
        pull.pull(4, bin_id=bin_.id, job_id=job.id)
    with days_later(110):
        adjustments.move(a_bin(part).id, 2, bin_id=bin_.id, lot_id=receipt.lot_ids[0])
        receive.receive(part.id, 7, bin_.id)
    with days_later(120):
        pull.put_back(1, job_id=job.id, part_id=part.id)
        whole = usage.stock_over_time(part.id, days=400)
        lately = usage.stock_over_time(part.id, days=30)
    assert (whole.opening, lately.opening) == (0, 10)
    assert [(p.kind, p.change, p.on_books) for p in whole.points] == [
        ("receive", 10, 10), ("pull", -4, 6), ("receive", 7, 13), ("put back", 1, 14),
    ]  # fmt: skip
    assert lately.points == whole.points[1:]


# ---- what is remembered ----------------------------------------------------------------------------------


def sums() -> dict[int, tuple[float, ...]]:
    totals = usage_totals.usage_totals(DEFAULT_CONSTANTS)
    numbers = np.column_stack([totals.stats.k, totals.stats.s, totals.stats.kz, totals.stats.T, totals.portion])
    return {int(part): tuple(numbers[row]) for row, part in enumerate(totals.parts.id)}


def afresh() -> dict[int, tuple[float, ...]]:
    usage_totals.clear_cache()
    return sums()


def test_what_is_remembered_is_what_a_fresh_reckoning_finds() -> None:
    first, bin_, _ = a_stocked_part(50)
    a_stocked_part(50)
    assert sums() == afresh()
    for day in (1, 40, 41, 200):
        with days_later(day):
            pull.pull(day % 3 + 1, bin_id=bin_.id, job_id=a_job().id)
            a_part()
            remembered, fresh = sums(), afresh()
        assert remembered.keys() == fresh.keys()
        for part, numbers in fresh.items():
            assert remembered[part] == pytest.approx(numbers, rel=1e-12, abs=1e-12)
    assert remembered[first.id][0] > 2


def test_a_movement_makes_only_its_own_part_be_summed_up_again() -> None:
    a_stocked_part(50)
    part, bin_, _ = a_stocked_part(50)
    other = a_part()
    sums()
    with days_later(5):
        pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
        sums()
        assert usage_totals.totals_computed_at(part.id) == on_day(5)
        assert usage_totals.totals_computed_at(other.id) == on_day(0)
    with days_later(9):
        edit_part(other.id, name="5-way header")
        sums()
        assert usage_totals.totals_computed_at(other.id) == on_day(9)
        assert usage_totals.totals_computed_at(part.id) == on_day(5)


def test_what_a_transaction_takes_back_is_not_remembered() -> None:
    part, bin_, _ = a_stocked_part(50)
    job = a_job()
    before = sums()

    def pull_and_fail() -> None:
        with transaction():
            pull.pull(9, bin_id=bin_.id, job_id=job.id)
            assert sums()[part.id][0] == 1
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        pull_and_fail()
    assert not database.in_transaction()
    assert sums() == before
    pull.pull(1, bin_id=bin_.id, job_id=job.id)
    assert sums() == afresh()


def test_a_clock_that_goes_back_begins_afresh() -> None:
    part, bin_, _ = a_stocked_part(50)
    with days_later(30):
        pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
        sums()
    with days_later(10):
        assert sums()[part.id][0] == 1  # a use in the future counts as one of today
