"""What is assumed of each kind of part until its own history says more: one visible table.

Every figure is assumed, chosen by us from common practice with no published source, and meant to be changed
by the owner. A part's data sheet overrides the rated matings (``with_rated_matings``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from inventory.reckoning.common.value_checks import check_amount, check_chance, check_count, check_positive


@dataclass(frozen=True, slots=True)
class KindDefaults:
    """Hold the assumed figures of one kind of part."""

    kind: str
    beta_a: float  # Beta(a, b) prior of the share that is bad on arrival, in pieces
    beta_b: float
    donor_worked: float  # P(good) of a piece from a donor unit that worked
    donor_dead: float  # P(good) of a piece from a donor unit that was dead
    harm: float  # chance that one run in a unit that still fails spoils a good piece
    hazard: float  # share of good pieces that go bad in a year on the shelf
    rated_matings: int  # mating cycles that the contacts are rated for
    proof_months: int  # months that a proof is good for
    cap: float  # highest P(good) that is ever claimed
    assumed: str  # where the figures come from, for the page that shows them

    def __post_init__(self) -> None:
        """Refuse figures out of range with a sentence."""
        check_positive(self.beta_a, "The Beta prior's a")
        check_positive(self.beta_b, "The Beta prior's b")
        for name in ("donor_worked", "donor_dead", "harm", "cap"):
            check_chance(getattr(self, name), f"The {name.replace('_', ' ')} chance")
        check_amount(self.hazard, "The hazard a year")
        check_count(self.rated_matings, "The rated number of matings", minimum=1)
        check_count(self.proof_months, "The months that a proof is good for", minimum=1)

    @property
    def lot_prior(self) -> float:
        """Return P(good) of a piece from a lot of which nothing was tested."""
        return self.beta_b / (self.beta_a + self.beta_b)


_ASSUMED_NOTE = "Assumed: common practice, no published source."
_MATINGS_NOTE = _ASSUMED_NOTE + " 30 matings for fine-pitch wire-to-board contacts are from memory of data sheets."
_CAUTIOUS_NOTE = "Assumed, on the cautious side, for want of a kind of its own."

KIND_DEFAULTS: dict[str, KindDefaults] = {
    record.kind: record
    for record in (
        KindDefaults("connector", 0.5, 49.5, 0.97, 0.90, 0.002, 0.010, 30, 24, 0.995, _MATINGS_NOTE),
        KindDefaults("fan", 0.5, 24.5, 0.93, 0.80, 0.005, 0.020, 30, 12, 0.995, _ASSUMED_NOTE),
        KindDefaults("supply", 1.0, 32.0, 0.93, 0.75, 0.020, 0.030, 50, 12, 0.990, _ASSUMED_NOTE),
        KindDefaults("consumable", 0.5, 24.5, 0.70, 0.50, 0.050, 0.150, 10, 6, 0.980, _ASSUMED_NOTE),
        KindDefaults("module", 1.0, 49.0, 0.94, 0.70, 0.030, 0.010, 20, 24, 0.990, _ASSUMED_NOTE),
        KindDefaults("hardware", 0.5, 99.5, 0.98, 0.95, 0.001, 0.002, 100, 60, 0.995, _ASSUMED_NOTE),
        KindDefaults("other", 1.0, 32.0, 0.90, 0.70, 0.030, 0.030, 20, 12, 0.980, _CAUTIOUS_NOTE),
    )
}


def with_overrides(defaults: KindDefaults, changes: Mapping[str, Any]) -> KindDefaults:
    """Return ``defaults`` with the owner's own figures; raise ValueError for an unknown name or bad value."""
    known = {field.name for field in fields(KindDefaults)} - {"kind", "assumed"}
    for name in changes:
        if name not in known:
            raise ValueError(f"There is no figure called {name!r}; choose one of {', '.join(sorted(known))}.")
    return replace(defaults, **changes, assumed="Set by the owner.")


def with_rated_matings(defaults: KindDefaults, rated_matings: int) -> KindDefaults:
    """Return ``defaults`` with the mating cycles of a part's own data sheet."""
    return replace(defaults, rated_matings=rated_matings)
