"""The first hour with an empty bench: what has been done of it, until something was taken for the first time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.store.tables import Balance, Bin, Job, Movement, Piece


@dataclass(frozen=True)
class FirstSteps:
    """Which steps to the first pull are done."""

    bins: bool  # some bin has a name
    stock: bool  # something is on the shelf
    jobs: bool  # a job was opened


def first_steps() -> FirstSteps | None:
    """Return what is done of the first hour; None once anything was taken, for the bench is at work then."""
    if _any(Movement.select(Movement.id).where(Movement.kind == "pull")):
        return None
    return FirstSteps(
        bins=_any(Bin.select(Bin.id).where(Bin.name.is_null(False), ~Bin.retired)),
        stock=_any(Balance.select(Balance.part).where(Balance.quantity > 0))
        or _any(Piece.select(Piece.id).where(Piece.bin.is_null(False))),
        jobs=_any(Job.select(Job.id)),
    )


def _any(query: Any) -> bool:
    return bool(query.limit(1).tuples().first())
