"""What time does to stock: FEFO counts life after opening, what will be left over is said, moisture's clock runs."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from inventory.domain.alerts.today import gather_today
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.history import movements
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import stock_dates
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def _two_lots() -> tuple[int, int, int, int]:
    """Return part, bin, and two lots of it: one best before July, one before August."""
    part = a_part("UV mask", "consumable", unit="ml")
    bin_ = a_bin(part)
    receipt, two = (
        receive.receive(part.id, 100, bin_.id, best_before=date(2026, month, 31)).lot_ids[0] for month in (7, 8)
    )
    return part.id, bin_.id, receipt, two


def test_an_open_lot_is_used_before_one_with_an_earlier_best_before() -> None:
    with clock.freeze_at(NOON):
        part, bin_, first, two = _two_lots()
        stock_dates.set_keeping(part, days_opened=30)
        assert pull.pull(1, bin_id=bin_, job_id=a_job().id).lot_ids == (first,)
        dates = stock_dates.open_lot(two)
        assert (dates.until, dates.past) == (date(2026, 7, 1), False)
        assert pull.pull(1, bin_id=bin_, job_id=a_job().id).lot_ids == (two,)


def test_past_its_life_after_opening_a_pull_warns_and_keeps_who_went_on() -> None:
    person = a_person()
    with clock.freeze_at(NOON):
        part, bin_, receipt = a_stocked_part(50)
        stock_dates.set_keeping(part.id, days_opened=10)
        stock_dates.open_lot(receipt.lot_ids[0])
    with clock.freeze_at(NOON + timedelta(days=10)):
        assert pull.pull(1, bin_id=bin_.id, job_id=a_job().id).warnings == ()
    with clock.freeze_at(NOON + timedelta(days=11)):
        job = a_job().id
        with pytest.raises(Conflict, match=r"past its date \(2026-06-11\)"):
            pull.pull(1, bin_id=bin_.id, job_id=job)
        went_on = pull.pull(1, bin_id=bin_.id, job_id=job, by=person.id, past_date_ok=True)
    assert went_on.warnings == (f"Lot {lots.lot(receipt.lot_ids[0]).code} is past its date (2026-06-11).",)
    line = movements(job_id=job).items[0]
    assert (line.person, line.reason) == (person.shown_as, "went on past its date")


def test_today_shows_an_open_lot_that_is_nearly_past() -> None:
    with clock.freeze_at(NOON):
        part, _, receipt = a_stocked_part(50)
        stock_dates.set_keeping(part.id, days_opened=10)
        stock_dates.open_lot(receipt.lot_ids[0])
        assert [lot.lot.id for lot in gather_today().dated] == [receipt.lot_ids[0]]


def test_a_changed_life_after_opening_counts_for_lots_that_are_open() -> None:
    with clock.freeze_at(NOON):
        part, _, receipt = a_stocked_part(50)
        stock_dates.open_lot(receipt.lot_ids[0])
        assert stock_dates.lot_dates(receipt.lot_ids[0]).until is None
        stock_dates.set_keeping(part.id, days_opened=7)
        assert stock_dates.lot_dates(receipt.lot_ids[0]).until == date(2026, 6, 8)
        stock_dates.undo_open_lot(receipt.lot_ids[0])
        assert stock_dates.lot_dates(receipt.lot_ids[0]).until is None


def test_a_lot_is_opened_once_and_never_before_it_came_or_in_the_future() -> None:
    with clock.freeze_at(NOON):
        lot = a_stocked_part(5)[2].lot_ids[0]
        for day in (date(2026, 6, 3), date(2026, 5, 30), date(1999, 1, 1), date(2999, 1, 1)):
            with pytest.raises(Invalid):
                stock_dates.open_lot(lot, day)
        stock_dates.open_lot(lot, date(2026, 6, 2))  # already tomorrow where the bench is
        with pytest.raises(Conflict, match="opened on 2026-06-02 already"):
            stock_dates.open_lot(lot)


@pytest.mark.parametrize("year", [1999, 2101, 1, 9999])
def test_a_best_before_in_no_plausible_year_is_refused(year: int) -> None:
    part, bin_, receipt = a_stocked_part(5)
    with pytest.raises(Invalid, match="check the year"):
        lots.edit_lot(receipt.lot_ids[0], best_before=date(year, 1, 1))
    with pytest.raises(Invalid, match="check the year"):
        receive.receive(part.id, 1, bin_.id, best_before=date(year, 1, 1))


@pytest.mark.parametrize(
    "keeping",
    [
        {"days_opened": 0}, {"days_opened": -3}, {"days_opened": 10**6}, {"days_opened": True},
        {"moisture_level": "7"}, {"moisture_level": "6"}, {"moisture_level": "3", "label_hours": -1.0},
    ],
)  # fmt: skip
def test_what_cannot_be_a_way_of_keeping_is_refused(keeping: dict[str, object]) -> None:
    part = a_part()
    with pytest.raises(Invalid):
        stock_dates.set_keeping(part.id, **keeping)  # type: ignore[arg-type]
    assert stock_dates.part_storage(part.id) == stock_dates.PartStorageRecord(part.id)


def test_what_will_be_left_over_is_measured_against_the_present_use() -> None:
    part = a_part("UV mask", "consumable", unit="ml")
    bin_ = a_bin(part)
    start = NOON - timedelta(days=300)
    with clock.freeze_at(start):
        receive.receive(part.id, 10_000, bin_.id, best_before=date(2026, 12, 31))
    for week in range(40):
        with clock.freeze_at(start + timedelta(days=7 * week, hours=1)):
            pull.pull(10, bin_id=bin_.id, job_id=a_job().id)
    with clock.freeze_at(NOON):
        expiring = stock_dates.expiring_lots()
        soon = stock_dates.expiring_lots(within_days=30)
    assert len(expiring) == 1
    assert expiring[0].quantity == 9600
    assert 0.9 < expiring[0].share_left < 1.0
    assert expiring[0].words.startswith("will not be used up: 9")
    assert expiring[0].words.endswith("left by 2026-12-31")
    assert soon == []


def test_a_lot_that_will_be_used_up_in_time_is_not_listed_and_one_past_is() -> None:
    with clock.freeze_at(NOON):
        part = a_part("Flux", "consumable", unit="ml")
        bin_ = a_bin(part)
        receive.receive(part.id, 5, bin_.id, best_before=date(2030, 1, 1))
        for _ in range(12):
            receive.receive(part.id, 5, bin_.id)
            pull.pull(5, bin_id=bin_.id, job_id=a_job().id)
        past = receive.receive(part.id, 5, bin_.id, best_before=date(2026, 5, 30)).lot_ids[0]
        expiring = stock_dates.expiring_lots()
    assert (expiring[0].lot.id, expiring[0].days_left, expiring[0].words) == (past, -2, "past its date by 2 days")


# ---- moisture --------------------------------------------------------------------------------------------


def _sensitive(level: str = "3", **more: float) -> int:
    part, _, receipt = a_stocked_part(50)
    stock_dates.set_keeping(part.id, moisture_level=level, **more)  # type: ignore[arg-type]
    return receipt.lot_ids[0]


def test_the_clock_runs_only_while_the_bag_is_open() -> None:
    with clock.freeze_at(NOON):
        lot = _sensitive()
        stock_dates.open_lot(lot)
    with clock.freeze_at(NOON + timedelta(hours=100)):
        stock_dates.close_bag(lot)
    with clock.freeze_at(NOON + timedelta(hours=900)):
        dates = stock_dates.lot_dates(lot)
        assert dates.floor is not None
        assert (dates.floor.used, dates.floor.left, dates.bag_open) == (100.0, 68.0, False)
        assert stock_dates.open_lot(lot).bag_open
        assert [bag.lot.id for bag in stock_dates.open_bags()] == [lot]
    with clock.freeze_at(NOON + timedelta(hours=968)):
        assert stock_dates.lot_dates(lot).floor.words.endswith("bake before reflow, see the standard")  # type: ignore[union-attr]


def test_a_moment_in_another_zone_is_the_same_moment() -> None:
    lisbon_like = timezone(timedelta(hours=5, minutes=30))
    with clock.freeze_at(NOON):
        lot = _sensitive()
        stock_dates.open_lot(lot)
    with clock.freeze_at((NOON + timedelta(hours=24)).astimezone(lisbon_like)):
        assert stock_dates.lot_dates(lot).floor.used == 24.0  # type: ignore[union-attr]


def test_a_bake_begins_the_floor_life_anew() -> None:
    with clock.freeze_at(NOON):
        lot = _sensitive()
        stock_dates.open_lot(lot)
    with clock.freeze_at(NOON + timedelta(hours=200)):
        assert stock_dates.lot_dates(lot).floor.bake  # type: ignore[union-attr]
        dates = stock_dates.record_bake(lot, note="24 h at 125 degrees")
        assert dates.floor is not None
        assert (dates.floor.bake, dates.floor.used, dates.baked) == (False, 0.0, clock.now())
    with clock.freeze_at(NOON + timedelta(hours=210)):
        assert stock_dates.lot_dates(lot).floor.used == 10.0  # type: ignore[union-attr]


def test_level_six_is_baked_first_and_then_has_the_hours_on_its_label() -> None:
    with clock.freeze_at(NOON):
        lot = _sensitive("6", label_hours=6)
        assert stock_dates.lot_dates(lot).floor.bake  # type: ignore[union-attr]
        stock_dates.record_bake(lot)
        stock_dates.open_lot(lot)
    with clock.freeze_at(NOON + timedelta(hours=5)):
        assert stock_dates.lot_dates(lot).floor.left == 1.0  # type: ignore[union-attr]


def test_a_pull_out_of_a_bag_that_was_open_too_long_says_to_bake() -> None:
    with clock.freeze_at(NOON):
        lot = _sensitive("5a")
        stock_dates.open_lot(lot)
    with clock.freeze_at(NOON + timedelta(hours=30)):
        result = pull.pull(1, lot_id=lot, job_id=a_job().id)
    assert result.warnings == (
        f"Lot {lots.lot(lot).code}: out of the bag 30 h of 24 h: bake before reflow, see the standard.",
    )


def test_a_bag_is_closed_once_and_only_what_is_sensitive_is_baked() -> None:
    with clock.freeze_at(NOON):
        lot = _sensitive()
        with pytest.raises(Conflict, match="closed already"):
            stock_dates.close_bag(lot)
        with pytest.raises(Conflict, match="nothing to bake"):
            stock_dates.record_bake(a_stocked_part(5)[2].lot_ids[0])
