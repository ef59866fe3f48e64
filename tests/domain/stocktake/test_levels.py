"""Bottles and reels: read by percent, weight or length; what went is use, and is shared by the jobs of that time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import pull, receive, undo
from inventory.domain.reorder import stock_dates, usage
from inventory.domain.stocktake import level_readings, level_usage
from inventory.reckoning.common.apportion import apportion_units
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_stocked_part

bench = pytest.mark.usefixtures("bench")
NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def _bottle(quantity: int = 250, unit: str = "ml", **more: object) -> tuple[PartRecord, int, int]:
    """Return a part kept by level, its bin, and a lot of it."""
    part = a_part("Flux", "consumable", kept="by level", unit=unit)
    bin_ = a_bin(part).id
    return part, bin_, receive.receive(part.id, quantity, bin_, **more).lot_ids[0]  # type: ignore[arg-type]


@bench
def test_percent_of_a_container_is_read_and_booked() -> None:
    part, bin_, lot = _bottle()
    level_readings.set_level_method(part.id, "percent", full=250)
    reading = level_readings.record_reading(lot, bin_, "40 %")
    assert (reading.before, reading.amount, reading.used) == (250, 100, 150)
    assert reading.sentence == "100 ml left; 150 ml went since."
    assert stock_of(part.id).on_shelf == 100


@bench
def test_weight_is_read_less_the_empty_container() -> None:
    part, bin_, lot = _bottle()
    level_readings.set_level_method(part.id, "weight", tare=30.5, per_gram=1.25)
    assert level_readings.record_reading(lot, bin_, "110,5 g").amount == 100
    with pytest.raises(Invalid, match="less than the empty container weighs"):
        level_readings.record_reading(lot, bin_, "20")


@bench
def test_the_rest_of_a_reel_is_read_by_length() -> None:
    part, bin_, lot = _bottle(10_000, unit="mm")
    level_readings.set_level_method(part.id, "length")
    assert level_readings.record_reading(lot, bin_, "6.5 m").amount == 6500


@bench
def test_of_several_containers_all_but_the_open_one_count_as_sealed() -> None:
    part, bin_, lot = _bottle(750)
    level_readings.set_level_method(part.id, "percent", full=250)
    assert level_readings.record_reading(lot, bin_, "20").amount == 550


@bench
def test_a_level_going_up_is_refused_but_for_a_slip_of_the_eye() -> None:
    part, bin_, lot = _bottle()
    level_readings.set_level_method(part.id, "percent", full=250)
    level_readings.record_reading(lot, bin_, "40")
    assert level_readings.record_reading(lot, bin_, "42").amount == 100
    with pytest.raises(Conflict, match="receive what came in as a lot of its own"):
        level_readings.record_reading(lot, bin_, "60")
    assert stock_of(part.id).on_shelf == 100


@bench
@pytest.mark.parametrize("value", ["", "x", "-5", "101", "nan", "inf", "1e99", "40 ml", "4" * 40])
def test_what_is_no_level_is_refused(value: str) -> None:
    part, bin_, lot = _bottle()
    level_readings.set_level_method(part.id, "percent", full=250)
    with pytest.raises(Invalid):
        level_readings.record_reading(lot, bin_, value)


@bench
def test_only_what_is_kept_by_level_is_read() -> None:
    part, bin_, receipt = a_stocked_part(5)
    for act in (
        lambda: level_readings.record_reading(receipt.lot_ids[0], bin_.id, "3"),
        lambda: level_readings.set_level_method(part.id, "percent", full=5),
        lambda: level_readings.open_next_container(part.id),
    ):
        with pytest.raises(Conflict, match="not kept by level"):
            act()


@bench
def test_what_went_between_readings_counts_as_use_for_the_reorder_list() -> None:
    part, bin_, lot = _bottle()
    level_readings.set_level_method(part.id, "percent", full=250)
    with clock.freeze_at(clock.now() + timedelta(days=10)):
        entry = level_readings.record_reading(lot, bin_, "60").entry
    assert [use.quantity for use in usage.uses_of_part(part.id)] == [100]
    assert entry is not None
    undo.undo(entry)
    assert usage.uses_of_part(part.id) == []
    assert level_readings.level_readings(lot) == []


@bench
def test_use_between_readings_is_shared_by_the_jobs_that_took_something_then() -> None:
    with clock.freeze_at(NOON):
        part, bin_, lot = _bottle(cost_minor=2500)
        level_readings.set_level_method(part.id, "percent", full=250)
        _, other, _ = a_stocked_part(20)
        jobs = [a_job() for _ in range(4)]
    for day, job in enumerate(jobs[:3], start=1):
        with clock.freeze_at(NOON + timedelta(days=day)):
            pull.pull(1, bin_id=other.id, job_id=job.id)
    with clock.freeze_at(NOON + timedelta(days=5)):
        level_readings.record_reading(lot, bin_, "60")
    with clock.freeze_at(NOON + timedelta(days=6)):
        pull.pull(1, bin_id=other.id, job_id=jobs[3].id)
    shares = [level_usage.level_shares_of_job(job.id) for job in jobs]
    assert [[share.amount for share in job_shares] for job_shares in shares] == [[34], [33], [33], []]
    assert [(share.cost_minor, share.jobs) for share in shares[0]] == [(340, 3)]
    assert verify.verify_ledger().sound


@bench
def test_a_pull_that_was_undone_shares_nothing() -> None:
    with clock.freeze_at(NOON):
        _, bin_, lot = _bottle()
        _, other, _ = a_stocked_part(20)
        jobs = [a_job(), a_job()]
    with clock.freeze_at(NOON + timedelta(days=1)):
        pull.pull(1, bin_id=other.id, job_id=jobs[0].id)
        undo.undo(pull.pull(1, bin_id=other.id, job_id=jobs[1].id).entry)
    with clock.freeze_at(NOON + timedelta(days=2)):
        level_readings.record_reading(lot, bin_, "150")
    shares = [level_usage.level_shares_of_job(job.id) for job in jobs]
    assert [[share.amount for share in of_job] for of_job in shares] == [[100], []]
    assert list(level_usage.level_costs_by_job()) == [jobs[0].id]


@bench
def test_opening_a_new_one_empties_the_old_one_in_one_tap() -> None:
    part, bin_, first = _bottle(500)
    level_readings.set_level_method(part.id, "percent", full=250)
    stock_dates.set_part_storage(part.id, days_opened=90)
    assert level_readings.open_next_container(part.id) == []  # the first bottle
    assert lots.lot(first).opened == clock.today()
    assert level_readings.open_next_container(part.id)[0].amount == 250  # the second bottle of the same lot
    with pytest.raises(Conflict, match="put it on the reorder list"):
        level_readings.open_next_container(part.id)
    second = receive.receive(part.id, 250, bin_).lot_ids[0]
    assert level_readings.open_next_container(part.id)[0].amount == 0
    assert lots.lot(second).opened == clock.today()
    assert stock_of(part.id).on_shelf == 250


@given(st.integers(0, 10_000), st.lists(st.integers(0, 50), min_size=1, max_size=20))
def test_shares_add_up_and_none_is_off_by_a_unit_or_more(total: int, weights: list[int]) -> None:
    if not sum(weights):
        with pytest.raises(ValueError, match="weight above 0"):
            apportion_units(total, weights)
        return
    shares = apportion_units(total, weights)
    assert sum(shares) == total
    assert all(abs(share - total * w / sum(weights)) < 1 for share, w in zip(shares, weights, strict=True))
