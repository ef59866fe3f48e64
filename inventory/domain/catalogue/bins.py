"""Bins: places with a label, which may be printed before there is anything to put in them."""

from __future__ import annotations

from typing import Any

from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.domain.common.code_factory import fresh_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import BinRecord, Holding, LotRecord, Page, PieceRecord, read
from inventory.domain.common.validation import clean, edit, row
from inventory.store import ledger
from inventory.store.connection import writing
from inventory.store.queries import rows
from inventory.store.tables import Balance, Bin, Lot, Part, Piece


def add_bin(
    name: str, part_id: int | None = None, *, mixed: bool = False, walk: int = 0, note: str = ""
) -> BinRecord:
    """Add a bin called *name*, for one part, for several (*mixed*), or for what comes first."""
    with writing():
        given = _checked(name=name, part_id=part_id, mixed=mixed, walk=walk, note=note)
        try:
            made = Bin.create(code=fresh_code(Bin, "bin"), created=clock.now(), **given)
        except IntegrityError:
            raise _name_taken(name) from None
    return read(BinRecord, made)


def add_blank_bins(number: int) -> list[BinRecord]:
    """Make *number* (1 to 500) bins without a name, for labels that are stuck on first and put to use later."""
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= 500:
        raise Invalid("Choose from 1 to 500 blank labels.", errors={"number": ["1 to 500"]})
    with writing():
        rows = [Bin.create(code=fresh_code(Bin, "bin"), created=clock.now()) for _ in range(number)]
    return [read(BinRecord, one) for one in rows]


def edit_bin(bin_id: int, version: int | None = None, **changes: Any) -> BinRecord:
    """Change a bin's name, part, place in the walk or note; retire it when it is empty."""
    with ledger.writing_lines():  # something may be coming into it at this moment
        found = row(Bin, bin_id, "bin")
        now = {n: getattr(found, n) for n in ("name", "part_id", "mixed", "walk", "note", "retired")}
        given = _checked(**{**now, **changes})
        _fits_contents(found, given)
        try:
            edit(found, "bin", version, **given)
        except IntegrityError:
            raise _name_taken(given["name"]) from None
        return bin_(bin_id)


def _checked(
    *, name: str, part_id: int | None, mixed: bool, walk: int, note: str, retired: bool = False
) -> dict[str, Any]:
    if part_id is not None:
        row(Part, part_id, "part")
        if mixed:
            raise Invalid("A bin is for one part or for several, not both.", errors={"mixed": ["not with a part"]})
    if isinstance(walk, bool) or not isinstance(walk, int) or not 0 <= walk <= 1_000_000:
        raise Invalid("The place in the walk is a whole number.", errors={"walk": ["whole number, 0 or more"]})
    return {
        "name": clean(name, "name", 60, needed=True), "part": part_id, "mixed": bool(mixed), "walk": walk,
        "note": clean(note, "note", 1000), "retired": bool(retired),
    }  # fmt: skip


def _fits_contents(found: Bin, given: dict[str, Any]) -> None:
    inside = parts_in(found.id)
    if given["retired"] and inside:
        raise Conflict("There is still stock in this bin: move or scrap it first.", reason="not_empty")
    if not given["mixed"] and inside - {given["part"]} and (given["part"] is not None or len(inside) > 1):
        raise Conflict("Other parts are in this bin: move them out, or mark the bin as mixed.", reason="other_part")


def _name_taken(name: str) -> Conflict:
    return Conflict(f"There is a bin {name} already: choose another name.", reason="taken")


def bin_(bin_id: int) -> BinRecord:
    """Return one bin."""
    return read(BinRecord, row(Bin, bin_id, "bin"))


def bins(
    *, part_id: int | None = None, named: bool | None = None, retired: bool = False, after: str | None = None,
    limit: int = 50,
) -> Page:  # fmt: skip
    """Return bins in the order in which they were made; *named* tells those in use from blank ones."""
    query = Bin.select().where(Bin.retired == retired)
    if part_id is not None:
        query = query.where(Bin.part == part_id)
    if named is not None:
        query = query.where(Bin.name.is_null(not named))
    return page_of(query, Bin.id, after, limit, lambda one: read(BinRecord, one))


def parts_in(bin_id: int) -> set[int]:
    """Return the parts that are in a bin now."""
    loose = Balance.select(Balance.part).where(Balance.bin == bin_id, Balance.quantity > 0)
    single = Piece.select(Piece.part).where(Piece.bin == bin_id)
    return {one.part_id for one in loose} | {one.part_id for one in single}


def holdings(*, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None) -> list[Holding]:
    """Return the loose stock of a bin, a part or a lot, oldest lot first."""
    keys = _given(bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    only = "".join(f" AND balances.{column} = ?" for column in keys)
    return [
        Holding(read(BinRecord, bin_), read(LotRecord, lot), quantity)
        for lot, bin_, quantity in rows((Lot, Bin), _HOLDINGS.format(columns="{columns}", only=only), *keys.values())
    ]


_HOLDINGS = (
    "SELECT {columns}, balances.quantity FROM balances JOIN lots ON lots.id = balances.lot_id"
    " JOIN bins ON bins.id = balances.bin_id WHERE balances.quantity > 0{only}"
    " ORDER BY lots.received, lots.id, bins.walk, bins.id"
)


def pieces_in(
    *, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None
) -> list[PieceRecord]:
    """Return the pieces that are kept in a bin, of a part, or of a lot (those out included), by name."""
    keys = _given(bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    only = "".join(f" AND {column} = ?" for column in keys)
    sql = f"SELECT {{columns}} FROM pieces WHERE bin_id IS NOT NULL{only} ORDER BY name, id"
    return [read(PieceRecord, one) for (one,) in rows((Piece,), sql, *keys.values())]


def _given(**keys: int | None) -> dict[str, int]:
    return {column: key for column, key in keys.items() if key is not None}
