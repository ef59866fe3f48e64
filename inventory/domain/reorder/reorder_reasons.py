"""Says in words and numbers why a part is on the reorder list, and how its figures came about."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from inventory.domain.buying.order_records import LeadTimeRecord, PurchaseSuggestion, ReorderAdvice, UseRecord
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import PartRecord
from inventory.reckoning.common.durations import DAYS_PER_MONTH, DAYS_PER_YEAR
from inventory.reckoning.reorder.explanation import LevelExplanation


def format_chance(chance: float) -> str:
    """Say a chance as a percentage, finer near 0 and 1: 34 %, 3.2 %, 5 %, under 0.1 %."""
    share = 100 * chance
    if share < 0.05:
        return "under 0.1 %"
    if share > 99.95:
        return "over 99.9 %"
    return f"{round(share) if 10 <= share <= 90 else round(share, 1):g} %"


def format_years(years: float) -> str:
    """Say a time of so many years: 14 years, 1.3 years, 5 months, 9 days."""
    if math.isinf(years) or years >= 100:
        return "over 100 years"
    if years >= 1:
        return _count_of(round(years, 1) if years < 10 else round(years), "year")
    if years >= 2 / 12:
        return _count_of(round(years * 12), "month")
    return _count_of(max(1, round(years * DAYS_PER_YEAR)), "day")


def _count_of(value: float, what: str) -> str:
    return f"{value:g} {what}" + ("" if value == 1 else "s")


def add_reasons(advice: ReorderAdvice, times: int, used: int) -> ReorderAdvice:
    """Return the advice with its reasons: it was used so many times, *used* base units, in the last twelve months."""
    part, order = advice.part, advice.order
    said = [
        describe_use(part, times, used, advice.yearly_use),
        describe_lead_time(advice.lead),
        describe_position(advice),
        describe_risk(advice),
    ]
    return replace(advice, why=(*said, *(describe_quantity(order, part) if order else ())))


def describe_use(part: PartRecord, times: int, used: int, yearly_use: float) -> str:
    """Say how much a part was used, and is expected to be."""
    expected = f"about {quantity_text(max(1, round(yearly_use)), part)} expected in the next"
    if yearly_use < 0.5:
        expected = "hardly any expected in the next"
    once = ""
    if times <= 1 and part.catalogued_for_id is not None and part.level is None:
        once = " It was catalogued for one job: if it will not be wanted again, fix its level at 0."
    if not times:
        return f"Not used in the last 12 months; going by the shop's other parts too, {expected}.{once}"
    return (
        f"Used {_times_in_words(times)} in the last 12 months, {quantity_text(used, part)} in all; {expected}.{once}"
    )


def _times_in_words(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def describe_lead_time(lead: LeadTimeRecord) -> str:
    """Say how long a delivery takes and what that was learned from."""
    expected = f"{_count_of(round(lead.mean_days), 'day')} on average, nine in ten within {lead.ninety_days}"
    if lead.assumed:
        return f"Nobody is known to sell it; a delivery is assumed to take {expected}: note an offer."
    seen = f"{_count_of(lead.deliveries, 'parcel')} seen" if lead.deliveries else "no parcel seen yet"
    return f"A delivery from {lead.supplier} takes {expected} ({lead.stated_days} stated, {seen})."


def describe_position(advice: ReorderAdvice) -> str:
    """Say how the position adds up, and where it is against the reorder point."""
    stock, part = advice.stock, advice.part
    said = [f"{quantity_text(stock.on_shelf, part) if stock.on_shelf else 'None'} on the shelf"]
    if stock.on_order:
        said.append(f"{quantity_text(stock.on_order, part)} on order")
    if stock.promised:
        said.append(f"{quantity_text(stock.promised, part)} promised to open jobs")
    if stock.on_hold:
        said.append(f"{quantity_text(stock.on_hold, part)} on hold, which do not count")
    return f"{', '.join(said)}: {_describe_reorder_point(advice)}."


def _describe_reorder_point(advice: ReorderAdvice) -> str:
    if advice.reorder_point < 0:
        return "none need be kept" if advice.position >= 0 else "none is kept, but jobs want some"
    if advice.reorder_point == 0:
        return "order when all are gone" if advice.position > 0 else "nothing is left for the next job, so order now"
    where = "above" if advice.position > advice.reorder_point else "at"
    if advice.position < advice.reorder_point:
        where = "below"
    return f"{where} the reorder point of {quantity_text(advice.reorder_point, advice.part)}"


def describe_risk(advice: ReorderAdvice) -> str:
    """Say the risk as things stand, and the level that keeps the promise."""
    kept = quantity_text(advice.level, advice.part) if advice.level > 0 else "none"
    if advice.position < 0:
        now = "Jobs already want more than there is and is on order"
        if not advice.level_fixed:
            left_over = f"{kept} left over after them" if advice.level > 0 else "just enough for them"
            return (
                f"{now}; with {left_over} the risk "
                f"of {_broken_promise_text(advice)} is at most {format_chance(1 - advice.target)}."
            )
    else:
        now = f"The risk of running dry before the next delivery is {format_chance(advice.risk)}"
    if advice.level_fixed:
        return f"{now}; the owner has set a level of {kept}."
    if advice.promise == "next_job":
        return (
            f"{now}, that of not serving the next job in full {format_chance(advice.broken)}; "
            f"with {kept} that is at most {format_chance(1 - advice.target)}."
        )
    return f"{now}; with {kept} it is at most {format_chance(1 - advice.target)}."


def _broken_promise_text(advice: ReorderAdvice) -> str:
    return "not serving the next job in full" if advice.promise == "next_job" else "running dry"


_DECIDED_BY_TEXT = {
    "level": "what is missing up to the level",
    "minimum": "the least that can be ordered",
    "price break": "the price is lower from there",
    "cost": "which costs least over a year, handling and holding included",
    "years of use": "as much as the shop lays in at most",
}


def describe_quantity(order: PurchaseSuggestion, part: PartRecord) -> Iterator[str]:
    """Say how many to order and why so many; and that a pack lasts unreasonably long, if it does."""
    packs = f", {_count_of(order.packs, 'pack')} of {quantity_text(order.pack, part)}" if order.pack > 1 else ""
    yield (
        f"Order {quantity_text(order.quantity, part)}{packs}: {_DECIDED_BY_TEXT[order.decided_by]}; "
        f"{format_years(order.years_of_use)} of use."
    )
    if order.supplier_id is not None and order.offer is None:
        yield f"{order.supplier} delivered it last, but has no offer noted: ask for the price."
    if order.long_lasting and order.pack > 1 and order.packs == 1:
        yield f"A pack is {format_years(order.pack_years)} of use: ask for fewer, or look for another supplier."
    elif order.long_lasting and order.decided_by == "level":
        yield (
            f"That is {format_years(order.years_of_use)} of use, "
            f"because a delivery takes long: look for a faster supplier."
        )
    elif order.long_lasting:
        yield f"The least to be had is {format_years(order.years_of_use)} of use: look for another supplier."


# ---- the whole account -----------------------------------------------------------------------------------


def explain_figures(
    advice: ReorderAdvice, why: LevelExplanation, portion: int, uses: Sequence[UseRecord]
) -> tuple[str, ...]:
    """Say how a part's figures came about, step by step, with the numbers that went in."""
    unit = "pieces" if portion == 1 else f"portions of {quantity_text(portion, advice.part)}"
    pool = "parts of its kind" if why.by_kind else "the shop's parts"
    return (
        _describe_history(why, uses),
        f"The average of {pool} is {why.m:.2f} jobs a month and {1 + why.e:.2f} {unit} a job; "
        f"{why.B - why.T:g} months of it are added.",
        f"Together: {why.jobs_per_month:.2f} jobs a month, {why.pieces_per_job:.2f} {unit} a job, "
        f"{why.pieces_per_year:.1f} {unit} a year.",
        describe_lead_time(advice.lead)
        + (
            f" Up to {_count_of(why.looks_days, 'day')} more until the next look at the list."
            if why.looks_days
            else ""
        ),
        _describe_demand(why, unit),
        f"To have enough before the next delivery {format_chance(advice.target)} of the time takes "
        f"{_count_in_unit(why.level_no_stock_out, unit)}; "
        f"to serve the next job in full as often takes {why.level_next_job}.",
        describe_position(advice),
        describe_risk(advice),
        *(
            (*describe_quantity(advice.order, advice.part), describe_shipping_share(advice.order))
            if advice.order
            else ("Nothing to order now.",)
        ),
    )


