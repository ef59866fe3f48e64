"""The reorder list: what is due and why; and what it makes of odd histories."""

from __future__ import annotations

import numpy as np
import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots, parts
from inventory.domain.common import shop
from inventory.domain.common.errors import Invalid, NotFound
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive
from inventory.domain.reorder import order_suggestions, reorder_list, usage_totals
from tests.factories import a_bin, a_job, a_part
from tests.reorder_factories import MONTHLY_USES, a_part_with_uses, a_supplier, advice_for, days_before_today

pytestmark = pytest.mark.usefixtures("bench", "made_up_day")


# ---- the formula, from the ledger to the page -----------------------------------------------------------


def test_a_part_nobody_used_in_an_empty_shop_is_example_x1() -> None:
    """Worked example X1 of the documented numbers: a = 1, B = 4, c = 4, d = 1.2; 46 days are 1.51 months."""
    shop.edit_shop(looks_days=0, lead_variation=0.01)
    part = a_part_with_uses(since=0)
    suppliers.add_offer(part.id, a_supplier(lead_days=46).id, 30)
    for target, level in ((0.90, 2), (0.95, 4), (0.98, 6)):
        shop.edit_shop(target=target)
        explanation = reorder_list.explain_advice(part.id)
        assert (explanation.advice.level, explanation.advice.reorder_point) == (level, level - 1)
    why = explanation.reckoned
    assert (why.a, why.B, why.c, why.d) == pytest.approx((1, 4, 4, 1.2))
    assert explanation.advice.risk == pytest.approx(1 - 0.727273, abs=0.002)
    shop.edit_shop(promise="next_job", target=0.9)
    assert advice_for(part).level == 6  # served in full by 5: .867851, by 6: .905996


def test_a_history_in_the_ledger_weighs_what_example_x2_says() -> None:
    """Worked example X2: catalogued 365 days ago by a 2-piece job, then four jobs."""
    with days_before_today(365):
        first = a_job()
        part = a_part(catalogued_for=first.id)
        bin_ = a_bin(part)
        receive.receive(part.id, 30, bin_.id)
        pull.pull(2, bin_id=bin_.id, job_id=first.id)
    for days, quantity in ((300, 1), (130, 4), (75, 1), (10, 2)):
        with days_before_today(days):
            pull.pull(quantity, bin_id=bin_.id, job_id=a_job().id)
    why = reorder_list.explain_advice(part.id).reckoned
    assert (why.k, why.T, why.kz, why.s) == pytest.approx((3.195818, 8.660275, 3.696055, 3.825552), abs=1e-6)


def test_one_off_use_and_the_job_it_was_catalogued_for_do_not_make_it_a_fast_mover() -> None:
    ordinary, special = a_part_with_uses(((20, 8),), since=30), a_part_with_uses(since=30)
    with days_before_today(20):
        bin_ = a_bin(special)
        receive.receive(special.id, 8, bin_.id)
        pull.pull(8, bin_id=bin_.id, job_id=a_job().id, one_off=True)
    assert reorder_list.explain_advice(special.id).reckoned.k == 0
    assert advice_for(special).level < advice_for(ordinary).level


# ---- due or not -----------------------------------------------------------------------------------------


def test_it_lists_a_part_when_its_position_is_at_the_reorder_point() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=0)
    point = advice_for(part).reorder_point
    assert point >= 1
    bin_ = a_bin(part)
    receive.receive(part.id, point, bin_.id)
    assert [advice.part.id for advice in reorder_list.reorder_list()] == [part.id]
    receive.receive(part.id, 1, bin_.id)
    assert reorder_list.reorder_list() == []
    assert advice_for(part).order is None


def test_what_is_on_order_counts_and_what_is_promised_or_on_hold_does_not() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=20)
    assert advice_for(part).order is None
    lot = lots.lots(part_id=part.id).items[0]
    lots.hold_lot(lot.id, "bent pins")
    advice = advice_for(part)
    assert (advice.position, advice.stock.on_hold) == (0, 20)
    assert advice.order is not None
    assert any("20 pieces on hold, which do not count" in sentence for sentence in advice.why)
    lots.release_lot(lot.id)
    jobs.set_need(a_job().id, part.id, 19)
    assert advice_for(part).position == 1
    order = orders.draft_order(a_supplier().id, [NewOrderLine(part.id, 7)])
    assert advice_for(part).position == 1
    orders.place_order(order.id)
    assert advice_for(part).position == 8


