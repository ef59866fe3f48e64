"""Time on the shelf: picking order, what will be left, life after opening, moisture floor life."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.stock.shelf_life import (
    FLOOR_LIFE_HOURS,
    BagOpenPeriod,
    ShelfLot,
    floor_life,
    last_good_day,
    lot_outlooks,
    picking_key,
    picking_order,
)

TODAY = date(2025, 6, 1)


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def lot(code: str, received: int = -30, until: int | None = None, **more) -> ShelfLot:
    return ShelfLot(code, day(received), until=None if until is None else day(until), **more)


def codes(lots, today=None):
    return "".join(lot.code for lot in picking_order(lots, today))


def test_it_picks_the_earliest_best_before_first_and_then_the_oldest_received():
    shelf = [lot("D", -10), lot("C", -90), lot("B", -5, until=60), lot("A", -80, until=20), lot("E", -10)]
    assert codes(shelf) == "ABCDE"


def test_it_leaves_out_lots_on_hold():
    assert codes([lot("A", on_hold=True), lot("B")]) == "B"


def test_it_hands_out_a_lot_past_its_date_last_when_it_knows_the_day():
    shelf = [lot("A", until=-1), lot("B", until=0), lot("C")]
    assert codes(shelf) == "ABC"
    assert codes(shelf, TODAY) == "BCA"


def test_it_counts_an_opened_lot_by_its_life_after_opening_if_that_ends_sooner():
    assert last_good_day(day(100), day(20)) == day(20)
    assert last_good_day(day(5), day(20)) == day(5)
    assert last_good_day(None, day(20)) == day(20)
    assert last_good_day(day(5), None) == day(5)
    assert last_good_day(None, None) is None


days = st.integers(-200, 200)
lots = st.lists(
    st.builds(
        lambda code, received, until: ShelfLot(code, day(received), 5.0, None if until is None else day(until)),
        st.text("ABC", min_size=1, max_size=3),
        days,
        st.one_of(st.none(), days),
    ),
    max_size=6,
    unique_by=lambda lot: lot.code,
)


@given(lots, st.randoms(use_true_random=False))
def test_it_gives_one_order_whatever_order_the_lots_come_in(shelf, random):
    shuffled = list(shelf)
    random.shuffle(shuffled)
    assert picking_order(shuffled, TODAY) == picking_order(shelf, TODAY)
    keys = [picking_key(lot.until, lot.received, lot.code) for lot in picking_order(shelf)]
    assert keys == sorted(keys)


def test_it_says_what_will_be_left_of_a_bottle_at_the_present_rate_of_use():
    bottle = lot("A", until=39, quantity=100.0)  # 40 days, today and the last day included
    (outlook,) = lot_outlooks([bottle], 1.0, TODAY)
    assert outlook.share_left == pytest.approx(0.6)
    assert outlook.words == f"will not be used up: 60 % left by {day(39)}"
    (brisk,) = lot_outlooks([bottle], 4.0, TODAY)
    assert (brisk.share_left, brisk.used_up_on) == (0.0, day(25))
    assert brisk.words == f"used up about {day(25)}"
    (idle,) = lot_outlooks([bottle], 0.0, TODAY)
    assert idle.share_left == 1.0


def test_it_uses_one_lot_after_the_other():
    first, second = lot("A", until=9, quantity=20.0), lot("B", until=29, quantity=40.0)
    a, b = lot_outlooks([second, first], 1.0, TODAY)
    assert (a.lot.code, a.share_left) == ("A", pytest.approx(0.5))  # 10 of its 20 in the 10 days it has
    assert (b.lot.code, b.share_left) == ("B", pytest.approx(0.5))  # then 20 days of 40


def test_it_counts_lots_past_their_date_and_lots_without_one():
    past, forever, empty = lot_outlooks(
        [lot("P", until=-2, quantity=5.0), lot("F", quantity=5.0), lot("E", until=3)], 0.0, TODAY
    )[::-1]
    assert (past.words, past.days_left, past.share_left) == ("past its date by 2 days", -2, 1.0)
    assert (forever.words, forever.days_left) == ("no date, and hardly used", None)
    assert empty.words == "empty"


@given(lots, st.floats(0, 20))
def test_it_never_uses_more_than_the_rate_of_use_allows(shelf, rate):
    outlooks = lot_outlooks(shelf, rate, TODAY)
    assert all(0.0 <= outlook.share_left <= 1.0 for outlook in outlooks)
    used = {outlook.lot.code: 5.0 * (1 - outlook.share_left) for outlook in outlooks if outlook.days_left is not None}
    by_then = max(0, *(outlook.days_left + 1 for outlook in outlooks if outlook.days_left is not None), 0)
    assert sum(used.values()) <= rate * by_then + 1e-6


def hours(number: float) -> datetime:
    return datetime(2025, 6, 1, 8, tzinfo=UTC) + timedelta(hours=number)


def test_it_holds_the_floor_life_of_every_level():
    """IPC/JEDEC J-STD-020 and J-STD-033, hours at 30 degrees C and 60 % RH, from memory."""
    assert FLOOR_LIFE_HOURS == {
        "1": None, "2": 8760, "2a": 672, "3": 168, "4": 72, "5": 48, "5a": 24, "6": 0,
    }  # fmt: skip


def test_it_runs_the_clock_only_while_the_bag_is_open():
    openings = [BagOpenPeriod(hours(0), hours(10)), BagOpenPeriod(hours(100), hours(120))]
    life = floor_life("4", openings, hours(500))
    assert (life.used, life.left, life.bake, life.runs_out) == (30, 42, False, None)
    assert life.words == "42 h of 72 h left out of the bag"
    still_open = floor_life("4", [*openings, BagOpenPeriod(hours(600))], hours(610))
    assert (still_open.used, still_open.runs_out) == (40, hours(642))
    assert floor_life("4", openings, hours(5)).used == 5


def test_it_counts_overlapping_openings_once():
    openings = [
        BagOpenPeriod(hours(0), hours(10)),
        BagOpenPeriod(hours(5), hours(8)),
        BagOpenPeriod(hours(9), hours(20)),
    ]
    assert floor_life("3", openings, hours(50)).used == 20


def test_it_asks_for_baking_past_the_floor_life():
    late = floor_life("5a", [BagOpenPeriod(hours(0))], hours(24))
    assert late.bake
    assert late.words == "out of the bag 24 h of 24 h: bake before reflow, see the standard"
    assert not floor_life("5a", [BagOpenPeriod(hours(0))], hours(23)).bake
    assert not floor_life("1", [BagOpenPeriod(hours(0))], hours(1e5)).bake


def test_it_has_level_6_baked_first_and_then_used_within_the_time_on_its_label():
    sealed = floor_life("6", [], hours(0), label_hours=6)
    assert (sealed.bake, sealed.words) == (True, "bake before use, then use it within the time on its label")
    assert not floor_life("6", [BagOpenPeriod(hours(0))], hours(2), label_hours=6).bake
    assert floor_life("6", [BagOpenPeriod(hours(0))], hours(7), label_hours=6).bake


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (
            lambda: floor_life("7", [], hours(0)),
            "There is no moisture level '7'; choose one of 1, 2, 2a, 3, 4, 5, 5a, 6.",
        ),
        (
            lambda: BagOpenPeriod(hours(2), hours(1)),
            "A bag cannot be closed before it was opened; check the two times.",
        ),
        (lambda: lot_outlooks([], -1.0, TODAY), "The use a day must not be negative, but it is -1."),
    ],
)
def test_it_refuses_what_cannot_be_with_a_sentence(make, sentence):
    with pytest.raises(ValueError) as refusal:
        make()
    assert str(refusal.value) == sentence
