"""Bins: labelled places, and what is in them. Labels may be printed before a bin is in use."""

from __future__ import annotations

from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import BinRecord, Holding, LotRecord, PieceRecord, ResultPage, from_row
from inventory.domain.common.validation import (
    clean_text,
    conflict_if_taken,
    get_row,
    update_versioned,
    validated_number,
)
from inventory.store import ledger
from inventory.store.connection import execute, transaction
from inventory.store.queries import fetch_rows
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Bin, Lot, Part, Piece


def add_bin(
    name: str, part_id: int | None = None, *, mixed: bool = False, walk: int = 0, note: str = ""
) -> BinRecord:
    """Add a bin called *name*, for one part, for several (*mixed*), or for what comes first."""
    with transaction():
        values = _validated_fields(name=name, part_id=part_id, mixed=mixed, walk=walk, note=note)
        with conflict_if_taken(f"a bin {name}"):
            row = Bin.create(code=unused_code(Bin, "bin"), created=clock.now(), **values)
    return from_row(BinRecord, row)


def add_blank_bins(number: int) -> list[BinRecord]:
    """Make *number* (1 to 500) bins without a name, for labels that are stuck on first and put to use later."""
    validated_number(number, "number", 1, 500, "Choose from 1 to 500 blank labels.")
    with transaction():
        rows = [Bin.create(code=unused_code(Bin, "bin"), created=clock.now()) for _ in range(number)]
    return [from_row(BinRecord, row) for row in rows]


def edit_bin(bin_id: int, version: int | None = None, **changes: Any) -> BinRecord:
    """Change a bin's name, part, place in the walk or note; retire it when it is empty."""
    with ledger.ledger_transaction():  # something may be coming into it at this moment
        row = get_row(Bin, bin_id, "bin")
        current = {name: getattr(row, name) for name in ("name", "part_id", "mixed", "walk", "note", "retired")}
        values = _validated_fields(**{**current, **changes})
        _check_contents(bin_id, values)
        with conflict_if_taken(f"a bin {values['name']}"):
            update_versioned(row, "bin", version, **values)
        return get_bin(bin_id)


def _validated_fields(
    *, name: str, part_id: int | None, mixed: bool, walk: int, note: str, retired: bool = False
) -> dict[str, Any]:
    if part_id is not None:
        get_row(Part, part_id, "part")
        if mixed:
            raise Invalid("A bin is for one part or for several, not both.", errors={"mixed": ["not with a part"]})
    validated_number(walk, "walk", 0, 1_000_000, "The place in the walk is a whole number.")
    return {
        "name": clean_text(name, "name", 60, required=True), "part": part_id, "mixed": bool(mixed), "walk": walk,
        "note": clean_text(note, "note", 1000), "retired": bool(retired),
    }  # fmt: skip


def _check_contents(bin_id: int, values: dict[str, Any]) -> None:
    """Refuse what the stock in a bin does not allow: to retire it, or to make it another part's."""
    inside = part_ids_in_bin(bin_id)
    if values["retired"] and inside:
        raise Conflict("There is still stock in this bin: move or scrap it first.", reason="not_empty")
    if not values["mixed"] and inside - {values["part"]} and (values["part"] is not None or len(inside) > 1):
        raise Conflict("Other parts are in this bin: move them out, or mark the bin as mixed.", reason="other_part")


def get_bin(bin_id: int) -> BinRecord:
    """Return one bin."""
    return from_row(BinRecord, get_row(Bin, bin_id, "bin"))


def bins(
    *, part_id: int | None = None, named: bool | None = None, retired: bool = False, after: str | None = None,
    limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return bins in the order in which they were made; *named*: only those in use, or only blank ones."""
    query = Bin.select().where(Bin.retired == retired)
    if part_id is not None:
        query = query.where(Bin.part == part_id)
    if named is not None:
        query = query.where(Bin.name.is_null(not named))
    return paginate(query, Bin.id, after, limit, lambda row: from_row(BinRecord, row))


def part_ids_in_bin(bin_id: int) -> set[int]:
    """Return the ids of the parts that are in a bin now."""
    return {part for (part,) in execute(_PART_IDS, bin_id).fetchall()}


_PART_IDS = f"SELECT part_id FROM {IN_BINS} s WHERE bin_id = ?"


def holdings(*, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None) -> list[Holding]:
    """Return the loose stock of a bin, a part or a lot, oldest lot first."""
    only, keys = _conditions("balances.", bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    sql = (
        "SELECT {columns}, balances.quantity FROM balances JOIN lots ON lots.id = balances.lot_id"
        f" JOIN bins ON bins.id = balances.bin_id WHERE balances.quantity > 0{only}"
        " ORDER BY lots.received, lots.id, bins.walk, bins.id"
    )
    return [
        Holding(from_row(BinRecord, bin_), from_row(LotRecord, lot), quantity)
        for lot, bin_, quantity in fetch_rows((Lot, Bin), sql, *keys)
    ]


def stocked_pieces(
    *, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None
) -> list[PieceRecord]:
    """Return the pieces that are kept in a bin, of a part, or of a lot (those out included), by name."""
    only, keys = _conditions("", bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    sql = f"SELECT {{columns}} FROM pieces WHERE bin_id IS NOT NULL{only} ORDER BY name, id"
    return [from_row(PieceRecord, row) for (row,) in fetch_rows((Piece,), sql, *keys)]


def _conditions(prefix: str, **keys: int | None) -> tuple[str, list[int]]:
    """Return the SQL that narrows a query to the *keys* that are not None, and their values."""
    known = {column: key for column, key in keys.items() if key is not None}
    return "".join(f" AND {prefix}{column} = ?" for column in known), list(known.values())