def test_parts_that_jobs_wait_for_come_first_then_the_likeliest_to_run_dry() -> None:
    busy, slow, waited_for = a_part_with_uses(MONTHLY_USES), a_part_with_uses(MONTHLY_USES[:2]), a_part_with_uses()
    jobs.set_need(a_job().id, waited_for.id, 1)
    listed = reorder_list.reorder_list()
    assert [advice.part.id for advice in listed] == [waited_for.id, busy.id, slow.id]
    assert listed[0].short_for_jobs == 1
    assert listed[0].risk == 1
    assert listed[1].risk > listed[2].risk
    assert [advice.part.id for advice in reorder_list.reorder_list(limit=1)] == [waited_for.id]


def test_a_retired_part_is_on_no_list() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    parts.edit_part(part.id, retired=True)
    assert reorder_list.reorder_list() == []
    assert advice_for(part).order is None


def test_the_owner_may_fix_a_level() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=3)
    parts.edit_part(part.id, level=9)
    fixed = advice_for(part)
    assert (fixed.level, fixed.reorder_point, fixed.level_fixed) == (9, 8, True)
    assert fixed.order is not None
    assert fixed.order.quantity >= 6
    assert any("the owner has set a level of 9 pieces" in sentence for sentence in fixed.why)
    parts.edit_part(part.id, level=0)
    assert advice_for(part).order is None
    jobs.set_need(a_job().id, part.id, 4)
    assert advice_for(part).order is not None  # a level of 0 still buys what jobs want


def test_the_promise_is_settable_for_a_part_a_kind_and_the_shop() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    usual = advice_for(part)
    shop.edit_shop(target=0.8)
    lower = advice_for(part)
    shop.edit_shop(targets={"connector": 0.99})
    of_kind = advice_for(part)
    parts.edit_part(part.id, target=0.999)
    own = advice_for(part)
    assert lower.level < usual.level < of_kind.level < own.level
    assert [promised.target for promised in (usual, lower, of_kind, own)] == [0.95, 0.8, 0.99, 0.999]


def test_serving_the_next_job_in_full_asks_for_more_and_says_both_risks() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=1)
    dry = advice_for(part)
    shop.edit_shop(promises={"connector": "next_job"})
    full = advice_for(part)
    assert (dry.promise, full.promise) == ("no_stock_out", "next_job")
    assert full.level > dry.level
    assert full.risk == pytest.approx(dry.risk)
    assert full.broken > full.risk
    assert dry.broken == dry.risk
    assert any("that of not serving the next job in full" in sentence for sentence in full.why)


def test_which_promise_is_settable_for_a_part_too() -> None:
    part, other = a_part_with_uses(MONTHLY_USES), a_part_with_uses(MONTHLY_USES)
    shop.edit_shop(promises={"connector": "next_job"})
    parts.edit_part(part.id, promise="no_stock_out")
    assert (advice_for(part).promise, advice_for(other).promise) == ("no_stock_out", "next_job")
    assert advice_for(part).level < advice_for(other).level
    parts.edit_part(part.id, promise=None)
    assert advice_for(part).promise == "next_job"
    with pytest.raises(Invalid, match="The promise must be one of: no_stock_out, next_job"):
        parts.edit_part(part.id, promise="always")


# ---- odd histories --------------------------------------------------------------------------------------


def test_an_empty_shop_has_an_empty_list() -> None:
    assert reorder_list.reorder_list() == []
    assert order_suggestions.suggested_orders() == []
    assert reorder_list.advice_for_parts([]) == {}


def test_a_use_today_and_one_that_a_wrong_clock_put_in_the_future_count_as_today() -> None:
    today, future = a_part_with_uses(((0, 2),), since=100), a_part_with_uses(((-3, 2),), since=100)
    usage_totals.clear_cache()
    for part in (today, future):
        assert reorder_list.explain_advice(part.id).reckoned.k == pytest.approx(1)
    assert advice_for(today).level == advice_for(future).level


