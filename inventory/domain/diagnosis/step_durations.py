"""Minutes that steps really took, from the job log: a swap test from taking to its result, a proof by its form.

A test that took longer than one sitting holds lunch and other jobs too, and is left out. With fewer timed than
``ENOUGH`` the shop's own figure stands, and a figure that the owner set always does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import median

from inventory.domain.common.shop import Shop, decided, shop
from inventory.store.tables import Loan, Proof

ENOUGH = 8  # assumed: timed ones from which their median is better than a guess
SITTING = 60.0  # assumed: minutes beyond which a test was not done in one sitting
LEAST = 1.0  # minutes; a result tapped sooner was not a test
NEWEST = 200


@dataclass(frozen=True)
class Timed:
    """How long one kind of step took: so many timed ones, and their median once there are enough."""

    name: str  # the shop's setting that it stands in for
    what: str
    number: int
    minutes: int | None  # None: too few, or the owner has set it

    @property
    def words(self) -> str:
        """Say where the figure comes from."""
        if self.minutes is not None:
            return f"the median of {self.number} that were timed"
        return (
            f"{self.number} of the {ENOUGH} timed {self.what} that it takes to learn it"
            if self.number
            else (f"none of the {ENOUGH} timed {self.what} that it takes to learn it yet")
        )


def timed() -> dict[str, Timed]:
    """Return by setting what the log says of the minutes of a step; settings that the owner set are left out."""
    own = decided()
    found = {"minutes_swap": ("swap tests", _swaps()), "minutes_proof": ("proofs", _proofs())}
    return {
        name: Timed(name, what, len(lasted), _typical(lasted))
        for name, (what, minutes) in found.items()
        if name not in own and (lasted := _in_one_sitting(minutes)) is not None
    }


def clocked_shop() -> tuple[Shop, dict[str, Timed]]:
    """Return the shop's decisions with the minutes that its own log tells, and how many were timed."""
    learned = timed()
    known = {name: one.minutes for name, one in learned.items() if one.minutes is not None}
    return replace(shop(), **known), learned  # type: ignore[arg-type]


def _typical(minutes: list[float]) -> int | None:
    return round(median(minutes)) if len(minutes) >= ENOUGH else None


def _in_one_sitting(minutes: Iterable[float]) -> list[float]:
    return [one for one in minutes if LEAST <= one <= SITTING]


def _swaps() -> Iterable[float]:
    rows = (
        Loan.select(Loan.taken, Loan.ended).where(Loan.ended.is_null(False), Loan.result != "cancelled")
        .order_by(Loan.id.desc()).limit(NEWEST)
    )  # fmt: skip
    return [(one.ended - one.taken).total_seconds() / 60.0 for one in rows]


def _proofs() -> Iterable[float]:
    rows = Proof.select(Proof.minutes).where(Proof.minutes.is_null(False), Proof.struck.is_null())
    return [one.minutes or 0.0 for one in rows.order_by(Proof.id.desc()).limit(NEWEST)]
