"""The backtest on dated jobs: at each origin our levels are worked out just as the shop's own advice is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from inventory.reckoning.reorder.demand import (
    BoolArray,
    DemandConstants,
    EventHistory,
    FloatArray,
    IntArray,
    demand_posterior,
    demand_statistics,
    shop_averages,
)
from inventory.reckoning.reorder.lead_time import fixed_lead_times
from inventory.reckoning.reorder.service_level import ProtectionInterval, advise_levels


@dataclass(frozen=True)
class DatedLevelMethod:
    """Our levels from dated jobs, of which only those before each origin are known (see ``backtest.LevelMethod``).

    months: how many months the table has that the jobs were counted into, back from today.
    kinds: a small whole number per part naming its kind.
    """

    events: EventHistory
    months: int
    kinds: IntArray
    constants: DemandConstants

    def __call__(
        self, rows: BoolArray, month: int, horizon: int, targets: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return levels (P, Q) of some parts for the months after an origin, and the chances stated for them."""
        known = self._known_at(month)
        stats = demand_statistics(known, self.constants).take(np.flatnonzero(rows))
        averages = shop_averages(stats, self.kinds[rows], self.constants)
        post = demand_posterior(stats, averages, self.constants)
        interval = ProtectionInterval(
            fixed_lead_times([horizon * DAYS_PER_MONTH]), np.zeros(int(rows.sum()), np.int64)
        )
        advice = [advise_levels(post, interval, target) for target in targets]
        return (
            np.column_stack([levels.level for levels in advice]).astype(float),
            np.column_stack([levels.kept for levels in advice]),
            np.column_stack([levels.kept_below for levels in advice]),
        )

    def _known_at(self, month: int) -> EventHistory:
        """Return the jobs that lay in the past after so many months of the table, with their ages then."""
        back = (self.months - month) * DAYS_PER_MONTH
        past = self.events.age_days >= back
        return EventHistory(
            self.events.part[past], self.events.age_days[past] - back, self.events.pieces[past],
            self.events.first_job[past], self.events.one_off[past], np.maximum(self.events.history_days - back, 0),
        )  # fmt: skip
