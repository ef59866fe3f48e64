"""What a year of a part costs by each of the offers of it, for many offers at once.

The same sum as that of `reorder.order_quantity`, in arrays, and what a choice between suppliers needs besides.
Money in minor units, quantities in pieces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.reckoning.reorder.demand import FloatArray, IntArray
from inventory.reckoning.reorder.order_quantity import (
    OrderCosts,
    economic_order_quantity,
    round_up_to_packs,
    yearly_cost_at_price,
)


@dataclass(frozen=True)
class PriceLadders:
    """Offers as arrays: pack and minimum one entry an offer, the rest one entry a price step.

    step_offer: the offer a step belongs to, ascending, at least one step each. step_from: pieces from which
    the step's price counts, ascending within an offer. step_price: of one piece.
    """

    pack: IntArray
    minimum: IntArray
    step_offer: IntArray
    step_from: IntArray
    step_price: FloatArray


def yearly_costs(
    offers: PriceLadders, yearly_demand: FloatArray, order_cost: FloatArray, buffer: FloatArray, costs: OrderCosts
) -> FloatArray:
    """Return what a year costs by each offer at its own best quantity: goods, orders, and holding.

    order_cost: of one more order. buffer: pieces that are held all year because deliveries take time, so
    that a slow supplier is charged with the stock it makes necessary. What is not used within the shop's
    `most_years` counts as thrown away, so that a pack for a lifetime is not taken for a bargain.
    Within a price step the cost is convex in the quantity: the packs around Harris's quantity, moved into
    the step, are the cheapest.
    """
    i = offers.step_offer
    pack, demand, price = offers.pack[i], yearly_demand[i], offers.step_price
    first, last = _order_range_per_step(offers, yearly_demand, costs)
    holding = costs.holding_share * price
    best = np.minimum(economic_order_quantity(demand, order_cost[i], holding), 1e12) // pack * pack
    cheapest = np.full(len(i), np.inf)
    for quantity in (best, best + pack):
        inside = np.clip(quantity, first, np.maximum(first, last))
        bought = np.maximum(demand, inside / costs.most_years)
        yearly = yearly_cost_at_price(inside, bought, price, order_cost[i], holding)
        cheapest = np.minimum(cheapest, np.where(first <= last, yearly + holding * np.maximum(buffer[i], 0), np.inf))
    start = np.searchsorted(i, np.arange(len(offers.pack)))
    by_offer: FloatArray = np.minimum.reduceat(cheapest, start) if len(i) else np.empty(0)
    return by_offer


def _order_range_per_step(
    offers: PriceLadders, yearly_demand: FloatArray, costs: OrderCosts
) -> tuple[FloatArray, FloatArray]:
    """Return the smallest and largest quantity of each price step that may be ordered (none: first > last)."""
    i, pack = offers.step_offer, offers.pack[offers.step_offer]
    opens = np.searchsorted(i, np.arange(len(offers.pack)))
    least = round_up_to_packs(np.maximum(offers.minimum, offers.step_from[opens]), offers.pack)
    most = np.maximum(least, np.minimum(costs.most_years * yearly_demand, 1e12) // offers.pack * offers.pack)
    ends_offer = np.append(i[1:] != i[:-1], True)
    upper = np.where(ends_offer, most[i], np.append(offers.step_from[1:], 0) - 1.0)
    first = np.maximum(round_up_to_packs(offers.step_from, pack), least[i])
    return first.astype(float), np.minimum(upper // pack * pack, most[i])
