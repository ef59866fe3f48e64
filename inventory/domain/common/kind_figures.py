"""The default figures of each kind of part, which the owner may change.

Changes are stored as one key-value row per kind, as JSON; a kind without changes has none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from inventory.domain.common.errors import NotFound, invalid_field
from inventory.reckoning.common.kind_defaults import KIND_DEFAULTS, KindDefaults, with_overrides, with_rated_matings
from inventory.store.connection import transaction
from inventory.store.key_values import set_value, values_with_prefix

_PREFIX = "kind."
FIGURE_LABELS = {
    "beta_a": "Bad ones, of a lot not tested yet, as if seen",
    "beta_b": "Good ones, as if seen",
    "donor_worked": "Good, from a donor unit that worked",
    "donor_dead": "Good, from a donor unit that was dead",
    "harm": "Spoilt by one run in a unit that still fails",
    "hazard": "Going bad in a year on the shelf",
    "rated_matings": "Matings that contacts are rated for",
    "proof_months": "Months that a proof is good for",
    "cap": "Highest chance of being good that is ever claimed",
}
CHANCE_FIGURES = ("donor_worked", "donor_dead", "harm", "cap")
WHOLE_FIGURES = ("rated_matings", "proof_months")
MAX_FIGURES = {"beta_a": 1e6, "beta_b": 1e6, "hazard": 10.0, "rated_matings": 100_000, "proof_months": 1200}


@dataclass(frozen=True)
class KindFigures:
    """The current figures of one kind, and the names of those that the owner changed."""

    kind: str
    beta_a: float
    beta_b: float
    donor_worked: float
    donor_dead: float
    harm: float
    hazard: float
    rated_matings: int
    proof_months: int
    cap: float
    assumed: str  # where they come from
    changed: tuple[str, ...]


def figures_by_kind() -> dict[str, KindDefaults]:
    """Return the figures of every kind with the owner's changes."""
    changes = values_with_prefix(_PREFIX)
    return {
        kind: with_overrides(defaults, changes[kind]) if kind in changes else defaults
        for kind, defaults in KIND_DEFAULTS.items()
    }


def figures_of_part(part: Any, known: Mapping[str, KindDefaults] | None = None) -> KindDefaults:
    """Return the figures of a part: those of its kind, with its own rated mating cycles.

    *known*: the figures by kind, if they were read already.
    """
    figures = (figures_by_kind() if known is None else known)[part.kind]
    return figures if part.rated_matings is None else with_rated_matings(figures, part.rated_matings)


def list_kind_figures() -> list[KindFigures]:
    """Return the figures of every kind as records."""
    return [_record(figures) for figures in figures_by_kind().values()]


def get_kind_figures(kind: str) -> KindFigures:
    """Return the figures of one kind; raise NotFound for a kind that there is not."""
    return _record(figures_by_kind()[_validated_kind(kind)])


def edit_kind_figures(kind: str, **changes: float | None) -> KindFigures:
    """Change some figures of a kind; None restores a default.

    Raises Invalid, naming what it takes, for a figure out of range; nothing is changed then.
    """
    _validated_kind(kind)
    for name, value in changes.items():
        _check_figure(kind, name, value)
    with transaction():
        figures = _changed_figures(figures_by_kind()[kind])
        figures = {name: value for name, value in {**figures, **changes}.items() if value is not None}
        set_value(_PREFIX + kind, figures or None)
        return get_kind_figures(kind)


def _validated_kind(kind: str) -> str:
    if kind not in KIND_DEFAULTS:
        raise NotFound(f"There is no kind of part called {kind!r}; choose one of {', '.join(KIND_DEFAULTS)}.")
    return kind


def _check_figure(kind: str, name: str, value: Any) -> None:
    if name not in FIGURE_LABELS:
        raise invalid_field(name, f"A kind has no figure {name!r}; choose one of {', '.join(FIGURE_LABELS)}.")
    if value is None:
        return
    most = MAX_FIGURES.get(name, 1.0)
    try:
        with_overrides(KIND_DEFAULTS[kind], {name: value})
    except ValueError as wrong:
        raise invalid_field(name, str(wrong)) from None
    if value > most:
        raise invalid_field(name, f"{FIGURE_LABELS[name]}: type a number up to {most:g}, not {value:g}.")


def _changed_figures(now: KindDefaults) -> dict[str, float]:
    return {
        name: getattr(now, name)
        for name in FIGURE_LABELS
        if getattr(now, name) != getattr(KIND_DEFAULTS[now.kind], name)
    }


def _record(figures: KindDefaults) -> KindFigures:
    return KindFigures(**asdict(figures), changed=tuple(_changed_figures(figures)))
