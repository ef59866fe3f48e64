"""Minutes that steps really took, from the job log: a swap test from taking to its result, a proof by its form.

A test that took longer than one sitting holds lunch and other jobs too, and is left out. With fewer timed than
``MIN_TIMED`` the shop's own figure stands, and a figure that the owner set always does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import median

from inventory.domain.common.shop import ShopConfig, overridden_settings, shop_config
from inventory.domain.proof.loans import HAS_RESULT
from inventory.store.tables import Loan, Proof

MIN_TIMED = 8  # assumed: timed ones from which their median is better than a guess
MAX_MINUTES = 60.0  # assumed: minutes beyond which a test was not done in one sitting
MIN_MINUTES = 1.0  # minutes; a result tapped sooner was not a test
MAX_SAMPLES = 200


@dataclass(frozen=True)
class StepDuration:
    """How long one kind of step took: so many timed ones, and their median once there are enough."""

    name: str  # the shop's setting that it stands in for
    what: str
    timed: int
    minutes: int | None  # None: too few, or the owner has set it

    @property
    def words(self) -> str:
        """Return in words where the figure comes from."""
        if self.minutes is not None:
            return f"the median of {self.timed} that were timed"
        return (
            f"{self.timed} of the {MIN_TIMED} timed {self.what} that it takes to learn it"
            if self.timed
            else (f"none of the {MIN_TIMED} timed {self.what} that it takes to learn it yet")
        )


def step_durations() -> dict[str, StepDuration]:
    """Return by setting the timed duration of a step; settings that the owner set are left out."""
    overridden = overridden_settings()
    samples = {"minutes_swap": ("swap tests", _swap_minutes()), "minutes_proof": ("proofs", _proof_minutes())}
    return {
        name: StepDuration(name, what, len(plausible), _median_minutes(plausible))
        for name, (what, minutes) in samples.items()
        if name not in overridden and (plausible := _plausible_minutes(minutes)) is not None
    }


def shop_with_durations() -> tuple[ShopConfig, dict[str, StepDuration]]:
    """Return the shop's settings with the minutes timed in its log, and these durations."""
    durations = step_durations()
    minutes = {name: duration.minutes for name, duration in durations.items() if duration.minutes is not None}
    return replace(shop_config(), **minutes), durations  # type: ignore[arg-type]


def _median_minutes(minutes: list[float]) -> int | None:
    return round(median(minutes)) if len(minutes) >= MIN_TIMED else None


def _plausible_minutes(minutes: Iterable[float]) -> list[float]:
    return [minute for minute in minutes if MIN_MINUTES <= minute <= MAX_MINUTES]


def _swap_minutes() -> Iterable[float]:
    rows = (
        Loan.select(Loan.taken, Loan.ended).where(HAS_RESULT)
        .order_by(Loan.id.desc()).limit(MAX_SAMPLES)
    )  # fmt: skip
    return [(row.ended - row.taken).total_seconds() / 60.0 for row in rows]


def _proof_minutes() -> Iterable[float]:
    rows = Proof.select(Proof.minutes).where(Proof.minutes.is_null(False), Proof.struck.is_null())
    return [row.minutes or 0.0 for row in rows.order_by(Proof.id.desc()).limit(MAX_SAMPLES)]
