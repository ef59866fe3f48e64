"""What a stock list would do on the bench as it is now: row by row, with everything that is wrong. Writes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.common.errors import Conflict
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.movements.receive import MAX_PIECES
from inventory.domain.stocktake.stock_list_parts import PartPlan, PartPlans
from inventory.domain.stocktake.stock_list_records import PreviewRow, StockListTotals
from inventory.domain.stocktake.stock_list_rows import ParsedRow, parse_row
from inventory.domain.stocktake.stock_list_snapshot import BenchSnapshot, check_not_retired
from inventory.domain.stocktake.stock_list_table import ParsedTable, invalid_list
from shared.quantities import format_money

MAX_LABELS = 5_000  # individually kept pieces that one list makes: each wants a label


@dataclass
class BinPlan:
    """A bin that rows name: ``known`` is the bench's own; it is for ``part``, unless it is mixed."""

    name: str
    known: Any
    mixed: bool
    first: ParsedRow
    part: PartPlan | None = None
    by: ParsedRow | None = None  # the row that puts the part into it
    walk: int = 0


@dataclass(frozen=True)
class OfferPlan:
    """What a supplier sells a part for, a pack of so many base units."""

    part: PartPlan
    supplier: str
    number: str
    price_minor: int
    pack: int
    row: int


@dataclass
class RowPlan:
    """A row, and what it comes to."""

    said: ParsedRow
    part: PartPlan | None
    bin: BinPlan | None = None
    quantity: int = 0
    offer: str = ""


@dataclass
class StockListPlan:
    """A whole list: its rows, and what they name, each thing once and in the order of the rows."""

    bench: BenchSnapshot
    currency: str
    rows: list[RowPlan] = field(default_factory=list)
    parts: dict[str, PartPlan] = field(default_factory=dict)
    bins: dict[str, BinPlan] = field(default_factory=dict)
    suppliers: dict[str, Any] = field(default_factory=dict)  # by name, the bench's own or None
    offers: dict[tuple[str, str, str], OfferPlan] = field(default_factory=dict)


def plan_import(table: ParsedTable, bench: BenchSnapshot, currency: str) -> StockListPlan:
    """Work out what a list would do; every row says what is wrong with it. Raises Invalid for too many pieces."""
    saids = [parse_row(row, table.headings, currency) for row in table.rows]
    parts = PartPlans(bench)
    made = StockListPlan(bench, currency)
    made.rows = [RowPlan(said, parts.of(said)) for said in saids]
    parts.check()
    made.parts = parts.plans
    mixed = {said.bin for said in saids if said.mixed}
    for row in made.rows:
        _plan_place(made, row, row.said.bin in mixed)
        _plan_offer(made, row)
    _mark_duplicates(made.rows)
    _check_piece_count(made.rows)
    return made


# ---- bins and what is in them ------------------------------------------------------------------------------


def _plan_place(made: StockListPlan, row: RowPlan, mixed: bool) -> None:
    given = row.said
    if given.bin:
        with given.cell("bin"):
            row.bin = _plan_bin(made, given, mixed)
            if row.part is not None:
                _assign_part(made.bench, row.bin, row.part, given)
    if given.quantity:
        if row.part is not None:
            with given.cell("quantity"):
                row.quantity = _parse_quantity(row.part, given)
        elif not given.wrong:
            given.fault("quantity", "Nothing says of which part: give its number.")
    if given.best_before and not row.quantity:
        given.mind.append("The day is not kept: nothing was found of which it could be.")


def _plan_bin(made: StockListPlan, given: ParsedRow, mixed: bool) -> BinPlan:
    if given.bin not in made.bins:
        known = made.bench.bins.get(given.bin)
        check_not_retired(known, "Bin", given.bin)
        made.bins[given.bin] = BinPlan(given.bin, known, known.mixed if known else mixed, given)
        if known is None and (near := made.bench.almost("bins", given.bin)):
            given.mind.append(f"There is a bin {near} here, which is not the same as {given.bin}.")
    found = made.bins[given.bin]
    if given.mixed and not found.mixed:
        given.mind.append(f"Bin {given.bin} is for one part here, and stays so.")
    found.walk = found.walk or given.walk or 0
    return found


def _assign_part(bench: BenchSnapshot, place: BinPlan, part: PartPlan, given: ParsedRow) -> None:
    """Let a part into a bin; raise Conflict where it is another part's, by the bench or by a row above."""
    if place.mixed:
        return
    if place.known is not None:
        _check_other_parts(bench, place.known, part)
    if place.part is None:
        place.part, place.by = part, given
    elif place.part is not part and place.by is not None:
        raise Conflict(
            f"Row {place.by.row} puts part {place.part.number} into bin {place.name}: choose another bin for one of "
            "them, or write yes under mixed."
        )


def _check_other_parts(bench: BenchSnapshot, known: Any, part: PartPlan) -> None:
    own = part.known.id if part.known else 0
    others = (
        {known.part_id} if known.part_id else {one for one, number in bench.held.get(known.id, {}).items() if number}
    )
    if others - {own}:
        number = bench.number_of(next(iter(others - {own})))
        raise Conflict(
            f"Bin {known.name} is part {number}'s here: choose another bin, or mark that one as mixed first."
        )


def _parse_quantity(part: PartPlan, given: ParsedRow) -> int:
    found = part.quantity(given.quantity, given.unit)
    if found and not given.bin:
        raise Conflict("Nothing says in which bin they are: name it.")
    if part.kept == "individually" and found > MAX_PIECES:
        raise Conflict(f"Each gets a label of its own, and at most {MAX_PIECES} are taken in from one row.")
    return found


# ---- offers ------------------------------------------------------------------------------------------------