def test_more_use_never_means_a_lower_level() -> None:
    stock_parts = [a_part_with_uses(MONTHLY_USES[:n]) for n in (0, 1, 3, 6, 12)]
    levels = [advice_for(part).level for part in stock_parts]
    assert levels == sorted(levels)
    assert levels[0] < levels[-1]


def test_stock_kept_by_level_is_reckoned_in_portions_and_bought_in_bottles() -> None:
    with days_before_today(300):
        flux = a_part("Rosin flux", "consumable", kept="by level", unit="ml")
        bin_ = a_bin(flux)
        lot = receive.receive(flux.id, 500, bin_.id).lot_ids[0]
    for n, reading in enumerate(range(488, 350, -12)):
        with days_before_today(290 - 20 * n):
            adjustments.count(bin_.id, lot, reading)
    suppliers.add_offer(flux.id, a_supplier(lead_days=10).id, 1200, pack=100)
    explanation = reorder_list.explain_advice(flux.id)
    assert explanation.portion == 12
    assert explanation.advice.level % 12 == 0
    assert 12 <= explanation.advice.level < 100
    assert explanation.advice.order is None
    with days_before_today(0):
        adjustments.count(bin_.id, lot, 5)
    due = advice_for(flux)
    assert due.order is not None
    assert due.order.quantity % 100 == 0
    assert any("100 ml" in sentence for sentence in due.why)


def test_a_bottle_never_used_is_reckoned_by_a_tenth_of_it() -> None:
    with days_before_today(10):
        flux = a_part("Rosin flux", "consumable", kept="by level", unit="ml")
    suppliers.add_offer(flux.id, a_supplier(lead_days=30).id, 1200, pack=100)
    explanation = reorder_list.explain_advice(flux.id)
    assert explanation.portion == 10
    assert explanation.advice.order is not None
    assert explanation.advice.order.quantity == 100


def test_bulk_use_does_not_swell_the_shops_average_job() -> None:
    a_part_with_uses(((100, 3000), (50, 2500), (20, 3500)), unit="mm", name="Ribbon cable")
    pieces = a_part_with_uses()
    assert reorder_list.explain_advice(pieces.id).reckoned.e < 1


# ---- why ------------------------------------------------------------------------------------------------


def test_the_list_says_why_in_words_and_numbers() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=1)
    suppliers.add_offer(part.id, a_supplier().id, 240, pack=10)
    advice = reorder_list.reorder_list()[0]
    assert advice.part.id == part.id
    assert advice.order is not None
    expected = round(advice.yearly_use)
    assert advice.why[:4] == (
        f"Used 12 times in the last 12 months, 18 pieces in all; about {expected} pieces expected in the next.",
        "A delivery from Northgate Components takes 4 days on average, nine in ten within 7 (4 stated, no parcel "
        "seen yet).",
        "1 piece on the shelf: at the reorder point of 1 piece.",
        f"The risk of running dry before the next delivery is {round(100 * advice.risk, 1):g} %; "
        "with 2 pieces it is at most 5 %.",
    )
    assert advice.why[4].startswith(f"Order {advice.order.quantity} pieces, ")


def test_a_part_tells_its_whole_reckoning() -> None:
    part = a_part_with_uses(MONTHLY_USES, on_shelf=1)
    suppliers.add_offer(part.id, a_supplier().id, 240, pack=10)
    explanation = reorder_list.explain_advice(part.id)
    spread = np.cumsum(explanation.reckoned.pieces)
    assert 1 - spread[1] == pytest.approx(explanation.advice.risk, abs=1e-9)
    assert spread[explanation.advice.level] >= 0.95 > spread[explanation.advice.level - 1]
    assert len(explanation.uses) == 12
    text = " ".join(explanation.sentences)
    for phrase in (
        "12 uses, which weigh",
        "jobs a month",
        "pieces a job",
        "nine times in ten it is at most",
        "the reorder point of",
    ):
        assert phrase in text


def test_it_says_when_there_is_no_such_part_or_kind() -> None:
    with pytest.raises(NotFound, match="There is no part 999"):
        reorder_list.explain_advice(999)
    with pytest.raises(NotFound, match="There is no part 999"):
        reorder_list.advice_for_parts([999])
    with pytest.raises(Invalid, match="The kind must be one of"):
        reorder_list.reorder_list(kind="cake")
