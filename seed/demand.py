"""What the owner orders by out of habit: a low mark and a fill mark for each part, from what the jobs will take.

This is the shop before it trusted the reorder list, so it is deliberately plain: mean use over the lead time,
and one spread on top. The product's own reckoning has no part in it.
"""

from __future__ import annotations

import math

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from seed.demo_bench import FIRST_DAY, DemoBench, OrderHabit

JOBS_IN_HISTORY = 352  # ordinary jobs; stories, swap tests and the last days bring it to about four hundred
REVIEW_DAYS = 4
EXPENSIVE_MINOR, SELDOM = 9_000, 0.6  # above this price, used on fewer jobs a month: bought only when a job wants it


def order_habits(bench: DemoBench) -> dict[str, OrderHabit]:
    """Return the owner's marks for every part but those whose lots are told one by one."""
    dated = {lot.part for lot in bench.sheets.dated_lots}
    use = monthly_use(bench)
    return {number: _order_habit(bench, number, *use[number]) for number in bench.parts if number not in dated}


def _order_habit(bench: DemoBench, number: str, jobs: float, pieces: float) -> OrderHabit:
    part, offer = bench.parts[number], bench.offers[number][0]
    if part.kept == "by level":
        return OrderHabit(offer.pack // 2, offer.pack, offer.pack + offer.pack // 2)
    if not jobs or (offer.price_minor / offer.pack > EXPENSIVE_MINOR and jobs < SELDOM):
        return OrderHabit(-1, 0, 0)
    months = (offer.stated_days + REVIEW_DAYS) / DAYS_PER_MONTH
    low = math.ceil(pieces * months + math.sqrt(pieces * months))
    fill = low + max(1, math.ceil(2.5 * pieces))
    return OrderHabit(low, fill, fill + offer.pack // 2)


def monthly_use(bench: DemoBench) -> dict[str, tuple[float, float]]:
    """Return for each part the jobs a month that use it, and the pieces."""
    use = dict.fromkeys(bench.parts, (0.0, 0.0))
    shares = sum(model.share for model in bench.sheets.models.values())
    weights = _weights(bench)
    for cause in bench.sheets.causes:
        share = bench.sheets.models[cause.model].share / shares * cause.weight / weights[cause.model]
        rate = JOBS_IN_HISTORY / (FIRST_DAY / DAYS_PER_MONTH) * share
        for part, pieces in ((cause.part, cause.usual_pieces), *cause.also):
            jobs, before = use[part]
            use[part] = jobs + rate, before + rate * pieces
    return use


def _weights(bench: DemoBench) -> dict[str, int]:
    weights: dict[str, int] = {}
    for cause in bench.sheets.causes:
        weights[cause.model] = weights.get(cause.model, 0) + cause.weight
    return weights
