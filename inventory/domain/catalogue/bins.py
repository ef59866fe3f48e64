"""Bins: places with a label, which may be printed before there is anything to put in them."""

from __future__ import annotations

from typing import Any

from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import BinRecord, Holding, LotRecord, PieceRecord, ResultPage, from_row
from inventory.domain.common.validation import clean_text, get_row, update_versioned
from inventory.store import ledger
from inventory.store.connection import transaction
from inventory.store.queries import fetch_rows
from inventory.store.tables import Balance, Bin, Lot, Part, Piece


def add_bin(
    name: str, part_id: int | None = None, *, mixed: bool = False, walk: int = 0, note: str = ""
) -> BinRecord:
    """Add a bin called *name*, for one part, for several (*mixed*), or for what comes first."""
    with transaction():
        given = _validated_fields(name=name, part_id=part_id, mixed=mixed, walk=walk, note=note)
        try:
            made = Bin.create(code=unused_code(Bin, "bin"), created=clock.now(), **given)
        except IntegrityError:
            raise _name_taken(name) from None
    return from_row(BinRecord, made)


def add_blank_bins(number: int) -> list[BinRecord]:
    """Make *number* (1 to 500) bins without a name, for labels that are stuck on first and put to use later."""
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= 500:
        raise Invalid("Choose from 1 to 500 blank labels.", errors={"number": ["1 to 500"]})
    with transaction():
        rows = [Bin.create(code=unused_code(Bin, "bin"), created=clock.now()) for _ in range(number)]
    return [from_row(BinRecord, row) for row in rows]


def edit_bin(bin_id: int, version: int | None = None, **changes: Any) -> BinRecord:
    """Change a bin's name, part, place in the walk or note; retire it when it is empty."""
    with ledger.ledger_transaction():  # something may be coming into it at this moment
        found = get_row(Bin, bin_id, "bin")
        now = {n: getattr(found, n) for n in ("name", "part_id", "mixed", "walk", "note", "retired")}
        given = _validated_fields(**{**now, **changes})
        _check_contents(found, given)
        try:
            update_versioned(found, "bin", version, **given)
        except IntegrityError:
            raise _name_taken(given["name"]) from None
        return get_bin(bin_id)


def _validated_fields(
    *, name: str, part_id: int | None, mixed: bool, walk: int, note: str, retired: bool = False
) -> dict[str, Any]:
    if part_id is not None:
        get_row(Part, part_id, "part")
        if mixed:
            raise Invalid("A bin is for one part or for several, not both.", errors={"mixed": ["not with a part"]})
    if isinstance(walk, bool) or not isinstance(walk, int) or not 0 <= walk <= 1_000_000:
        raise Invalid("The place in the walk is a whole number.", errors={"walk": ["whole number, 0 or more"]})
    return {
        "name": clean_text(name, "name", 60, required=True), "part": part_id, "mixed": bool(mixed), "walk": walk,
        "note": clean_text(note, "note", 1000), "retired": bool(retired),
    }  # fmt: skip


def _check_contents(found: Bin, given: dict[str, Any]) -> None:
    inside = part_ids_in_bin(found.id)
    if given["retired"] and inside:
        raise Conflict("There is still stock in this bin: move or scrap it first.", reason="not_empty")
    if not given["mixed"] and inside - {given["part"]} and (given["part"] is not None or len(inside) > 1):
        raise Conflict("Other parts are in this bin: move them out, or mark the bin as mixed.", reason="other_part")


def _name_taken(name: str) -> Conflict:
    return Conflict(f"There is a bin {name} already: choose another name.", reason="taken")


def get_bin(bin_id: int) -> BinRecord:
    """Return one bin."""
    return from_row(BinRecord, get_row(Bin, bin_id, "bin"))


def bins(
    *, part_id: int | None = None, named: bool | None = None, retired: bool = False, after: str | None = None,
    limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return bins in the order in which they were made; *named* tells those in use from blank ones."""
    query = Bin.select().where(Bin.retired == retired)
    if part_id is not None:
        query = query.where(Bin.part == part_id)
    if named is not None:
        query = query.where(Bin.name.is_null(not named))
    return paginate(query, Bin.id, after, limit, lambda one: from_row(BinRecord, one))


def part_ids_in_bin(bin_id: int) -> set[int]:
    """Return the parts that are in a bin now."""
    loose = Balance.select(Balance.part).where(Balance.bin == bin_id, Balance.quantity > 0)
    single = Piece.select(Piece.part).where(Piece.bin == bin_id)
    return {one.part_id for one in loose} | {one.part_id for one in single}


def holdings(*, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None) -> list[Holding]:
    """Return the loose stock of a bin, a part or a lot, oldest lot first."""
    keys = _without_none(bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    only = "".join(f" AND balances.{column} = ?" for column in keys)
    return [
        Holding(from_row(BinRecord, bin_), from_row(LotRecord, lot), quantity)
        for lot, bin_, quantity in fetch_rows(
            (Lot, Bin), _HOLDINGS.format(columns="{columns}", only=only), *keys.values()
        )
    ]


_HOLDINGS = (
    "SELECT {columns}, balances.quantity FROM balances JOIN lots ON lots.id = balances.lot_id"
    " JOIN bins ON bins.id = balances.bin_id WHERE balances.quantity > 0{only}"
    " ORDER BY lots.received, lots.id, bins.walk, bins.id"
)


def stocked_pieces(
    *, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None
) -> list[PieceRecord]:
    """Return the pieces that are kept in a bin, of a part, or of a lot (those out included), by name."""
    keys = _without_none(bin_id=bin_id, part_id=part_id, lot_id=lot_id)
    only = "".join(f" AND {column} = ?" for column in keys)
    sql = f"SELECT {{columns}} FROM pieces WHERE bin_id IS NOT NULL{only} ORDER BY name, id"
    return [from_row(PieceRecord, one) for (one,) in fetch_rows((Piece,), sql, *keys.values())]


def _without_none(**keys: int | None) -> dict[str, int]:
    return {column: key for column, key in keys.items() if key is not None}
