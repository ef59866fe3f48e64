"""Which lot a pull takes from, and which bin a thing may go into: decided here, not guessed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.domain.catalogue.bins import parts_in
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict
from inventory.domain.common.validation import row
from inventory.reckoning.stock.shelf_life import picking_key
from inventory.store.queries import rows
from inventory.store.tables import Bin, Lot


@dataclass(frozen=True)
class Source:
    """Loose units of a lot in a bin that a pull may take."""

    bin: Bin
    lot: Lot
    quantity: int
    past_date: bool


_TAKEABLE = (
    "SELECT {columns}, b.quantity FROM balances b JOIN bins ON bins.id = b.bin_id JOIN lots ON lots.id = b.lot_id"
    " WHERE b.part_id = ? AND b.quantity > 0 AND NOT lots.on_hold"
)


def sources(part_id: int, bin_id: int | None = None, lot_id: int | None = None) -> list[Source]:
    """Return what a pull of a part may take, in the order in which it should.

    Earliest last good day first (FEFO: best before, or the end of its life after opening), then oldest received
    (FIFO); a lot past its date comes last, a lot on hold never.
    """
    named = {"b.bin_id": bin_id, "b.lot_id": lot_id}
    given = {column: key for column, key in named.items() if key is not None}
    sql = _TAKEABLE + "".join(f" AND {column} = ?" for column in given)
    today = clock.today()
    found = [
        Source(bin_, lot, quantity, _is_past(lot, today))
        for bin_, lot, quantity in rows((Bin, Lot), sql, part_id, *given.values())
    ]
    return sorted(found, key=lambda source: (_turn(source.lot, today), source.bin.walk, source.bin.id))


def _is_past(lot: Lot, today: date) -> bool:
    return lot.until is not None and lot.until < today


def _turn(lot: Lot, today: date) -> tuple[object, ...]:
    return picking_key(lot.until, lot.received, f"{lot.id:012}", today)


def shared_out(found: Sequence[Source], quantity: int) -> list[tuple[Source, int]]:
    """Take *quantity* from *found* in order; return how many from each. What is short is left out."""
    taken = []
    for source in found:
        part = min(source.quantity, quantity)
        if part:
            taken.append((source, part))
            quantity -= part
    return taken


def bin_for(bin_id: int, part_id: int) -> Bin:
    """Return the bin if a part may go into it, making it that part's bin when it is nobody's yet.

    Raises Conflict for a retired bin, a blank label, or a bin that is another part's.
    """
    found = row(Bin, bin_id, "bin")
    if found.retired:
        raise Conflict(f"Bin {found.name} is retired: choose another bin.", reason="bin_retired")
    if found.name is None:
        raise Conflict("This bin label is not in use yet: scan it and say what goes in.", reason="bin_blank")
    if found.mixed or found.part_id == part_id:
        return found
    if found.part_id is not None or parts_in(found.id) - {part_id}:
        raise Conflict(
            f"Bin {found.name} is another part's: choose another bin, or mark it as mixed.",
            reason="other_part",
        )
    Bin.update(part=part_id).where(Bin.id == found.id).execute()
    return found