def _plan_offer(made: StockListPlan, row: RowPlan) -> None:
    given = row.said
    said_more = given.price_minor is not None or given.supplier_number or given.pack
    if not given.supplier:
        if said_more:
            key = next(
                one for one in ("price", "supplier_number", "pack") if one in given.headings and _has_cell(given, one)
            )
            given.fault(key, "Nothing says who sells it: name the supplier, or leave this empty.")
        return
    made.suppliers.setdefault(given.supplier, made.bench.suppliers.get(given.supplier))
    if made.suppliers[given.supplier] is None and (near := made.bench.almost("suppliers", given.supplier)):
        given.mind.append(f"There is a supplier {near} here, which is not the same as {given.supplier}.")
    if row.part is None:
        return
    if given.price_minor is None:
        given.mind.append("There is no price: what the supplier sells it for is not kept.")
        return
    with given.cell("pack" if given.pack else "price"):
        row.offer = _add_offer(made, row, row.part, given.price_minor)


def _has_cell(given: ParsedRow, key: str) -> bool:
    return bool(given.pack) if key == "pack" else key == "price" or bool(given.supplier_number)


def _add_offer(made: StockListPlan, row: RowPlan, part: PartPlan, price: int) -> str:
    """Note an offer; return whether it is new or known, or nothing when a row above says the same."""
    given = row.said
    pack = part.quantity(given.pack, given.unit, least=1) if given.pack else 1
    key = (part.number, given.supplier, given.supplier_number)
    if key in made.offers:
        before = made.offers[key]
        if (before.price_minor, before.pack) != (price, pack):
            raise Conflict(f"Row {before.row} says another price or pack of the same offer: make them agree.")
        return ""
    made.offers[key] = OfferPlan(part, given.supplier, given.supplier_number, price, pack, given.row)
    known = _known_offer(made, part, given)
    if known is None:
        return "new"
    if (known.price_minor, known.pack) != (price, pack):
        here = f"{format_money(known.price_minor, made.currency)} for {quantity_text(known.pack, part)}"
        given.mind.append(f"The offer of {given.supplier} stays {here} here; the list says otherwise.")
    return "known"


def _known_offer(made: StockListPlan, part: PartPlan, given: ParsedRow) -> Any:
    seller = made.suppliers[given.supplier]
    if part.known is None or seller is None:
        return None
    return made.bench.offers.get((part.known.id, seller.id, given.supplier_number))


# ---- the list as a whole -----------------------------------------------------------------------------------


def _mark_duplicates(rows: Sequence[RowPlan]) -> None:
    """Find rows that say what a row above said already: taken together, they would count it twice."""
    seen: dict[tuple[Any, ...], int] = {}
    for row in rows:
        given = row.said
        offer = () if given.bin else (given.supplier, given.supplier_number)
        key = (row.part.number if row.part else None, given.bin, given.best_before, *offer)
        if row.part is None and (given.wrong or given.supplier):
            continue
        if row.part is None and not given.bin:
            given.fault("", "Nothing says what this row is about: give a part's number, or a bin.")
        elif key in seen:
            same = "the same part in the same bin" if given.bin else "the same part, without a bin,"
            given.fault("", f"This is {same} as row {seen[key]}: make one row of them.")
        seen.setdefault(key, given.row)


def _check_piece_count(rows: Sequence[RowPlan]) -> None:
    pieces = sum(_piece_count(row) for row in rows)
    if pieces > MAX_LABELS:
        raise invalid_list(
            f"The list makes {pieces:,} pieces with a label of their own, and {MAX_LABELS:,} are taken: split it."
        )


def _piece_count(row: RowPlan) -> int:
    return row.quantity if row.part is not None and row.part.kept == "individually" else 0


def preview_rows(made: StockListPlan) -> tuple[PreviewRow, ...]:
    """Say what each row would do; a thing that several rows name is new in the first of them."""
    seen: set[tuple[str, str]] = set()

    def state(what: str, name: str, known: Any) -> str:
        first = (what, name) not in seen
        seen.add((what, name))
        return "" if not name else "new" if known is None and first else "known"

    return tuple(_preview_row(made, row, state) for row in made.rows)


def _preview_row(made: StockListPlan, row: RowPlan, state: Any) -> PreviewRow:
    part, place, given = row.part, row.bin, row.said
    here = _quantity_in_bin(made, row)
    if row.quantity and here and part is not None:
        given.mind.append(f"Bin {given.bin} holds {quantity_text(here, part)} already: these come on top.")
    return PreviewRow(
        given.row, part.number if part else "", part.name if part else "",
        state("part", part.number if part else "", part.known if part else None),
        given.bin, state("bin", given.bin, place.known if place else None), row.quantity, part.unit if part else "",
        _piece_count(row), bool(row.quantity and here), given.supplier,
        state("supplier", given.supplier, made.suppliers.get(given.supplier)), row.offer,
        tuple(given.wrong), tuple(given.mind),
    )  # fmt: skip


def _quantity_in_bin(made: StockListPlan, row: RowPlan) -> int:
    """Return how much of a row's part is in its bin already."""
    if row.part is None or row.bin is None or row.part.known is None or row.bin.known is None:
        return 0
    return made.bench.held.get(row.bin.known.id, {}).get(row.part.known.id, 0)


def count_totals(made: StockListPlan, rows: Sequence[PreviewRow]) -> StockListTotals:
    """Return what a whole list would do, counted."""
    parts, bins = ([thing.known is None for thing in things.values()] for things in (made.parts, made.bins))
    return StockListTotals(
        len(rows), sum(parts), len(parts) - sum(parts), sum(bins), len(bins) - sum(bins),
        sum(supplier is None for supplier in made.suppliers.values()), sum(row.offer == "new" for row in rows),
        sum(row.quantity > 0 for row in rows), sum(row.pieces for row in rows),
    )  # fmt: skip
