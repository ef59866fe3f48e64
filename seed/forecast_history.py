"""The advice of the past: what the reorder list promised on each look, so that it can be held against what came."""

from __future__ import annotations

from inventory.domain.reorder.forecast_scores import score_forecasts
from inventory.domain.reorder.forecasts import save_forecasts
from inventory.domain.reorder.reorder_assessment import assess_reorder
from seed.demo_bench import DemoBench

FIRST_ADVICE_DAY, DAYS_BETWEEN_ADVICE = 365, 13  # days ago; days


def schedule_advice(bench: DemoBench) -> None:
    """Write looks at the reorder list into the diary: what it says is remembered, and what came before is scored."""
    for days in range(FIRST_ADVICE_DAY, 0, -DAYS_BETWEEN_ADVICE):
        bench.just(days, "18:30", _record_advice)


def _record_advice() -> None:
    score_forecasts()
    save_forecasts(assess_reorder(), individually=False, allow_in_transaction=True)
