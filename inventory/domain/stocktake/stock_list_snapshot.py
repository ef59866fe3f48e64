"""What the bench has already, read at once, to hold a stock list against it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.common.errors import Conflict
from inventory.store.connection import execute
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Bin, Offer, Part, Supplier

_QUANTITIES_BY_BIN = f"SELECT bin_id, part_id, SUM(quantity) FROM {IN_BINS} s GROUP BY bin_id, part_id"


@dataclass
class BenchSnapshot:
    """Parts by number and by their makers' numbers, bins and suppliers by name, offers, and what each bin holds."""

    parts: Mapping[str, Any]
    of_maker: Mapping[str, list[Any]]
    bins: Mapping[str, Any]
    suppliers: Mapping[str, Any]
    offers: Mapping[tuple[int, int, str], Any]
    held: Mapping[int, Mapping[int, int]]  # by bin and part, in base units
    folded: dict[str, dict[str, str]] = field(default_factory=dict)

    def made_by(self, maker: str, number: str) -> list[Any]:
        """Return the parts that have a maker's number; of any maker when *maker* is not said."""
        parts = self.of_maker.get(number.casefold(), [])
        return [part for part in parts if not maker or part.maker.casefold() == maker.casefold()]

    def number_of(self, part_id: int) -> str:
        """Return the number of one of the bench's parts."""
        return next((number for number, part in self.parts.items() if part.id == part_id), "")

    def almost(self, what: str, name: str) -> str:
        """Return the name of a thing that differs from *name* in capitals only; *what*: parts, bins, suppliers."""
        if what not in self.folded:
            self.folded[what] = {known_name.casefold(): known_name for known_name in getattr(self, what)}
        return self.folded[what].get(name.casefold(), "")


def load_bench() -> BenchSnapshot:
    """Read what the bench has."""
    parts = list(Part.select())
    of_maker: dict[str, list[Any]] = defaultdict(list)
    for part in parts:
        if part.maker_number:
            of_maker[part.maker_number.casefold()].append(part)
    return BenchSnapshot(
        {part.number: part for part in parts}, of_maker,
        {str(bin_.name): bin_ for bin_ in Bin.select().where(Bin.name.is_null(False))},
        {supplier.name: supplier for supplier in Supplier.select()},
        {(offer.part_id, offer.supplier_id, offer.supplier_number): offer for offer in Offer.select()},
        quantities_by_bin(),
    )  # fmt: skip


def quantities_by_bin() -> dict[int, dict[int, int]]:
    """Return how much of each part each bin holds, pieces and loose stock together."""
    quantities: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for bin_id, part_id, quantity in execute(_QUANTITIES_BY_BIN).fetchall():
        quantities[bin_id][part_id] += int(quantity)
    return quantities


def check_not_retired(thing: Any, what: str, name: str) -> None:
    """Raise Conflict for a part or a bin that is no longer kept."""
    if thing is not None and thing.retired:
        raise Conflict(f"{what} {name} is retired here: bring it back into use first, or leave this row out.")
