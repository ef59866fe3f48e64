"""Reckons many parts at once: what is believed of their use, how they can be got, where they stand, what to keep.

Arrays have one entry a part, or one entry a *way* (a part from one of its suppliers). Quantities are base units
unless said otherwise; the reckoning itself counts in portions, which are single pieces for all but bulk stock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.domain.buying.lead_times import Leads, learned
from inventory.domain.catalogue.stock_totals import stocks
from inventory.domain.common.records import Stock
from inventory.domain.common.shop import Shop, shop
from inventory.domain.common.validation import KINDS, PROMISES
from inventory.domain.reorder.offer_terms import Sold, best_of_each_part, ladders, order_costs, sold
from inventory.domain.reorder.usage_totals import Sums, summed_up
from inventory.reckoning.reorder.demand import (
    Averages,
    BoolArray,
    FloatArray,
    IntArray,
    PartStatistics,
    Posterior,
    posterior,
    shop_averages,
)
from inventory.reckoning.reorder.offer_choice import yearly_costs
from inventory.reckoning.reorder.portions import portion_of_pack
from inventory.reckoning.reorder.service_level import Interval, Promise, advise, risk_of_running_dry


@dataclass(frozen=True)
class Believed:
    """What is believed of the use of some parts, ascending by id, and what their stock is to promise."""

    shop: Shop
    part_id: IntArray
    kind: IntArray  # place in KINDS
    stats: PartStatistics
    averages: Averages
    post: Posterior
    portion: IntArray  # 0: not known
    fixed: IntArray  # level set by the owner; -1: worked out
    target: FloatArray
    next_job: BoolArray
    retired: BoolArray


@dataclass(frozen=True)
class Ways:
    """Every way to get those parts: whose each is, and how long it takes."""

    each: list[Sold]
    of: IntArray  # place of the part among those believed
    leads: Leads
    interval: Interval

    def mean_days(self) -> FloatArray:
        """Return the expected lead time of each way."""
        days: FloatArray = self.leads.times.mean_days()[self.interval.entry]
        return days


@dataclass(frozen=True)
class Picture:
    """Where each part stands and what to keep of it; the ways compared."""

    believed: Believed
    ways: Ways
    stock: dict[int, Stock]
    portion: IntArray
    position: IntArray
    yearly: FloatArray
    way_level: IntArray
    way_cost: FloatArray  # a year, minor units
    best_way: IntArray
    level: IntArray
    level_kept: FloatArray  # chance that the level keeps the promise; NaN: the owner fixed the level
    risk: FloatArray  # of running dry before the next delivery
    broken: FloatArray  # chance that the part's own promise breaks

    @property
    def due(self) -> IntArray:
        """The places of parts at or below their reorder point."""
        return np.flatnonzero(self.position < self.level)

    def stock_of(self, place: int) -> Stock:
        """Return how much there is of a part."""
        return self.stock.get(int(self.believed.part_id[place]), Stock())

    def way_of(self, place: int) -> Sold:
        """Return the way that a part is best got by."""
        return self.ways.each[int(self.best_way[place])]


def picture(part_ids: Sequence[int] | None = None) -> Picture:
    """Reckon some parts, ascending (None: all that are not retired)."""
    known = _believed(part_ids)
    ways = _ways(known)
    portion = _portions(known, ways)
    stock = stocks(None if part_ids is None else part_ids)
    position = np.array([stock.get(part, Stock()).position for part in known.part_id.tolist()], np.int64)
    yearly = known.post.pieces_per_year() * portion
    of, at = ways.of, position // portion
    advice = advise(known.post.take(of), ways.interval, known.target[of], at[of], known.next_job[of])
    way_level = advice.level * portion[of]
    costs = _yearly_costs(known, ways, yearly, way_level)
    best = np.array(best_of_each_part(ways.each, costs.tolist(), ways.mean_days().tolist()), np.int64)
    broken = advice.risk[best]
    return Picture(
        known, ways, stock, portion, position, yearly, way_level, costs, best,
        level=np.where(known.fixed >= 0, known.fixed, way_level[best]),
        level_kept=np.where(known.fixed >= 0, np.nan, advice.kept[best]),
        risk=_risk(known, ways.interval.take(best), at, broken), broken=broken,
    )  # fmt: skip


def _believed(part_ids: Sequence[int] | None) -> Believed:
    decided = shop()
    sums = summed_up(decided.constants)
    parts = sums.parts
    rows = np.flatnonzero(~parts.retired) if part_ids is None else parts.rows_of(part_ids)
    averages = _averages(sums, decided).take(rows)
    stats = sums.stats.take(rows)
    kinds = parts.kind[rows]
    target = np.array([decided.target_for(kind, None) for kind in KINDS])[kinds]
    own = parts.target[rows]
    return Believed(
        decided, parts.id[rows], kinds, stats, averages, posterior(stats, averages, decided.constants),
        sums.portion[rows], parts.level[rows], np.where(np.isnan(own), target, own),
        _on_next_job(decided, kinds, parts.promise[rows]), parts.retired[rows],
    )  # fmt: skip


def _on_next_job(decided: Shop, kinds: IntArray, own: IntArray) -> BoolArray:
    """Tell which parts are kept on "the next job is served in full": by their own promise, else their kind's."""
    by_kind = np.array([decided.promise_for(kind) == Promise.NEXT_JOB for kind in KINDS])[kinds]
    return np.where(own < 0, by_kind, own == PROMISES.index(Promise.NEXT_JOB))


def _averages(sums: Sums, decided: Shop) -> Averages:
    """Average the parts in use; retired ones count for nothing."""
    used = ~sums.parts.retired
    kept = PartStatistics(*(np.where(used, getattr(sums.stats, name), 0.0) for name in ("k", "s", "kz", "T")))
    kinds = np.where(used, sums.parts.kind, -1)
    return shop_averages(kept, kinds, decided.constants)


def _ways(known: Believed) -> Ways:
    each = sold(known.part_id.tolist(), known.shop)
    of = np.searchsorted(known.part_id, [one.part_id for one in each]).astype(np.int64)
    leads = learned([one.lead for one in each], known.shop)
    entry = leads.places(one.lead for one in each)
    return Ways(each, of, leads, Interval(leads.times, entry, float(known.shop.looks_days)))


def _portions(known: Believed, ways: Ways) -> IntArray:
    """Return the portion of each part; of bulk stock never used, a share of the smallest pack on offer."""
    smallest = np.full(len(known.part_id), np.iinfo(np.int64).max)
    np.minimum.at(smallest, ways.of, np.array([one.pack for one in ways.each], np.int64))
    return np.where(known.portion > 0, known.portion, portion_of_pack(smallest))


def _yearly_costs(known: Believed, ways: Ways, yearly: FloatArray, way_level: IntArray) -> FloatArray:
    """Return what a year costs by each way; a slow one is charged with the stock it makes necessary."""
    of = ways.of
    buffer = way_level - yearly[of] / 12 * ways.interval.mean_months()
    order_cost = np.array(order_costs(ways.each, known.shop), float)
    return yearly_costs(ladders(ways.each), yearly[of], order_cost, buffer, known.shop.costs)


def _risk(known: Believed, interval: Interval, at: IntArray, broken: FloatArray) -> FloatArray:
    """Return the risk of running dry: the broken promise itself, but for parts kept on the other promise."""
    risk = broken.copy()
    rows = np.flatnonzero(known.next_job)
    if len(rows):
        risk[rows] = risk_of_running_dry(at[rows], known.post.take(rows), interval.take(rows))
    return risk
