"""The reorder list: what to order, how many, from whom, at what cost, why; and what it makes of odd histories."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from inventory.stock import (
    clock,
    jobs,
    lots,
    ordering,
    parcels,
    parts,
    pull,
    receive,
    reorder,
    shift,
    shop,
    suppliers,
    undo,
    usage_sums,
)
from inventory.stock.records import PartRecord
from inventory.stock.records_orders import Advice, NewLine, SupplierRecord
from inventory.stock.refusals import Conflict, Invalid, NotFound
from tests.making import a_bin, a_job, a_part

pytestmark = pytest.mark.usefixtures("bench")

TODAY = datetime(2026, 6, 1, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def begin() -> Iterator[None]:
    """Let every test happen on the same day."""
    with clock.set_to(TODAY):
        yield


def ago(days: float) -> Any:
    return clock.set_to(TODAY - timedelta(days=days))


def a_supplier(name: str = "Northgate Components", lead_days: int = 4, shipping_minor: int = 600) -> SupplierRecord:
    return suppliers.add_supplier(name, lead_days=lead_days, shipping_minor=shipping_minor)


def kept(uses: tuple[tuple[float, int], ...] = (), on_shelf: int = 0, since: float = 365, **more: Any) -> PartRecord:
    """A part kept for so many days, with jobs so many days ago that took so many, and so many left."""
    with ago(since):
        part = a_part(**more)
        bin_ = a_bin(part)
        taken = sum(quantity for _, quantity in uses)
        if taken + on_shelf:
            receive.receive(part.id, taken + on_shelf, bin_.id)
    for days, quantity in uses:
        with ago(days):
            pull.pull(quantity, bin_id=bin_.id, job_id=a_job().id)
    return part


def advice(part: PartRecord) -> Advice:
    return reorder.advice_of([part.id])[part.id]


MONTHLY = tuple((30.0 * n + 1, 1 + n % 2) for n in range(12))


# ---- the formula, from the ledger to the page ------------------------------------------------------------


def test_a_part_nobody_used_in_an_empty_shop_is_example_x1() -> None:
    """Worked example X1 of the documented numbers: a = 1, B = 4, c = 4, d = 1.2; 46 days are 1.51 months."""
    shop.edit_shop(looks_days=0, lead_variation=0.01)
    part = kept(since=0)
    suppliers.add_offer(part.id, a_supplier(lead_days=46).id, 30)
    for target, level in ((0.90, 2), (0.95, 4), (0.98, 6)):
        shop.edit_shop(target=target)
        found = reorder.reckoning_of(part.id)
        assert (found.advice.level, found.advice.reorder_point) == (level, level - 1)
    why = found.reckoned
    assert (why.a, why.B, why.c, why.d) == pytest.approx((1, 4, 4, 1.2))
    assert found.advice.risk == pytest.approx(1 - 0.727273, abs=0.002)
    shop.edit_shop(promise="next_job", target=0.9)
    assert advice(part).level == 6  # served in full by 5: .867851, by 6: .905996


def test_a_history_in_the_ledger_weighs_what_example_x2_says() -> None:
    """Worked example X2: catalogued 365 days ago by a 2-piece job, then four jobs."""
    with ago(365):
        first = a_job()
        part = a_part(catalogued_for=first.id)
        bin_ = a_bin(part)
        receive.receive(part.id, 30, bin_.id)
        pull.pull(2, bin_id=bin_.id, job_id=first.id)
    for days, quantity in ((300, 1), (130, 4), (75, 1), (10, 2)):
        with ago(days):
            pull.pull(quantity, bin_id=bin_.id, job_id=a_job().id)
    why = reorder.reckoning_of(part.id).reckoned
    assert (why.k, why.T, why.kz, why.s) == pytest.approx((3.195818, 8.660275, 3.696055, 3.825552), abs=1e-6)


def test_one_off_use_and_the_job_it_was_catalogued_for_do_not_make_it_a_fast_mover() -> None:
    ordinary, special = kept(((20, 8),), since=30), kept(since=30)
    with ago(20):
        bin_ = a_bin(special)
        receive.receive(special.id, 8, bin_.id)
        pull.pull(8, bin_id=bin_.id, job_id=a_job().id, one_off=True)
    assert reorder.reckoning_of(special.id).reckoned.k == 0
    assert advice(special).level < advice(ordinary).level


# ---- due or not ------------------------------------------------------------------------------------------


def test_it_lists_a_part_when_its_position_is_at_the_reorder_point() -> None:
    part = kept(MONTHLY, on_shelf=0)
    point = advice(part).reorder_point
    assert point >= 1
    bin_ = a_bin(part)
    receive.receive(part.id, point, bin_.id)
    assert [one.part.id for one in reorder.reorder_list()] == [part.id]
    receive.receive(part.id, 1, bin_.id)
    assert reorder.reorder_list() == []
    assert advice(part).order is None


def test_what_is_on_order_counts_and_what_is_promised_or_on_hold_does_not() -> None:
    part = kept(MONTHLY, on_shelf=20)
    assert advice(part).order is None
    lot = lots.lots(part_id=part.id).items[0]
    lots.hold(lot.id, "bent pins")
    held = advice(part)
    assert (held.position, held.stock.on_hold) == (0, 20)
    assert held.order is not None
    assert any("20 pieces on hold, which do not count" in sentence for sentence in held.why)
    lots.release(lot.id)
    jobs.set_need(a_job().id, part.id, 19)
    assert advice(part).position == 1
    order = ordering.draft_order(a_supplier().id, [NewLine(part.id, 7)])
    assert advice(part).position == 1
    ordering.place_order(order.id)
    assert advice(part).position == 8


def test_parts_that_jobs_wait_for_come_first_then_the_likeliest_to_run_dry() -> None:
    busy, slow, waited_for = kept(MONTHLY), kept(MONTHLY[:2]), kept()
    jobs.set_need(a_job().id, waited_for.id, 1)
    listed = reorder.reorder_list()
    assert [one.part.id for one in listed] == [waited_for.id, busy.id, slow.id]
    assert listed[0].short_for_jobs == 1
    assert listed[0].risk == 1
    assert listed[1].risk > listed[2].risk
    assert [one.part.id for one in reorder.reorder_list(limit=1)] == [waited_for.id]


def test_a_retired_part_is_on_no_list() -> None:
    part = kept(MONTHLY)
    parts.edit_part(part.id, retired=True)
    assert reorder.reorder_list() == []
    assert advice(part).order is None


def test_the_owner_may_fix_a_level() -> None:
    part = kept(MONTHLY, on_shelf=3)
    parts.edit_part(part.id, level=9)
    fixed = advice(part)
    assert (fixed.level, fixed.reorder_point, fixed.level_fixed) == (9, 8, True)
    assert fixed.order is not None
    assert fixed.order.quantity >= 6
    assert any("the owner has set a level of 9 pieces" in sentence for sentence in fixed.why)
    parts.edit_part(part.id, level=0)
    assert advice(part).order is None
    jobs.set_need(a_job().id, part.id, 4)
    assert advice(part).order is not None  # a level of 0 still buys what jobs want


def test_the_promise_is_settable_for_a_part_a_kind_and_the_shop() -> None:
    part = kept(MONTHLY)
    usual = advice(part)
    shop.edit_shop(target=0.8)
    lower = advice(part)
    shop.edit_shop(targets={"connector": 0.99})
    of_kind = advice(part)
    parts.edit_part(part.id, target=0.999)
    own = advice(part)
    assert lower.level < usual.level < of_kind.level < own.level
    assert [one.target for one in (usual, lower, of_kind, own)] == [0.95, 0.8, 0.99, 0.999]


def test_serving_the_next_job_in_full_asks_for_more_and_says_both_risks() -> None:
    part = kept(MONTHLY, on_shelf=1)
    dry = advice(part)
    shop.edit_shop(promises={"connector": "next_job"})
    full = advice(part)
    assert (dry.promise, full.promise) == ("no_stock_out", "next_job")
    assert full.level > dry.level
    assert full.risk == pytest.approx(dry.risk)
    assert full.broken > full.risk
    assert dry.broken == dry.risk
    assert any("that of not serving the next job in full" in sentence for sentence in full.why)


def test_which_promise_is_settable_for_a_part_too() -> None:
    part, other = kept(MONTHLY), kept(MONTHLY)
    shop.edit_shop(promises={"connector": "next_job"})
    parts.edit_part(part.id, promise="no_stock_out")
    assert (advice(part).promise, advice(other).promise) == ("no_stock_out", "next_job")
    assert advice(part).level < advice(other).level
    parts.edit_part(part.id, promise=None)
    assert advice(part).promise == "next_job"
    with pytest.raises(Invalid, match="The promise must be one of: no_stock_out, next_job"):
        parts.edit_part(part.id, promise="always")


# ---- how many, from whom, at what cost -------------------------------------------------------------------


def test_it_orders_whole_packs_at_the_offers_price() -> None:
    part = kept(MONTHLY)
    offer = suppliers.add_offer(part.id, a_supplier().id, 240, pack=10, breaks=[[3, 200]])
    order = advice(part).order
    assert order is not None
    assert order.offer == offer
    assert order.quantity % 10 == 0
    assert order.packs == order.quantity // 10
    assert order.cost_minor == offer.cost_of(order.quantity)
    assert order.quantity >= advice(part).level


def test_a_part_hardly_ever_used_that_comes_in_days_need_not_be_kept() -> None:
    part = kept(MONTHLY[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=2).id, 900)
    found = advice(part)
    assert (found.level, found.reorder_point, found.order) == (0, -1, None)
    assert found.risk < 0.05
    assert "None on the shelf: none need be kept." in found.why
    jobs.set_need(a_job().id, part.id, 2)
    wanted = advice(part)
    assert wanted.order is not None
    assert wanted.order.quantity >= 2
    assert (
        "Jobs already want more than there is and is on order; with just enough for them the risk of running dry is "
        "at most 5 %." in wanted.why
    )


def test_a_level_for_a_delivery_of_a_year_blames_the_delivery_and_not_the_pack() -> None:
    part = kept(MONTHLY[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=1000).id, 900)
    found = advice(part)
    assert found.order is not None
    assert (found.order.decided_by, found.order.long_lasting) == ("level", True)
    assert found.why[-1].endswith("of use, because a delivery takes long: look for a faster supplier.")


def test_the_account_counts_one_piece_as_one() -> None:
    part = kept(MONTHLY[:2])
    suppliers.add_offer(part.id, a_supplier(lead_days=9).id, 900)
    account = " ".join(reorder.reckoning_of(part.id).sentences)
    assert "95 % of the time takes 1 piece; to serve" in account
    assert "1 pieces" not in account


def test_it_orders_no_less_than_the_minimum() -> None:
    part = kept(MONTHLY[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=30).id, 900, minimum=25)
    found = advice(part)
    assert found.order is not None
    assert (found.order.quantity, found.order.decided_by, found.order.long_lasting) == (25, "minimum", True)
    assert found.why[-1].startswith("The least to be had is ")


def test_a_pack_of_a_thousand_for_a_part_used_once_a_year_says_how_long_it_lasts() -> None:
    part = kept(((200, 1),), since=730)
    suppliers.add_offer(part.id, a_supplier(lead_days=30).id, 9000, pack=1000)
    found = advice(part)
    assert found.order is not None
    assert found.order.quantity == 1000
    assert found.order.pack_years == pytest.approx(1000 / found.yearly_use)
    assert found.why[-1] == "A pack is over 100 years of use: ask for fewer, or look for another supplier."


def test_a_pack_that_is_fourteen_years_of_use_is_called_that() -> None:
    part = kept(MONTHLY)
    pack = round(14 * advice(part).yearly_use)
    suppliers.add_offer(part.id, a_supplier().id, 9000, pack=pack)
    assert advice(part).why[-1] == "A pack is 14 years of use: ask for fewer, or look for another supplier."


def test_it_buys_from_whoever_is_cheapest_over_a_year() -> None:
    part = kept(MONTHLY)
    near, far = a_supplier(), a_supplier("Quayside Spares")
    suppliers.add_offer(part.id, near.id, 60)
    cheap = suppliers.add_offer(part.id, far.id, 40)
    assert _bought_from(part) == cheap.id
    reel = suppliers.add_offer(part.id, far.id, 3000, pack=1000, supplier_number="REEL")
    assert _bought_from(part) == cheap.id  # 3 a piece, but a life's supply of them
    choices = reorder.reckoning_of(part.id).choices
    assert [choice.chosen for choice in choices] == [True, False, False]
    assert [choice.yearly_cost_minor for choice in choices] == sorted(c.yearly_cost_minor for c in choices)
    assert {choice.offer.id for choice in choices if choice.order.long_lasting} == {reel.id}


def _bought_from(part: PartRecord) -> int | None:
    order = advice(part).order
    return order.offer.id if order and order.offer else None


def test_a_slow_supplier_pays_for_the_stock_it_makes_necessary() -> None:
    part = kept(MONTHLY)
    near, far = a_supplier(lead_days=2), a_supplier("Quayside Spares", lead_days=60)
    quick = suppliers.add_offer(part.id, near.id, 1000)
    suppliers.add_offer(part.id, far.id, 990)
    assert _bought_from(part) == quick.id


def test_the_owners_preferred_offer_wins_and_one_no_longer_sold_never_does() -> None:
    part = kept(MONTHLY)
    cheap = suppliers.add_offer(part.id, a_supplier().id, 40)
    dear = suppliers.add_offer(part.id, a_supplier("Quayside Spares").id, 400, preferred=True)
    assert _bought_from(part) == dear.id
    suppliers.edit_offer(dear.id, active=False)
    assert _bought_from(part) == cheap.id
    suppliers.edit_supplier(cheap.supplier_id, active=False)
    assert _bought_from(part) is None


def test_a_part_that_nobody_sells_is_listed_all_the_same() -> None:
    part = kept(MONTHLY)
    found = reorder.reorder_list()[0]
    assert (found.part.id, found.lead.assumed, found.lead.stated_days) == (part.id, True, 7)
    assert found.order is not None
    assert (found.order.supplier_id, found.order.cost_minor, found.order.quantity) == (None, None, found.level)
    assert any(sentence.startswith("Nobody is known to sell it") for sentence in found.why)


def test_without_an_offer_it_goes_back_to_whoever_delivered_last() -> None:
    seller = a_supplier(lead_days=9)
    part = kept()
    with ago(100):
        receive.receive(part.id, 4, a_bin(part).id, supplier_id=seller.id, cost_minor=100)
    jobs.set_need(a_job().id, part.id, 6)
    found = advice(part)
    assert found.order is not None
    assert (found.order.supplier_id, found.order.offer, found.lead.stated_days) == (seller.id, None, 9)
    assert found.order.cost_minor == 25 * found.order.quantity
    assert any("delivered it last, but has no offer noted: ask for the price" in sentence for sentence in found.why)


def test_a_supplier_without_offers_changes_nothing() -> None:
    part = kept(MONTHLY)
    before = advice(part)
    a_supplier()
    assert advice(part) == before


# ---- lead times ------------------------------------------------------------------------------------------


def ordered(part: PartRecord, seller: SupplierRecord, days_ago: float, *parcels: tuple[float, int]) -> list[int]:
    """Place an order so many days ago, and let parcels come after so many days with so many."""
    with ago(days_ago):
        order = ordering.draft_order(seller.id, [NewLine(part.id, sum(n for _, n in parcels))])
        ordering.place_order(order.id)
    entries = []
    bin_ = a_bin(part)
    for days, quantity in parcels:
        with ago(days_ago - days):
            entries.append(receive.receive(part.id, quantity, bin_.id, order_line_id=order.lines[0].id).entry)
    return entries


def test_the_lead_time_is_learned_from_each_parcel() -> None:
    part, seller = kept(MONTHLY), a_supplier(lead_days=4)
    suppliers.add_offer(part.id, seller.id, 40)
    stated = advice(part)
    assert (stated.lead.mean_days, stated.lead.deliveries) == (4, 0)
    ordered(part, seller, 300, (12, 1), (20, 1))
    taught = advice(part)
    assert taught.lead.deliveries == 2
    assert taught.lead.mean_days == pytest.approx((2 * 4 + 12 + 20) / 4)
    assert taught.lead.ninety_days == 20
    assert taught.level > stated.level


def test_one_parcel_with_many_lines_teaches_once_and_an_undone_receipt_nothing() -> None:
    part, other, seller = kept(MONTHLY), kept(), a_supplier(lead_days=4)
    suppliers.add_offer(part.id, seller.id, 40)
    with ago(200):
        order = ordering.draft_order(seller.id, [NewLine(part.id, 2), NewLine(other.id, 2)])
        ordering.place_order(order.id)
    with ago(190):
        for line in order.lines:
            last = receive.receive(line.part.id, 2, a_bin(line.part).id, order_line_id=line.id)
    assert advice(part).lead.deliveries == 1
    assert advice(part).lead.mean_days == pytest.approx(6)
    undo.undo(last.entry)
    assert advice(part).lead.deliveries == 1
    undo.undo(last.entry - 1)
    assert advice(part).lead.deliveries == 0


def test_parts_made_to_order_do_not_slow_those_from_stock() -> None:
    stock, made, seller = kept(MONTHLY), kept(), a_supplier(lead_days=4)
    suppliers.add_offer(stock.id, seller.id, 40)
    suppliers.add_offer(made.id, seller.id, 9000, lead_days=40)
    ordered(made, seller, 200, (50, 1))
    assert advice(stock).lead.deliveries == 0
    assert (advice(made).lead.stated_days, advice(made).lead.deliveries) == (40, 1)


@pytest.mark.parametrize("lead_days", [0, 400])
def test_a_lead_time_of_none_or_of_more_than_a_year_is_reckoned_with(lead_days: int) -> None:
    part = kept(MONTHLY)
    suppliers.add_offer(part.id, a_supplier(lead_days=lead_days).id, 40)
    found = reorder.reckoning_of(part.id)
    assert found.advice.lead.mean_days == lead_days
    assert math.isfinite(found.advice.risk)
    assert found.reckoned.day_chances.sum() == pytest.approx(1)
    if lead_days:
        assert found.advice.level > 0.5 * found.advice.yearly_use
    else:
        assert found.advice.level <= 2


# ---- odd histories ---------------------------------------------------------------------------------------


def test_an_empty_shop_has_an_empty_list() -> None:
    assert reorder.reorder_list() == []
    assert parcels.suggested_orders() == []
    assert reorder.advice_of([]) == {}


def test_a_use_today_and_one_that_a_wrong_clock_put_in_the_future_count_as_today() -> None:
    today, future = kept(((0, 2),), since=100), kept(((-3, 2),), since=100)
    usage_sums.forget()
    for part in (today, future):
        assert reorder.reckoning_of(part.id).reckoned.k == pytest.approx(1)
    assert advice(today).level == advice(future).level


def test_more_use_never_means_a_lower_level() -> None:
    some = [kept(MONTHLY[:n]) for n in (0, 1, 3, 6, 12)]
    levels = [advice(part).level for part in some]
    assert levels == sorted(levels)
    assert levels[0] < levels[-1]


def test_stock_kept_by_level_is_reckoned_in_portions_and_bought_in_bottles() -> None:
    with ago(300):
        flux = a_part("Rosin flux", "consumable", kept="by level", unit="ml")
        bin_ = a_bin(flux)
        lot = receive.receive(flux.id, 500, bin_.id).lot_ids[0]
    for n, reading in enumerate(range(488, 350, -12)):
        with ago(290 - 20 * n):
            shift.count(bin_.id, lot, reading)
    suppliers.add_offer(flux.id, a_supplier(lead_days=10).id, 1200, pack=100)
    found = reorder.reckoning_of(flux.id)
    assert found.portion == 12
    assert found.advice.level % 12 == 0
    assert 12 <= found.advice.level < 100
    assert found.advice.order is None
    with ago(0):
        shift.count(bin_.id, lot, 5)
    due = advice(flux)
    assert due.order is not None
    assert due.order.quantity % 100 == 0
    assert any("100 ml" in sentence for sentence in due.why)


def test_a_bottle_never_used_is_reckoned_by_a_tenth_of_it() -> None:
    with ago(10):
        flux = a_part("Rosin flux", "consumable", kept="by level", unit="ml")
    suppliers.add_offer(flux.id, a_supplier(lead_days=30).id, 1200, pack=100)
    found = reorder.reckoning_of(flux.id)
    assert found.portion == 10
    assert found.advice.order is not None
    assert found.advice.order.quantity == 100


def test_bulk_use_does_not_swell_the_shops_average_job() -> None:
    kept(((100, 3000), (50, 2500), (20, 3500)), unit="mm", name="Ribbon cable")
    pieces = kept()
    assert reorder.reckoning_of(pieces.id).reckoned.e < 1


# ---- why -------------------------------------------------------------------------------------------------


def test_the_list_says_why_in_words_and_numbers() -> None:
    part = kept(MONTHLY, on_shelf=1)
    suppliers.add_offer(part.id, a_supplier().id, 240, pack=10)
    found = reorder.reorder_list()[0]
    assert found.part.id == part.id
    assert found.order is not None
    expected = round(found.yearly_use)
    assert found.why[:4] == (
        f"Used 12 times in the last 12 months, 18 pieces in all; about {expected} pieces expected in the next.",
        "A delivery from Northgate Components takes 4 days on average, nine in ten within 7 (4 stated, no parcel "
        "seen yet).",
        "1 piece on the shelf: at the reorder point of 1 piece.",
        f"The risk of running dry before the next delivery is {round(100 * found.risk, 1):g} %; "
        "with 2 pieces it is at most 5 %.",
    )
    assert found.why[4].startswith(f"Order {found.order.quantity} pieces, ")


def test_a_part_tells_its_whole_reckoning() -> None:
    part = kept(MONTHLY, on_shelf=1)
    suppliers.add_offer(part.id, a_supplier().id, 240, pack=10)
    found = reorder.reckoning_of(part.id)
    spread = np.cumsum(found.reckoned.pieces)
    assert 1 - spread[1] == pytest.approx(found.advice.risk, abs=1e-9)
    assert spread[found.advice.level] >= 0.95 > spread[found.advice.level - 1]
    assert len(found.uses) == 12
    text = " ".join(found.sentences)
    for said in (
        "12 uses, which weigh",
        "jobs a month",
        "pieces a job",
        "nine times in ten it is at most",
        "the reorder point of",
    ):
        assert said in text


def test_it_says_when_there_is_no_such_part_or_kind() -> None:
    with pytest.raises(NotFound, match="There is no part 999"):
        reorder.reckoning_of(999)
    with pytest.raises(NotFound, match="There is no part 999"):
        reorder.advice_of([999])
    with pytest.raises(Invalid, match="The kind must be one of"):
        reorder.reorder_list(kind="cake")


# ---- from the list to an order ---------------------------------------------------------------------------


def test_it_suggests_one_order_a_supplier() -> None:
    near, far = a_supplier(), a_supplier("Quayside Spares", shipping_minor=900)
    some = [kept(MONTHLY), kept(MONTHLY), kept(MONTHLY)]
    for part, seller in zip(some, (near, near, far), strict=True):
        suppliers.add_offer(part.id, seller.id, 40)
    kept(MONTHLY)  # nobody sells it
    found = {one.supplier_id: one for one in parcels.suggested_orders()}
    assert {key: len(one.advices) for key, one in found.items()} == {near.id: 2, far.id: 1, None: 1}
    assert found[near.id].goods_minor == sum(a.order.cost_minor or 0 for a in found[near.id].advices if a.order)
    assert (found[far.id].shipping_minor, found[near.id].unpriced, found[None].unpriced) == (900, 0, 1)
    assert [one.part.id for one in reorder.reorder_list(supplier_id=far.id)] == [some[2].id]


def test_a_suggested_order_drafted_and_placed_leaves_the_list() -> None:
    seller = a_supplier()
    some = [kept(MONTHLY), kept(MONTHLY)]
    for part in some:
        suppliers.add_offer(part.id, seller.id, 240, pack=10)
    listed = {one.part.id: one for one in reorder.reorder_list()}
    draft = parcels.draft_suggested(seller.id, [some[0].id])
    order = listed[some[0].id].order
    assert order is not None
    assert [(x.part.id, x.quantity, x.cost_minor) for x in draft.lines] == [
        (some[0].id, order.quantity, order.cost_minor)
    ]
    ordering.place_order(draft.id)
    assert [one.part.id for one in reorder.reorder_list()] == [some[1].id]
    ordering.place_order(parcels.draft_suggested(seller.id).id)
    assert reorder.reorder_list() == []
    with pytest.raises(Conflict, match="None of this is due from that supplier"):
        parcels.draft_suggested(seller.id)


# ---- what comes along in the same parcel -----------------------------------------------------------------


def above_its_point(seller: SupplierRecord, more: int, price: int = 20) -> PartRecord:
    """A part that stands so many pieces above its reorder point, sold by somebody."""
    part = kept(MONTHLY)
    suppliers.add_offer(part.id, seller.id, price)
    receive.receive(part.id, advice(part).reorder_point + more, a_bin(part).id)
    return part


def test_a_part_near_its_reorder_point_comes_along_when_a_parcel_goes_anyway() -> None:
    seller = a_supplier(shipping_minor=900)
    near = above_its_point(seller, 1)
    assert parcels.suggested_orders() == []
    due = kept(MONTHLY)
    suppliers.add_offer(due.id, seller.id, 20)
    (found,) = parcels.suggested_orders()
    assert [one.part.id for one in found.advices] == [due.id]
    (joined,) = found.joining
    assert joined.advice.part.id == near.id
    assert joined.advice.order is not None
    assert joined.days_early == round(365.25 / joined.advice.yearly_use)
    assert 0 < joined.held_minor < found.saved_minor
    assert found.goods_minor == sum(one.order.cost_minor or 0 for one in found.lines if one.order)
    assert found.shipping_each_minor == 450


def test_the_draft_of_a_suggested_order_holds_what_comes_along_unless_it_was_left_out() -> None:
    seller = a_supplier(shipping_minor=900)
    near, due = above_its_point(seller, 1), kept(MONTHLY)
    suppliers.add_offer(due.id, seller.id, 20)
    (found,) = parcels.suggested_orders()
    draft = parcels.draft_suggested(seller.id)
    assert [(x.part.id, x.quantity, x.cost_minor) for x in draft.lines] == [
        (one.part.id, one.order.quantity, one.order.cost_minor) for one in found.lines if one.order
    ]
    assert [x.part.id for x in parcels.draft_suggested(seller.id, [due.id]).lines] == [due.id]
    assert [x.part.id for x in parcels.draft_suggested(seller.id, [near.id]).lines] == [near.id]


def test_nothing_comes_along_without_shipping_to_save_or_from_another_supplier() -> None:
    free, other = a_supplier(shipping_minor=0), a_supplier("Quayside Spares")
    above_its_point(free, 1)
    above_its_point(other, 1)
    due = kept(MONTHLY)
    suppliers.add_offer(due.id, free.id, 20)
    (found,) = parcels.suggested_orders()
    assert (found.supplier_id, found.joining, found.saved_minor) == (free.id, (), 0)


def test_a_whole_range_does_not_come_along() -> None:
    seller = a_supplier(shipping_minor=900)
    for _ in range(12):
        above_its_point(seller, 6, price=500)
    due = kept(MONTHLY)
    suppliers.add_offer(due.id, seller.id, 20)
    (found,) = parcels.suggested_orders()
    assert found.joining == ()


# ---- the shop's decisions --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("target", 0), ("target", 1), ("target", 1.0), ("target", "0.95"), ("target", True), ("target", float("nan")),
        ("targets", {"cake": 0.9}), ("targets", {"fan": 1}), ("targets", 0.9), ("promise", "always"),
        ("promises", {"fan": "never"}), ("half_life_months", 0), ("kind_parts", 2.5), ("lead_days", -1),
        ("looks_days", 1000), ("colour", "red"),
    ],
)  # fmt: skip
def test_it_refuses_a_decision_that_cannot_be_reckoned_with(name: str, value: object) -> None:
    with pytest.raises(Invalid) as refused:
        shop.edit_shop(**{"looks_days": 3, name: value})
    assert list(refused.value.errors) == [name]
    assert shop.shop() == shop.Shop()


def test_a_decision_is_kept_and_can_be_put_back_to_its_default() -> None:
    shop.edit_shop(target=0.9, targets={"fan": 0.98}, half_life_months=6)
    assert (shop.shop().target, shop.shop().targets, shop.shop().constants.half_life_months) == (
        0.9,
        {"fan": 0.98},
        6,
    )
    shop.edit_shop(target=None, targets=None)
    assert (shop.shop().target, shop.shop().targets, shop.shop().half_life_months) == (0.95, {}, 6)
    shown = {one.name: one for one in shop.shop_settings()}
    assert (shown["half_life_months"].value, shown["half_life_months"].default) == (6, 12)
    assert all(one.about for one in shown.values())


def test_a_shorter_memory_weighs_old_use_less() -> None:
    part = kept(((300, 1), (280, 1)))
    before = reorder.reckoning_of(part.id).reckoned.k
    shop.edit_shop(half_life_months=3)
    assert reorder.reckoning_of(part.id).reckoned.k < before / 2
