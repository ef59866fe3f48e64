"""How many to order, from whom, at what cost; and what deliveries teach of the wait."""

from __future__ import annotations

import math

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine, SupplierRecord
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive, undo
from inventory.domain.reorder import reorder_list
from tests.factories import a_bin, a_job, a_placed_order
from tests.reorder_factories import MONTHLY_USES, a_part_with_uses, a_supplier, advice_for, days_before_today

pytestmark = pytest.mark.usefixtures("bench", "made_up_day")


# ---- how many, from whom, at what cost ------------------------------------------------------------------


def test_it_orders_whole_packs_at_the_offers_price() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    offer = suppliers.add_offer(part.id, a_supplier().id, 240, pack=10, breaks=[[3, 200]])
    order = advice_for(part).order
    assert order is not None
    assert order.offer == offer
    assert order.quantity % 10 == 0
    assert order.packs == order.quantity // 10
    assert order.cost_minor == offer.cost_of(order.quantity)
    assert order.quantity >= advice_for(part).level


def test_a_part_hardly_ever_used_that_comes_in_days_need_not_be_kept() -> None:
    part = a_part_with_uses(MONTHLY_USES[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=2).id, 900)
    advice = advice_for(part)
    assert (advice.level, advice.reorder_point, advice.order) == (0, -1, None)
    assert advice.risk < 0.05
    assert "None on the shelf: none need be kept." in advice.why
    jobs.set_need(a_job().id, part.id, 2)
    advice_with_job = advice_for(part)
    assert advice_with_job.order is not None
    assert advice_with_job.order.quantity >= 2
    assert (
        "Jobs already want more than there is and is on order; with just enough for them the risk of running dry is "
        "at most 5 %." in advice_with_job.why
    )


def test_a_level_for_a_delivery_of_a_year_blames_the_delivery_and_not_the_pack() -> None:
    part = a_part_with_uses(MONTHLY_USES[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=1000).id, 900)
    advice = advice_for(part)
    assert advice.order is not None
    assert (advice.order.decided_by, advice.order.long_lasting) == ("level", True)
    assert advice.why[-1].endswith("of use, because a delivery takes long: look for a faster supplier.")


def test_the_account_counts_one_piece_as_one() -> None:
    part = a_part_with_uses(MONTHLY_USES[:2])
    suppliers.add_offer(part.id, a_supplier(lead_days=9).id, 900)
    account = " ".join(reorder_list.explain_advice(part.id).sentences)
    assert "95 % of the time takes 1 piece; to serve" in account
    assert "1 pieces" not in account


def test_it_orders_no_less_than_the_minimum() -> None:
    part = a_part_with_uses(MONTHLY_USES[:1])
    suppliers.add_offer(part.id, a_supplier(lead_days=30).id, 900, minimum=25)
    advice = advice_for(part)
    assert advice.order is not None
    assert (advice.order.quantity, advice.order.decided_by, advice.order.long_lasting) == (25, "minimum", True)
    assert advice.why[-1].startswith("The least to be had is ")


def test_a_pack_of_a_thousand_for_a_part_used_once_a_year_says_how_long_it_lasts() -> None:
    part = a_part_with_uses(((200, 1),), since=730)
    suppliers.add_offer(part.id, a_supplier(lead_days=30).id, 9000, pack=1000)
    advice = advice_for(part)
    assert advice.order is not None
    assert advice.order.quantity == 1000
    assert advice.order.pack_years == pytest.approx(1000 / advice.yearly_use)
    assert advice.why[-1] == "A pack is over 100 years of use: ask for fewer, or look for another supplier."


def test_a_pack_that_is_fourteen_years_of_use_is_called_that() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    pack = round(14 * advice_for(part).yearly_use)
    suppliers.add_offer(part.id, a_supplier().id, 9000, pack=pack)
    assert advice_for(part).why[-1] == "A pack is 14 years of use: ask for fewer, or look for another supplier."


def test_it_buys_from_whoever_is_cheapest_over_a_year() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    near, far = a_supplier(), a_supplier("Quayside Spares")
    suppliers.add_offer(part.id, near.id, 60)
    cheap = suppliers.add_offer(part.id, far.id, 40)
    assert _bought_from(part) == cheap.id
    reel = suppliers.add_offer(part.id, far.id, 3000, pack=1000, supplier_number="REEL")
    assert _bought_from(part) == cheap.id  # 3 a piece, but a life's supply of them
    choices = reorder_list.explain_advice(part.id).choices
    assert [choice.chosen for choice in choices] == [True, False, False]
    assert [choice.yearly_cost_minor for choice in choices] == sorted(c.yearly_cost_minor for c in choices)
    assert {choice.offer.id for choice in choices if choice.order.long_lasting} == {reel.id}


def _bought_from(part: PartRecord) -> int | None:
    order = advice_for(part).order
    return order.offer.id if order and order.offer else None


def test_a_slow_supplier_pays_for_the_stock_it_makes_necessary() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    near, far = a_supplier(lead_days=2), a_supplier("Quayside Spares", lead_days=60)
    quick = suppliers.add_offer(part.id, near.id, 1000)
    suppliers.add_offer(part.id, far.id, 990)
    assert _bought_from(part) == quick.id


