"""One parcel for many parts: what must be ordered from a supplier now, and what is cheaper to order with it.

A parcel goes now, because some part is at its reorder point. A part that is not there yet may join it, which
costs holding its pieces until its own turn; or wait for a later parcel, whose shipping it shares with whatever else
goes in that one. The cheapest of all ways to share the parts out over parcels is found, as in dynamic lot sizing
(H. M. Wagner and T. M. Whitin, "Dynamic version of the economic lot size model", Management Science 5, 1958).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inventory.reckoning.reorder.order_quantity import OrderCosts, OrderQuantity, PricedOffer, choose_order_quantity


@dataclass(frozen=True)
class ReplenishmentLine:
    """One part that a supplier sells: where it stands and what it is sold for.

    level: S. position: on the shelf + on order - promised to jobs. yearly_demand: pieces.
    """

    level: int
    position: int
    yearly_demand: float
    offer: PricedOffer

    @property
    def must(self) -> bool:
        """Tell whether the position is at or below the reorder point S - 1."""
        return self.position < self.level

    def years_left(self, more: int = 0) -> float:
        """Return the years until the reorder point, at the expected demand, with so many pieces more."""
        left = self.position + more - self.level + 1
        return left / self.yearly_demand if self.yearly_demand > 0 else math.inf


@dataclass(frozen=True)
class PlannedLine:
    """One line of a suggested order: which of the lines asked about, how many, and why it is on it.

    must: at its reorder point. Else it joins so many `years_early`, and `held` is what holding costs until then.
    """

    line: int
    quantity: OrderQuantity
    must: bool
    years_early: float = 0.0
    held: float = 0.0


@dataclass(frozen=True)
class OrderPlan:
    """A suggested order. saved: minor units that the joining parts save together, against all of them waiting."""

    lines: tuple[PlannedLine, ...] = ()
    saved: float = 0.0

    @property
    def joining(self) -> tuple[PlannedLine, ...]:
        """The lines that need not go yet."""
        return tuple(line for line in self.lines if not line.must)


def plan_order(
    lines: Sequence[ReplenishmentLine],
    shipping: float,
    costs: OrderCosts | None = None,
    lines_per_parcel: float | None = None,
) -> OrderPlan:
    """Suggest one order to one supplier: what must go, and what joins because the parcel goes anyway.

    shipping: minor units a parcel. sharing: how many lines share a parcel in the long run, which decides what one
    more order of a part costs (left out: as many as must go now). Nothing must go: an empty plan.
    """
    rule = costs or OrderCosts()
    must = [i for i, line in enumerate(lines) if line.must]
    if not must:
        return OrderPlan()
    order_cost = rule.line_cost + shipping / (lines_per_parcel or len(must))
    due = [PlannedLine(i, _line_quantity(lines[i], order_cost, rule), must=True) for i in must]
    next_round = min(lines[planned.line].years_left(planned.quantity.pieces) for planned in due)
    waiting = sorted(
        _candidate_lines(lines, next_round, order_cost, rule), key=lambda planned: (planned.years_early, planned.line)
    )
    number, saved = choose_joining(
        [planned.years_early for planned in waiting],
        [planned.held / planned.years_early for planned in waiting],
        shipping,
    )
    return OrderPlan((*due, *waiting[:number]), saved)


def choose_joining(years: Sequence[float], held_a_year: Sequence[float], shipping: float) -> tuple[int, float]:
    """Return how many of the parts that are next to be due join now, and what that saves together.

    years: ascending, until each part's own turn. held_a_year: what holding its order for a year costs.
    A part that waits goes with the last parcel before its turn; each parcel after this one costs `shipping`.
    """
    later = _least_cost_of_waiting(years, held_a_year, shipping)
    best, number, held = later[0], 0, 0.0
    for place, (time, a_year) in enumerate(zip(years, held_a_year, strict=True)):
        held += time * a_year
        if held >= best:
            break
        if held + later[place + 1] < best - 1e-9:  # on a tie nothing is ordered early
            best, number = held + later[place + 1], place + 1
    return number, later[0] - best


def can_join_level(
    reorder_point: ArrayLike,
    yearly_demand: ArrayLike,
    pieces: ArrayLike,
    holding: ArrayLike,
    shipping: ArrayLike,
) -> NDArray[np.int64]:
    """Return the highest position at which a part may join an order that is going out anyway.

    A part at position x would need a parcel in (x - R) / D years. Ordering its Q pieces now holds them for that
    long, h Q (x - R) / D. Even the only part of a later parcel saves no more than its shipping, so that none joins
    from x >= R + shipping D / (h Q) on. holding: minor units a piece and year; shipping: minor units a parcel.
    """
    point = np.asarray(reorder_point, np.int64)
    saved = np.asarray(shipping, float) * np.asarray(yearly_demand, float)
    held = np.asarray(holding, float) * np.asarray(pieces, float)
    ahead = np.where(saved > 0, saved / np.maximum(held, 1e-12), 0.0)
    level: NDArray[np.int64] = point + np.maximum(np.ceil(np.minimum(ahead, 1e9)) - 1, 0).astype(np.int64)
    return level


def _least_cost_of_waiting(years: Sequence[float], held_a_year: Sequence[float], shipping: float) -> list[float]:
    """Return, for each part, the least cost of it and all after it when a parcel goes at its turn (0 at the end)."""
    later = [0.0] * (len(years) + 1)
    for first in reversed(range(len(years))):
        held, best = 0.0, math.inf
        for last in range(first, len(years)):
            held += held_a_year[last] * (years[last] - years[first])
            if held >= best:
                break
            best = min(best, held + later[last + 1])
        later[first] = shipping + best
    return later


def _candidate_lines(
    lines: Sequence[ReplenishmentLine], next_round: float, order_cost: float, costs: OrderCosts
) -> Iterable[PlannedLine]:  # fmt: skip
    """Yield the parts that could join: kept, used, and due before a parcel goes again anyway."""
    for i, line in enumerate(lines):
        years = line.years_left()
        if line.must or line.level < 1 or not years < next_round:
            continue
        quantity = _line_quantity(line, order_cost, costs)
        if not quantity.long_lasting:
            yield PlannedLine(i, quantity, False, years, costs.holding_share * quantity.goods * years)


def _line_quantity(line: ReplenishmentLine, order_cost: float, costs: OrderCosts) -> OrderQuantity:
    return choose_order_quantity(
        max(1, line.level - line.position), line.yearly_demand, line.offer, order_cost, costs
    )
