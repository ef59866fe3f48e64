"""The advice of the past: what the reorder list promised on each look, so that it can be held against what came."""

from __future__ import annotations

from inventory.domain.reorder.forecast_scores import score
from inventory.domain.reorder.forecasts import remember
from inventory.domain.reorder.reorder_assessment import picture
from seed.demo_bench import Bench

FIRST_LOOK, DAYS_BETWEEN = 365, 13  # days ago; days


def remember_advice(bench: Bench) -> None:
    """Write looks at the reorder list into the diary: what it says is remembered, and what came before is scored."""
    for days in range(FIRST_LOOK, 0, -DAYS_BETWEEN):
        bench.just(days, "18:30", _look)


def _look() -> None:
    score()
    remember(picture(), looked_at=False, in_transaction_too=True)
