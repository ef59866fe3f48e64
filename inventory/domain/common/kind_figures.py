"""The figures assumed of each kind of part, in one visible table that the owner may change.

What was changed is one note of the database a kind, its value as JSON; a kind never touched has none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from inventory.domain.common.errors import NotFound, bad_field
from inventory.reckoning.common.kind_defaults import KINDS, KindDefaults, with_changes, with_matings
from inventory.store.connection import writing
from inventory.store.key_values import keep_note, notes_under

_PREFIX = "kind."
FIGURES = {
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
CHANCES = ("donor_worked", "donor_dead", "harm", "cap")
WHOLE = ("rated_matings", "proof_months")
MOST = {"beta_a": 1e6, "beta_b": 1e6, "hazard": 10.0, "rated_matings": 100_000, "proof_months": 1200}


@dataclass(frozen=True)
class KindFigures:
    """The figures of one kind as they stand, and the names of those that the owner changed."""

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


def table() -> dict[str, KindDefaults]:
    """Return the figures of every kind, the owner's changes in them."""
    changes = notes_under(_PREFIX)
    return {kind: with_changes(one, changes[kind]) if kind in changes else one for kind, one in KINDS.items()}


def figures_of(part: Any, known: Mapping[str, KindDefaults] | None = None) -> KindDefaults:
    """Return the figures of a part: those of its kind, with the mating cycles of its data sheet.

    *known*: the table, if it was read already.
    """
    found = (table() if known is None else known)[part.kind]
    return found if part.rated_matings is None else with_matings(found, part.rated_matings)


def kind_figures() -> list[KindFigures]:
    """Return the whole table for people."""
    return [_record(one) for one in table().values()]


def figures(kind: str) -> KindFigures:
    """Return the figures of one kind; raise NotFound for a kind that there is not."""
    return _record(table()[_known(kind)])


def edit_figures(kind: str, **changes: float | None) -> KindFigures:
    """Change some figures of a kind; None puts one back to what is assumed.

    Raises Invalid, naming what it takes, for a figure out of range; nothing is changed then.
    """
    _known(kind)
    for name, value in changes.items():
        _check(kind, name, value)
    with writing():
        kept = _changed(table()[kind])
        kept = {name: value for name, value in {**kept, **changes}.items() if value is not None}
        keep_note(_PREFIX + kind, kept or None)
        return figures(kind)


def _known(kind: str) -> str:
    if kind not in KINDS:
        raise NotFound(f"There is no kind of part called {kind!r}; choose one of {', '.join(KINDS)}.")
    return kind


def _check(kind: str, name: str, value: Any) -> None:
    if name not in FIGURES:
        raise bad_field(name, f"A kind has no figure {name!r}; choose one of {', '.join(FIGURES)}.")
    if value is None:
        return
    most = MOST.get(name, 1.0)
    try:
        with_changes(KINDS[kind], {name: value})
    except ValueError as wrong:
        raise bad_field(name, str(wrong)) from None
    if value > most:
        raise bad_field(name, f"{FIGURES[name]}: type a number up to {most:g}, not {value:g}.")


def _changed(now: KindDefaults) -> dict[str, float]:
    return {name: getattr(now, name) for name in FIGURES if getattr(now, name) != getattr(KINDS[now.kind], name)}


def _record(one: KindDefaults) -> KindFigures:
    return KindFigures(**asdict(one), changed=tuple(_changed(one)))
