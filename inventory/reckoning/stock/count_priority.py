"""Which bins to count first, and which differences to count again before anybody believes them.

Slips come with movements (a pull nobody booked) and, slowly, by themselves (a drawer that was tidied). How often a
movement goes wrong at this bin is learned from its own past counts: a Poisson rate with a Gamma prior, so the chance
of no slip in m movements is exactly (B/(B + m))^A. All constants here are assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.reckoning.common.value_checks import amount, count

SLIPS, MOVEMENTS = 0.5, 50.0
"""Prior of slips a movement, Gamma(SLIPS, MOVEMENTS): one in a hundred (assumed)."""

SLIPS_A_MONTH = 0.02
"""Slips that come by themselves (assumed)."""

SHARE_OFF = 0.15
"""How much of a bin's value is off when its book is wrong (assumed)."""

DAYS_A_MONTH = 30.4375

FEW_PIECES, FEW_SHARE = 1, 0.05
"""A difference of no more than a piece, or 5 % of the booked number, is no surprise (assumed)."""

BULK_SHARE = 0.20
"""The same of what is weighed or measured, where a count is an estimate (assumed)."""

DEAR_MINOR = 1000
"""A difference worth this much, in minor units, is a surprise however few they are (assumed)."""


@dataclass(frozen=True, slots=True)
class BinPast:
    """What is known of a bin. ``days`` and ``moves`` since its last count, or since stock first came in.

    ``past_moves`` and ``past_wrong``: movements up to its last count, and counts among them that found a difference.
    """

    key: int
    value_minor: float
    moves: int
    days: float
    past_counts: int = 0
    past_moves: int = 0
    past_wrong: int = 0


@dataclass(frozen=True, slots=True)
class CountFirst:
    """A bin in the order in which to count: the chance that its book is wrong, what that would cost, and why."""

    past: BinPast
    p_wrong: float
    at_stake: float  # minor units
    words: str


def chance_wrong(past: BinPast) -> float:
    """Return the chance that what the book says of a bin is wrong by now."""
    a, b = (
        SLIPS + count(past.past_wrong, "The differences found"),
        MOVEMENTS + count(past.past_moves, "The movements"),
    )
    moves = count(past.moves, "The movements since")
    months = amount(past.days, "The days since the last count") / DAYS_A_MONTH
    right: float = (b / (b + moves)) ** a * math.exp(-SLIPS_A_MONTH * months)
    return 1.0 - right


def count_first(bins: Iterable[BinPast], nuisance_minor: float) -> list[CountFirst]:
    """Return bins in the order in which to count them: the most at stake first, then the likeliest wrong.

    At stake is the chance that the book is wrong times what that costs: a share of the value, and the nuisance of
    looking for something that is not there.
    """
    amount(nuisance_minor, "The nuisance of a wrong book")
    found = [_judged(one, nuisance_minor) for one in bins]
    return sorted(found, key=lambda one: (-one.at_stake, -one.p_wrong, one.past.key))


def _judged(past: BinPast, nuisance_minor: float) -> CountFirst:
    p_wrong = chance_wrong(past)
    stake = p_wrong * (SHARE_OFF * amount(past.value_minor, "The value in the bin") + nuisance_minor)
    return CountFirst(past, p_wrong, stake, _words(past, p_wrong))


def _words(past: BinPast, p_wrong: float) -> str:
    when = f"{past.days:.0f} days since it was counted" if past.past_counts else "never counted"
    moved = f"{past.moves} movement{'' if past.moves == 1 else 's'}{' since' if past.past_counts else ''}"
    wrong = f"; {past.past_wrong} of {past.past_counts} counts found a difference" if past.past_wrong else ""
    return f"{when}, {moved}{wrong}: {p_wrong:.0%} likely to be off".replace("%", " %")


def is_surprise(booked: int, counted: int, unit_minor: float | None = None, *, bulk: bool = False) -> bool:
    """Tell whether a difference should be counted again before it is believed.

    *unit_minor* is what a base unit cost, in minor units (None: not known); *bulk* marks what is measured.
    """
    off = abs(count(counted, "The number counted") - count(booked, "The number booked"))
    usual = BULK_SHARE * booked if bulk else max(FEW_PIECES, FEW_SHARE * booked)
    return off > usual or (unit_minor is not None and off * unit_minor >= DEAR_MINOR)