def test_the_owners_preferred_offer_wins_and_one_no_longer_sold_never_does() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    cheap = suppliers.add_offer(part.id, a_supplier().id, 40)
    dear = suppliers.add_offer(part.id, a_supplier("Quayside Spares").id, 400, preferred=True)
    assert _bought_from(part) == dear.id
    suppliers.edit_offer(dear.id, active=False)
    assert _bought_from(part) == cheap.id
    suppliers.edit_supplier(cheap.supplier_id, active=False)
    assert _bought_from(part) is None


def test_a_part_that_nobody_sells_is_listed_all_the_same() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    advice = reorder_list.reorder_list()[0]
    assert (advice.part.id, advice.lead.assumed, advice.lead.stated_days) == (part.id, True, 7)
    assert advice.order is not None
    assert (advice.order.supplier_id, advice.order.cost_minor, advice.order.quantity) == (None, None, advice.level)
    assert any(sentence.startswith("Nobody is known to sell it") for sentence in advice.why)


def test_without_an_offer_it_goes_back_to_whoever_delivered_last() -> None:
    seller = a_supplier(lead_days=9)
    part = a_part_with_uses()
    with days_before_today(100):
        receive.receive(part.id, 4, a_bin(part).id, supplier_id=seller.id, cost_minor=100)
    jobs.set_need(a_job().id, part.id, 6)
    advice = advice_for(part)
    assert advice.order is not None
    assert (advice.order.supplier_id, advice.order.offer, advice.lead.stated_days) == (seller.id, None, 9)
    assert advice.order.cost_minor == 25 * advice.order.quantity
    assert any("delivered it last, but has no offer noted: ask for the price" in sentence for sentence in advice.why)


def test_a_supplier_without_offers_changes_nothing() -> None:
    part = a_part_with_uses(MONTHLY_USES)
    before = advice_for(part)
    a_supplier()
    assert advice_for(part) == before


# ---- lead times -----------------------------------------------------------------------------------------


def ordered(part: PartRecord, seller: SupplierRecord, days_ago: float, *parcels: tuple[float, int]) -> list[int]:
    """Place an order so many days ago, and let parcels come after so many days with so many."""
    with days_before_today(days_ago):
        order = a_placed_order(seller.id, [NewOrderLine(part.id, sum(n for _, n in parcels))])
    entries = []
    bin_ = a_bin(part)
    for days, quantity in parcels:
        with days_before_today(days_ago - days):
            entries.append(receive.receive(part.id, quantity, bin_.id, order_line_id=order.lines[0].id).entry)
    return entries


def test_the_lead_time_is_learned_from_each_parcel() -> None:
    part, seller = a_part_with_uses(MONTHLY_USES), a_supplier(lead_days=4)
    suppliers.add_offer(part.id, seller.id, 40)
    stated = advice_for(part)
    assert (stated.lead.mean_days, stated.lead.deliveries) == (4, 0)
    ordered(part, seller, 300, (12, 1), (20, 1))
    taught = advice_for(part)
    assert taught.lead.deliveries == 2
    assert taught.lead.mean_days == pytest.approx((2 * 4 + 12 + 20) / 4)
    assert taught.lead.ninety_days == 20
    assert taught.level > stated.level


def test_one_parcel_with_many_lines_teaches_once_and_an_undone_receipt_nothing() -> None:
    part, other, seller = a_part_with_uses(MONTHLY_USES), a_part_with_uses(), a_supplier(lead_days=4)
    suppliers.add_offer(part.id, seller.id, 40)
    with days_before_today(200):
        order = a_placed_order(seller.id, [NewOrderLine(part.id, 2), NewOrderLine(other.id, 2)])
    with days_before_today(190):
        for line in order.lines:
            last = receive.receive(line.part.id, 2, a_bin(line.part).id, order_line_id=line.id)
    assert advice_for(part).lead.deliveries == 1
    assert advice_for(part).lead.mean_days == pytest.approx(6)
    undo.undo(last.entry)
    assert advice_for(part).lead.deliveries == 1
    undo.undo(last.entry - 1)
    assert advice_for(part).lead.deliveries == 0


def test_parts_made_to_order_do_not_slow_those_from_stock() -> None:
    stock, made_to_order, seller = a_part_with_uses(MONTHLY_USES), a_part_with_uses(), a_supplier(lead_days=4)
    suppliers.add_offer(stock.id, seller.id, 40)
    suppliers.add_offer(made_to_order.id, seller.id, 9000, lead_days=40)
    ordered(made_to_order, seller, 200, (50, 1))
    assert advice_for(stock).lead.deliveries == 0
    assert (advice_for(made_to_order).lead.stated_days, advice_for(made_to_order).lead.deliveries) == (40, 1)


@pytest.mark.parametrize("lead_days", [0, 400])
def test_a_lead_time_of_none_or_of_more_than_a_year_is_reckoned_with(lead_days: int) -> None:
    part = a_part_with_uses(MONTHLY_USES)
    suppliers.add_offer(part.id, a_supplier(lead_days=lead_days).id, 40)
    explanation = reorder_list.explain_advice(part.id)
    assert explanation.advice.lead.mean_days == lead_days
    assert math.isfinite(explanation.advice.risk)
    assert explanation.reckoned.day_chances.sum() == pytest.approx(1)
    if lead_days:
        assert explanation.advice.level > 0.5 * explanation.advice.yearly_use
    else:
        assert explanation.advice.level <= 2
