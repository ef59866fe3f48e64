"""Assesses many parts at once: expected use, supply options, stock position, and the level to keep.

Arrays have one entry a part, or one entry an *option* (a part from one of its suppliers). Quantities are base units
unless said otherwise; the arithmetic counts in portions, which are single pieces for all but bulk stock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.domain.buying.lead_times import LeadTimeTable, lead_time_table
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common.records import StockTotals
from inventory.domain.common.shop import ShopConfig, shop_config
from inventory.domain.common.validation import PART_KINDS, PROMISES
from inventory.domain.reorder.offer_terms import (
    OfferTerms,
    best_terms_by_part,
    offer_terms,
    order_costs,
    price_ladders,
)
from inventory.domain.reorder.usage_totals import UsageTotals, usage_totals
from inventory.reckoning.reorder.demand import (
    BoolArray,
    DemandAverages,
    DemandPosterior,
    DemandStatistics,
    FloatArray,
    IntArray,
    demand_posterior,
    shop_averages,
)
from inventory.reckoning.reorder.offer_choice import yearly_costs
from inventory.reckoning.reorder.portions import assumed_portion
from inventory.reckoning.reorder.service_level import (
    ProtectionInterval,
    ServiceMeasure,
    advise_levels,
    stock_out_risk,
)


@dataclass(frozen=True)
class DemandBeliefs:
    """The posterior of the use of some parts, ascending by id, and the promises of their stock."""

    shop: ShopConfig
    part_id: IntArray
    kind: IntArray  # place in KINDS
    stats: DemandStatistics
    averages: DemandAverages
    post: DemandPosterior
    portion: IntArray  # 0: not known
    fixed: IntArray  # level set by the owner; -1: worked out
    target: FloatArray
    next_job: BoolArray
    retired: BoolArray


@dataclass(frozen=True)
class SupplyOptions:
    """All supply options of those parts: the part of each, and its lead time."""

    options: list[OfferTerms]
    part_row: IntArray  # row of the part in the beliefs
    leads: LeadTimeTable
    interval: ProtectionInterval

    def mean_days(self) -> FloatArray:
        """Return the expected lead time of each option, in days."""
        days: FloatArray = self.leads.times.mean_days()[self.interval.entry]
        return days


@dataclass(frozen=True)
class ReorderAssessment:
    """Where each part stands and what to keep of it; its options compared."""

    beliefs: DemandBeliefs
    supply: SupplyOptions
    stock: dict[int, StockTotals]
    portion: IntArray
    position: IntArray
    yearly: FloatArray
    option_level: IntArray
    option_cost: FloatArray  # a year, minor units
    best_option: IntArray
    level: IntArray
    level_kept: FloatArray  # chance that the level keeps the promise; NaN: the owner fixed the level
    risk: FloatArray  # of running dry before the next delivery
    broken: FloatArray  # chance that the part's own promise breaks

    @property
    def due(self) -> IntArray:
        """The places of parts at or below their reorder point."""
        return np.flatnonzero(self.position < self.level)

    def stock_of(self, place: int) -> StockTotals:
        """Return how much there is of a part."""
        return self.stock.get(int(self.beliefs.part_id[place]), StockTotals())

    def best_terms(self, place: int) -> OfferTerms:
        """Return the best terms for a part."""
        return self.supply.options[int(self.best_option[place])]


def assess_reorder(part_ids: Sequence[int] | None = None) -> ReorderAssessment:
    """Assess some parts, ascending (None: all that are not retired)."""
    beliefs = _demand_beliefs(part_ids)
    supply = _supply_options(beliefs)
    portion = _part_portions(beliefs, supply)
    stock = stock_by_part(None if part_ids is None else part_ids)
    position = np.array([stock.get(part, StockTotals()).position for part in beliefs.part_id.tolist()], np.int64)
    yearly = beliefs.post.pieces_per_year() * portion
    part_row, portions = supply.part_row, position // portion
    advice = advise_levels(
        beliefs.post.take(part_row), supply.interval, beliefs.target[part_row], portions[part_row],
        beliefs.next_job[part_row],
    )  # fmt: skip
    option_level = advice.level * portion[part_row]
    costs = _yearly_costs_by_option(beliefs, supply, yearly, option_level)
    best = np.array(best_terms_by_part(supply.options, costs.tolist(), supply.mean_days().tolist()), np.int64)
    broken = advice.risk[best]
    return ReorderAssessment(
        beliefs, supply, stock, portion, position, yearly, option_level, costs, best,
        level=np.where(beliefs.fixed >= 0, beliefs.fixed, option_level[best]),
        level_kept=np.where(beliefs.fixed >= 0, np.nan, advice.kept[best]),
        risk=_stock_out_risk(beliefs, supply.interval.take(best), portions, broken), broken=broken,
    )  # fmt: skip


def _demand_beliefs(part_ids: Sequence[int] | None) -> DemandBeliefs:
    shop = shop_config()
    totals = usage_totals(shop.constants)
    parts = totals.parts
    rows = np.flatnonzero(~parts.retired) if part_ids is None else parts.rows_of(part_ids)
    averages = _averages_in_use(totals, shop).take(rows)
    stats = totals.stats.take(rows)
    kinds = parts.kind[rows]
    kind_target = np.array([shop.target_for(kind, None) for kind in PART_KINDS])[kinds]
    own_targets = parts.target[rows]
    return DemandBeliefs(
        shop, parts.id[rows], kinds, stats, averages, demand_posterior(stats, averages, shop.constants),
        totals.portion[rows], parts.level[rows], np.where(np.isnan(own_targets), kind_target, own_targets),
        _promises_next_job(shop, kinds, parts.promise[rows]), parts.retired[rows],
    )  # fmt: skip


def _promises_next_job(shop: ShopConfig, kinds: IntArray, own_promise: IntArray) -> BoolArray:
    """Tell which parts are kept on "the next job is served in full": by their own promise, else their kind's."""
    by_kind = np.array([shop.promise_for(kind) == ServiceMeasure.NEXT_JOB for kind in PART_KINDS])[kinds]
    return np.where(own_promise < 0, by_kind, own_promise == PROMISES.index(ServiceMeasure.NEXT_JOB))


