"""Which bins to count first, and which differences to count again before anybody believes them.

Slips come with movements (a pull nobody booked) and, slowly, by themselves (a drawer that was tidied). How often a
movement goes wrong at this bin is learned from its own past counts: a Poisson rate with a Gamma prior, so the chance
of no slip in m movements is exactly (B/(B + m))^A. All constants here are assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.reckoning.common.durations import DAYS_PER_MONTH
from inventory.reckoning.common.value_checks import check_amount, check_count

PRIOR_SLIPS, PRIOR_MOVEMENTS = 0.5, 50.0
"""Prior of slips a movement, Gamma(SLIPS, MOVEMENTS): one in a hundred (assumed)."""

SLIPS_PER_MONTH = 0.02
"""Slips that come by themselves (assumed)."""

SHARE_WRONG = 0.15
"""How much of a bin's value is off when its book is wrong (assumed)."""


TOLERANCE_PIECES, TOLERANCE_SHARE = 1, 0.05
"""A difference of no more than a piece, or 5 % of the booked number, is no surprise (assumed)."""

BULK_TOLERANCE_SHARE = 0.20
"""The same of what is weighed or measured, where a count is an estimate (assumed)."""

COSTLY_MINOR = 1000
"""A difference worth this much, in minor units, is a surprise however few they are (assumed)."""


@dataclass(frozen=True, slots=True)
class BinCountHistory:
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
class CountPriority:
    """A bin in the order in which to count: the chance that its book is wrong, what that would cost, and why."""

    past: BinCountHistory
    p_wrong: float
    at_stake: float  # minor units
    words: str


def chance_record_wrong(past: BinCountHistory) -> float:
    """Return the chance that what the book says of a bin is wrong by now."""
    a, b = (
        PRIOR_SLIPS + check_count(past.past_wrong, "The differences found"),
        PRIOR_MOVEMENTS + check_count(past.past_moves, "The movements"),
    )
    moves = check_count(past.moves, "The movements since")
    months = check_amount(past.days, "The days since the last count") / DAYS_PER_MONTH
    right: float = (b / (b + moves)) ** a * math.exp(-SLIPS_PER_MONTH * months)
    return 1.0 - right


def rank_bins(bins: Iterable[BinCountHistory], nuisance_minor: float) -> list[CountPriority]:
    """Return bins in the order in which to count them: the most at stake first, then the likeliest wrong.

    At stake is the chance that the book is wrong times what that costs: a share of the value, and the nuisance of
    looking for something that is not there.
    """
    check_amount(nuisance_minor, "The nuisance of a wrong book")
    found = [_priority_of(bin_, nuisance_minor) for bin_ in bins]
    return sorted(found, key=lambda one: (-one.at_stake, -one.p_wrong, one.past.key))


def _priority_of(past: BinCountHistory, nuisance_minor: float) -> CountPriority:
    p_wrong = chance_record_wrong(past)
    stake = p_wrong * (SHARE_WRONG * check_amount(past.value_minor, "The value in the bin") + nuisance_minor)
    return CountPriority(past, p_wrong, stake, _reason_text(past, p_wrong))


def _reason_text(past: BinCountHistory, p_wrong: float) -> str:
    when = f"{past.days:.0f} days since it was counted" if past.past_counts else "never counted"
    moved = f"{past.moves} movement{'' if past.moves == 1 else 's'}{' since' if past.past_counts else ''}"
    wrong = f"; {past.past_wrong} of {past.past_counts} counts found a difference" if past.past_wrong else ""
    return f"{when}, {moved}{wrong}: {p_wrong:.0%} likely to be off".replace("%", " %")


def needs_recount(booked: int, counted: int, unit_minor: float | None = None, *, bulk: bool = False) -> bool:
    """Tell whether a difference should be counted again before it is believed.

    *unit_minor* is what a base unit cost, in minor units (None: not known); *bulk* marks what is measured.
    """
    off = abs(check_count(counted, "The number counted") - check_count(booked, "The number booked"))
    usual = BULK_TOLERANCE_SHARE * booked if bulk else max(TOLERANCE_PIECES, TOLERANCE_SHARE * booked)
    return off > usual or (unit_minor is not None and off * unit_minor >= COSTLY_MINOR)