def _count_in_unit(number: int, unit: str) -> str:
    """Say a number of *unit*, which is pieces or portions of so much."""
    return (
        f"{number} {unit}" if number != 1 else f"1 {unit.replace('pieces', 'piece').replace('portions', 'portion')}"
    )


def describe_shipping_share(order: PurchaseSuggestion) -> str:
    """Say by how many lines the shipping of a parcel is shared, and how that is known."""
    shared = order.shared
    counted = f"counted in {_count_of(shared.orders, 'order')} "
    known = {
        "supplier": f"{counted}to {order.supplier}",
        "shop": f"{counted}to all suppliers",
        "assumed": "assumed until there are more orders",
        "owner": "set by the owner",
    }[shared.source]
    return f"A parcel's shipping is shared by {_count_of(round(shared.lines, 1), 'line')} ({known})."


def _describe_history(why: LevelExplanation, uses: Sequence[UseRecord]) -> str:
    counted = [use for use in uses if use.counted and not use.first_job]
    left_out = len(uses) - len(counted)
    weighed = f"{_count_of(len(counted), 'use')}, which weigh {why.k:.2f} with older ones counting less"
    rest = f" ({_count_of(left_out, 'use')} left out: one-off, or the job it was catalogued for)" if left_out else ""
    return f"Its own history is {why.T:.1f} weighed months long and has {weighed}{rest}."


def _describe_demand(why: LevelExplanation, unit: str) -> str:
    none, most = float(why.pieces[0]), int((why.cumulative >= 0.9).argmax())
    return (
        f"Over the {why.months * DAYS_PER_MONTH:.0f} days until the next delivery is in, nothing is wanted with a "
        f"chance of {format_chance(none)}; nine times in ten it is at most {_count_in_unit(most, unit)}."
    )
