"""Which lot a pull takes from, and which bin a part may go into."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.catalogue.bins import part_ids_in_bin
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.validation import get_row
from inventory.reckoning.stock.shelf_life import picking_key
from inventory.store.queries import fetch_rows
from inventory.store.tables import Bin, Lot


@dataclass(frozen=True)
class PickSource:
    """Loose units of a lot in a bin that a pull may take."""

    bin: Bin
    lot: Lot
    quantity: int
    past_date: bool


_PICKABLE = (
    "SELECT {columns}, b.quantity FROM balances b JOIN bins ON bins.id = b.bin_id JOIN lots ON lots.id = b.lot_id"
    " WHERE b.part_id = ? AND b.quantity > 0 AND NOT lots.on_hold"
)


def pick_sources(part_id: int, bin_id: int | None = None, lot_id: int | None = None) -> list[PickSource]:
    """Return what a pull of a part may take, in the order in which it should.

    Earliest last good day first (FEFO: best before, or the end of its life after opening), then oldest received
    (FIFO); a lot past its date comes last, a lot on hold never.
    """
    columns = {"b.bin_id": bin_id, "b.lot_id": lot_id}
    keys = {column: key for column, key in columns.items() if key is not None}
    sql = _PICKABLE + "".join(f" AND {column} = ?" for column in keys)
    today = clock.today()
    sources = [
        PickSource(bin_, lot, quantity, _is_past_date(lot, today))
        for bin_, lot, quantity in fetch_rows((Bin, Lot), sql, part_id, *keys.values())
    ]
    return sorted(sources, key=lambda source: (_pick_order(source.lot, today), source.bin.walk, source.bin.id))


def _is_past_date(lot: Lot, today: date) -> bool:
    return lot.until is not None and lot.until < today


def _pick_order(lot: Lot, today: date) -> tuple[object, ...]:
    return picking_key(lot.until, lot.received, f"{lot.id:012}", today)


def allocate(sources: Sequence[PickSource], quantity: int) -> list[tuple[PickSource, int]]:
    """Allocate *quantity* to the *sources* in order; return how many from each. A shortfall is not reported."""
    allocation = []
    for source in sources:
        units = min(source.quantity, quantity)
        if units:
            allocation.append((source, units))
            quantity -= units
    return allocation


def claim_bin(bin_id: int, part_id: int) -> Bin:
    """Return the bin if a part may go into it; a bin that belongs to no part yet becomes that part's.

    Raises Conflict for a retired bin, a blank label, or a bin that is another part's.
    """
    bin_ = get_row(Bin, bin_id, "bin")
    if bin_.retired:
        raise Conflict(f"Bin {bin_.name} is retired: choose another bin.", reason="bin_retired")
    if bin_.name is None:
        raise Conflict("This bin label is not in use yet: scan it and say what goes in.", reason="bin_blank")
    if bin_.mixed or bin_.part_id == part_id:
        return bin_
    if bin_.part_id is not None or part_ids_in_bin(bin_.id) - {part_id}:
        raise Conflict(
            f"Bin {bin_.name} is another part's: choose another bin, or mark it as mixed.",
            reason="other_part",
        )
    Bin.update(part=part_id).where(Bin.id == bin_.id).execute()
    return bin_
