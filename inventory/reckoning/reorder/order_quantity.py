"""How many to order: packs, minimum, price breaks.

Money is in minor units (cents) throughout; a price may be a fraction of one. Costs are those of a year.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Pieces = TypeVar("Pieces", int, NDArray[np.int64])
Price = TypeVar("Price", int, float)
DecidedBy = Literal["level", "minimum", "price break", "cost", "years of use"]


@dataclass(frozen=True)
class OrderCosts:
    """What ordering and holding cost the shop (assumed values, settable).

    line_cost: handling one line of an order, from placing to putting away, minor units.
    holding_share: what holding costs a year, as a share of the price.
    most_years: never order more than this many years of use by choice; packs and minimums may force more.
    """

    line_cost: float = 200.0
    holding_share: float = 0.25
    most_years: float = 3.0

    def __post_init__(self) -> None:
        """Raise ValueError when a cost is out of its range."""
        if not (self.line_cost >= 0 and self.holding_share >= 0 and self.most_years > 0):
            raise ValueError("Costs cannot be negative, nor most_years 0: correct them in the settings.")


class PriceBreak(NamedTuple):
    """The price of one piece, in minor units, when at least so many are ordered."""

    from_pieces: int
    unit_price: float


@dataclass(frozen=True)
class PricedOffer:
    """What a supplier sells a part for: in whole packs, at least `minimum` pieces, at prices by quantity."""

    breaks: tuple[PriceBreak, ...]
    pack: int = 1
    minimum: int = 1

    def __post_init__(self) -> None:
        """Raise ValueError for an offer that nothing can be ordered from."""
        steps = [b.from_pieces for b in self.breaks]
        if self.pack < 1 or self.minimum < 1 or not steps or min(steps) < 1:
            raise ValueError("An offer needs a pack and a minimum of at least 1 piece, and at least one price.")
        if steps != sorted(set(steps)):
            raise ValueError("Price breaks must go up, each from more pieces than the one before: reorder them.")
        if any(not (0 <= b.unit_price < math.inf) for b in self.breaks):
            raise ValueError("A price cannot be negative: correct the offer.")

    def unit_price(self, pieces: int) -> float:
        """Return the price of one piece when so many are ordered."""
        return price_at(pieces, self.breaks, math.inf)

    def least(self, need: int) -> int:
        """Return the smallest quantity that can be ordered and covers the need."""
        return round_up_to_packs(max(need, self.minimum, self.breaks[0].from_pieces), self.pack)


@dataclass(frozen=True)
class OrderQuantity:
    """How many to order, and why.

    pieces, packs: what to order. unit_price, goods: minor units a piece, and for the whole line.
    yearly_cost: purchase, ordering and holding over a year at this quantity.
    years_of_use: how long the order lasts; pack_years: how long one pack lasts (infinite for no use at all).
    long_lasting: the least that can be ordered lasts longer than the shop's `most_years`.
    decided_by: what settled the quantity.
    """

    pieces: int
    packs: int
    unit_price: float
    goods: float
    yearly_cost: float
    years_of_use: float
    pack_years: float
    long_lasting: bool
    decided_by: DecidedBy


def economic_order_quantity(
    yearly_demand: ArrayLike, order_cost: ArrayLike, holding: ArrayLike
) -> NDArray[np.float64]:
    """Return Q = sqrt(2 D K / h), the quantity at which ordering and holding together cost least.

    F. W. Harris, "How many parts to make at once", 1913. D pieces a year, K an order, h a piece and year.
    Infinite when holding costs nothing.
    """
    demand, order, hold = (np.asarray(v, float) for v in (yearly_demand, order_cost, holding))
    with np.errstate(divide="ignore", invalid="ignore"):
        best: NDArray[np.float64] = np.sqrt(2 * demand * order / hold)
    return np.where(demand * order == 0, 0.0, best)


def yearly_cost_at_price(
    pieces: ArrayLike, yearly_demand: ArrayLike, unit_price: ArrayLike, order_cost: ArrayLike, holding: ArrayLike
) -> NDArray[np.float64]:
    """Return P D + K D / Q + h Q / 2: what a year costs when always ordering Q pieces, in minor units.

    P a piece, D pieces a year, K an order, h a piece and year: goods, orders, and holding.
    """
    quantity, demand, order, hold = (np.asarray(v, float) for v in (pieces, yearly_demand, order_cost, holding))
    cost: NDArray[np.float64] = unit_price * demand + (order * demand / quantity + hold * quantity / 2)
    return cost


def price_at(quantity: int, breaks: Sequence[tuple[int, Price]], base: Price) -> Price:
    """Return the price of the last of *breaks*, (least quantity, price) ascending, that is reached; else *base*."""
    return next((price for least, price in reversed(breaks) if least <= quantity), base)


def round_up_to_packs(pieces: Pieces, pack: Pieces) -> Pieces:
    """Round up to whole packs."""
    return -(-pieces // pack) * pack


def round_down_to_packs(pieces: float, pack: int) -> int:
    """Round down to whole packs."""
    return math.floor(pieces / pack) * pack


def choose_order_quantity(
    need: int, yearly_demand: float, offer: PricedOffer, order_cost: float, costs: OrderCosts | None = None
) -> OrderQuantity:
    """Choose the cheapest quantity that covers the need, by comparing every quantity that could be.

    need: pieces that bring the position up to its level. order_cost: what one more order of this part costs
    (the line and its share of the shipping). On each step of the price ladder the cost is convex in the quantity,
    so only its ends and the two packs around Harris's quantity can be cheapest.
    """
    rule = costs or OrderCosts()
    least = offer.least(need)
    cap = max(least, round_down_to_packs(min(rule.most_years * yearly_demand, 1e12), offer.pack))
    candidates = {least, cap, *_candidate_quantities(yearly_demand, offer, order_cost, rule)}
    pieces = min(
        (q for q in candidates if least <= q <= cap),
        key=lambda q: (yearly_cost(q, yearly_demand, offer, order_cost, rule), q),
    )
    price = offer.unit_price(pieces)
    return OrderQuantity(
        pieces=pieces,
        packs=pieces // offer.pack,
        unit_price=price,
        goods=pieces * price,
        yearly_cost=yearly_cost(pieces, yearly_demand, offer, order_cost, rule),
        years_of_use=years_of_use(pieces, yearly_demand),
        pack_years=years_of_use(offer.pack, yearly_demand),
        long_lasting=years_of_use(least, yearly_demand) > rule.most_years,
        decided_by=_decided_by(pieces, need, least, cap, offer),
    )


def yearly_cost(pieces: int, yearly_demand: float, offer: PricedOffer, order_cost: float, costs: OrderCosts) -> float:
    """Return what a year costs when always ordering so many of an offer: goods, orders and holding, minor units."""
    price = offer.unit_price(pieces)
    return float(yearly_cost_at_price(pieces, yearly_demand, price, order_cost, costs.holding_share * price))


def years_of_use(pieces: int, yearly_demand: float) -> float:
    """Return how many years so many pieces last: a pack of 1,000 of a part used 70 times a year lasts 14."""
    return pieces / yearly_demand if yearly_demand > 0 else math.inf


def _candidate_quantities(
    yearly_demand: float, offer: PricedOffer, order_cost: float, costs: OrderCosts
) -> Iterator[int]:
    """Yield the quantities that can be cheapest: both ends of each price step, and Harris's within it."""
    for step in offer.breaks:
        yield round_up_to_packs(step.from_pieces, offer.pack)
        yield round_down_to_packs(step.from_pieces - 1, offer.pack)
        best = float(economic_order_quantity(yearly_demand, order_cost, costs.holding_share * step.unit_price))
        if best < 1e12:
            yield round_down_to_packs(best, offer.pack)
            yield round_down_to_packs(best, offer.pack) + offer.pack


def _decided_by(pieces: int, need: int, least: int, cap: int, offer: PricedOffer) -> DecidedBy:
    """Name what settled the quantity."""
    if pieces == least:
        return "level" if least == round_up_to_packs(need, offer.pack) else "minimum"
    if pieces in {round_up_to_packs(step.from_pieces, offer.pack) for step in offer.breaks}:
        return "price break"
    return "years of use" if pieces == cap else "cost"
