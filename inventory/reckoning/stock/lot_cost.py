"""Follows the cost of a lot to whoever holds its units: whole minor units that always add up to what it cost.

A lot's cost is treated as money that travels with its units. The shelf gives so much away that what stays is the
fair share of the units that stay, rounded half to even; a job that brings back n of its N units brings n/N of what it
bears. So nothing is lost by rounding, it does not pile up either, what was given earlier never changes when more is
given later, and who brings back everything bears nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

SHELF, SUPPLIER, BENCH, SCRAPPED, MISSING = 0, -1, -2, -3, -4  # holders; a job is its id, above 0


class LotCostLedger:
    """Who holds how many units of a lot, and how much of its cost (minor units)."""

    __slots__ = ("_cost", "_money", "_total", "_units")

    def __init__(self, units: int, cost: int) -> None:
        """Begin with all of it at the supplier: *units* above 0, *cost* 0 or more."""
        if units < 1 or cost < 0:
            raise ValueError("A lot has at least one unit, and costs 0 or more.")
        self._total, self._cost = units, cost
        self._units = {SUPPLIER: units}
        self._money = {SUPPLIER: cost}

    def onto_shelf(self, units: int, giver: int) -> int:
        """Bring *units* from *giver* to the shelf (below 0: the other way); return the money that came along.

        Units that *giver* never had, such as more found at a count, come without money.
        """
        return self._give(giver, SHELF, units) if units >= 0 else -self._give(SHELF, giver, -units)

    def _give(self, giver: int, taker: int, units: int) -> int:
        has, worth = self._units.get(giver, 0), self._money.get(giver, 0)
        if units >= has:
            money = worth
            self._total += units - has
        elif giver in (SHELF, SUPPLIER):
            money = max(0, worth - _rounded_share(self._cost, has - units, self._total))
        else:
            money = _rounded_share(worth, units, has)
        self._units[giver] = has - units if has > units else 0
        self._money[giver] = worth - money
        self._units[taker] = self._units.get(taker, 0) + units
        self._money[taker] = self._money.get(taker, 0) + money
        return money

    def units(self, holder: int) -> int:
        """Return how many units *holder* has."""
        return self._units.get(holder, 0)

    def money(self, holder: int) -> int:
        """Return how much of the cost *holder* bears, in minor units."""
        return self._money.get(holder, 0)

    def holders(self) -> Iterator[tuple[int, int, int]]:
        """Yield (holder, units, money) of all that hold something."""
        for holder, units in self._units.items():
            if units or self._money[holder]:
                yield holder, units, self._money[holder]


def _rounded_share(money: int, units: int, total: int) -> int:
    """Return *units* / *of* of *money*, rounded half to even, in whole numbers throughout."""
    quotient, remainder = divmod(money * units, total)
    return quotient + (2 * remainder > total or (2 * remainder == total and quotient % 2 == 1))