def _averages_in_use(totals: UsageTotals, shop: ShopConfig) -> DemandAverages:
    """Average the parts in use; retired ones count for nothing."""
    in_use = ~totals.parts.retired
    stats_in_use = DemandStatistics(
        *(np.where(in_use, getattr(totals.stats, name), 0.0) for name in ("k", "s", "kz", "T"))
    )
    kinds = np.where(in_use, totals.parts.kind, -1)
    return shop_averages(stats_in_use, kinds, shop.constants)


def _supply_options(beliefs: DemandBeliefs) -> SupplyOptions:
    options = offer_terms(beliefs.part_id.tolist(), beliefs.shop)
    part_row = np.searchsorted(beliefs.part_id, [terms.part_id for terms in options]).astype(np.int64)
    leads = lead_time_table([terms.lead for terms in options], beliefs.shop)
    entry = leads.places(terms.lead for terms in options)
    return SupplyOptions(
        options, part_row, leads, ProtectionInterval(leads.times, entry, float(beliefs.shop.looks_days))
    )


def _part_portions(beliefs: DemandBeliefs, supply: SupplyOptions) -> IntArray:
    """Return the portion of each part; of bulk stock never used, a share of the smallest pack on offer."""
    smallest = np.full(len(beliefs.part_id), np.iinfo(np.int64).max)
    np.minimum.at(smallest, supply.part_row, np.array([terms.pack for terms in supply.options], np.int64))
    return np.where(beliefs.portion > 0, beliefs.portion, assumed_portion(smallest))


def _yearly_costs_by_option(
    beliefs: DemandBeliefs, supply: SupplyOptions, yearly: FloatArray, option_level: IntArray
) -> FloatArray:
    """Return what a year costs by each option; a slow one is charged with the stock it makes necessary."""
    part_row = supply.part_row
    buffer = option_level - yearly[part_row] / 12 * supply.interval.mean_months()
    order_cost = np.array(order_costs(supply.options, beliefs.shop), float)
    return yearly_costs(price_ladders(supply.options), yearly[part_row], order_cost, buffer, beliefs.shop.costs)


def _stock_out_risk(
    beliefs: DemandBeliefs, interval: ProtectionInterval, position: IntArray, broken: FloatArray
) -> FloatArray:
    """Return the risk of running dry: the broken promise itself, but for parts kept on the other promise."""
    risk = broken.copy()
    rows = np.flatnonzero(beliefs.next_job)
    if len(rows):
        risk[rows] = stock_out_risk(position[rows], beliefs.post.take(rows), interval.take(rows))
    return risk
