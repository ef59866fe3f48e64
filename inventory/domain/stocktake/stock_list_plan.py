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
    """A bin that rows name: ``existing`` is the bench's own; it is for ``part``, unless it is mixed."""

    name: str
    existing: Any
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

    parsed: ParsedRow
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
    parsed_rows = [parse_row(row, table.headings, currency) for row in table.rows]
    parts = PartPlans(bench)
    plan = StockListPlan(bench, currency)
    plan.rows = [RowPlan(parsed, parts.of(parsed)) for parsed in parsed_rows]
    parts.check()
    plan.parts = parts.plans
    mixed = {parsed.bin for parsed in parsed_rows if parsed.mixed}
    for row in plan.rows:
        _plan_place(plan, row, row.parsed.bin in mixed)
        _plan_offer(plan, row)
    _mark_duplicates(plan.rows)
    _check_piece_count(plan.rows)
    return plan


# ---- bins and what is in them ------------------------------------------------------------------------------


def _plan_place(plan: StockListPlan, row: RowPlan, mixed: bool) -> None:
    parsed = row.parsed
    if parsed.bin:
        with parsed.cell("bin"):
            row.bin = _plan_bin(plan, parsed, mixed)
            if row.part is not None:
                _assign_part(plan.bench, row.bin, row.part, parsed)
    if parsed.quantity:
        if row.part is not None:
            with parsed.cell("quantity"):
                row.quantity = _parse_quantity(row.part, parsed)
        elif not parsed.wrong:
            parsed.fault("quantity", "Nothing says of which part: give its number.")
    if parsed.best_before and not row.quantity:
        parsed.notes.append("The day is not kept: nothing was found of which it could be.")


def _plan_bin(plan: StockListPlan, parsed: ParsedRow, mixed: bool) -> BinPlan:
    if parsed.bin not in plan.bins:
        existing = plan.bench.bins.get(parsed.bin)
        check_not_retired(existing, "Bin", parsed.bin)
        plan.bins[parsed.bin] = BinPlan(parsed.bin, existing, existing.mixed if existing else mixed, parsed)
        if existing is None and (near := plan.bench.almost("bins", parsed.bin)):
            parsed.notes.append(f"There is a bin {near} here, which is not the same as {parsed.bin}.")
    bin_plan = plan.bins[parsed.bin]
    if parsed.mixed and not bin_plan.mixed:
        parsed.notes.append(f"Bin {parsed.bin} is for one part here, and stays so.")
    bin_plan.walk = bin_plan.walk or parsed.walk or 0
    return bin_plan


def _assign_part(bench: BenchSnapshot, place: BinPlan, part: PartPlan, parsed: ParsedRow) -> None:
    """Let a part into a bin; raise Conflict where it is another part's, by the bench or by a row above."""
    if place.mixed:
        return
    if place.existing is not None:
        _check_other_parts(bench, place.existing, part)
    if place.part is None:
        place.part, place.by = part, parsed
    elif place.part is not part and place.by is not None:
        raise Conflict(
            f"Row {place.by.row} puts part {place.part.number} into bin {place.name}: choose another bin for one of "
            "them, or write yes under mixed."
        )


def _check_other_parts(bench: BenchSnapshot, existing: Any, part: PartPlan) -> None:
    own = part.existing.id if part.existing else 0
    others = (
        {existing.part_id}
        if existing.part_id
        else {part_id for part_id, number in bench.held.get(existing.id, {}).items() if number}
    )
    if others - {own}:
        number = bench.number_of(next(iter(others - {own})))
        raise Conflict(
            f"Bin {existing.name} is part {number}'s here: choose another bin, or mark that one as mixed first."
        )


def _parse_quantity(part: PartPlan, parsed: ParsedRow) -> int:
    quantity = part.quantity(parsed.quantity, parsed.unit)
    if quantity and not parsed.bin:
        raise Conflict("Nothing says in which bin they are: name it.")
    if part.kept == "individually" and quantity > MAX_PIECES:
        raise Conflict(f"Each gets a label of its own, and at most {MAX_PIECES} are taken in from one row.")
    return quantity


# ---- offers ------------------------------------------------------------------------------------------------


def _plan_offer(plan: StockListPlan, row: RowPlan) -> None:
    parsed = row.parsed
    said_more = parsed.price_minor is not None or parsed.supplier_number or parsed.pack
    if not parsed.supplier:
        if said_more:
            key = next(
                column
                for column in ("price", "supplier_number", "pack")
                if column in parsed.headings and _has_cell(parsed, column)
            )
            parsed.fault(key, "Nothing says who sells it: name the supplier, or leave this empty.")
        return
    plan.suppliers.setdefault(parsed.supplier, plan.bench.suppliers.get(parsed.supplier))
    if plan.suppliers[parsed.supplier] is None and (near := plan.bench.almost("suppliers", parsed.supplier)):
        parsed.notes.append(f"There is a supplier {near} here, which is not the same as {parsed.supplier}.")
    if row.part is None:
        return
    if parsed.price_minor is None:
        parsed.notes.append("There is no price: what the supplier sells it for is not kept.")
        return
    with parsed.cell("pack" if parsed.pack else "price"):
        row.offer = _add_offer(plan, row, row.part, parsed.price_minor)


def _has_cell(parsed: ParsedRow, key: str) -> bool:
    return bool(parsed.pack) if key == "pack" else key == "price" or bool(parsed.supplier_number)


def _add_offer(plan: StockListPlan, row: RowPlan, part: PartPlan, price: int) -> str:
    """Note an offer; return whether it is new or known, or nothing when a row above says the same."""
    parsed = row.parsed
    pack = part.quantity(parsed.pack, parsed.unit, least=1) if parsed.pack else 1
    key = (part.number, parsed.supplier, parsed.supplier_number)
    if key in plan.offers:
        before = plan.offers[key]
        if (before.price_minor, before.pack) != (price, pack):
            raise Conflict(f"Row {before.row} says another price or pack of the same offer: make them agree.")
        return ""
    plan.offers[key] = OfferPlan(part, parsed.supplier, parsed.supplier_number, price, pack, parsed.row)
    existing = _known_offer(plan, part, parsed)
    if existing is None:
        return "new"
    if (existing.price_minor, existing.pack) != (price, pack):
        kept = f"{format_money(existing.price_minor, plan.currency)} for {quantity_text(existing.pack, part)}"
        parsed.notes.append(f"The offer of {parsed.supplier} stays {kept} here; the list says otherwise.")
    return "known"


def _known_offer(plan: StockListPlan, part: PartPlan, parsed: ParsedRow) -> Any:
    supplier = plan.suppliers[parsed.supplier]
    if part.existing is None or supplier is None:
        return None
    return plan.bench.offers.get((part.existing.id, supplier.id, parsed.supplier_number))


# ---- the list as a whole -----------------------------------------------------------------------------------


def _mark_duplicates(rows: Sequence[RowPlan]) -> None:
    """Find rows that say what a row above said already: taken together, they would count it twice."""
    seen: dict[tuple[Any, ...], int] = {}
    for row in rows:
        parsed = row.parsed
        offer = () if parsed.bin else (parsed.supplier, parsed.supplier_number)
        key = (row.part.number if row.part else None, parsed.bin, parsed.best_before, *offer)
        if row.part is None and (parsed.wrong or parsed.supplier):
            continue
        if row.part is None and not parsed.bin:
            parsed.fault("", "Nothing says what this row is about: give a part's number, or a bin.")
        elif key in seen:
            same = "the same part in the same bin" if parsed.bin else "the same part, without a bin,"
            parsed.fault("", f"This is {same} as row {seen[key]}: make one row of them.")
        seen.setdefault(key, parsed.row)


def _check_piece_count(rows: Sequence[RowPlan]) -> None:
    pieces = sum(_piece_count(row) for row in rows)
    if pieces > MAX_LABELS:
        raise invalid_list(
            f"The list makes {pieces:,} pieces with a label of their own, and {MAX_LABELS:,} are taken: split it."
        )


def _piece_count(row: RowPlan) -> int:
    return row.quantity if row.part is not None and row.part.kept == "individually" else 0


def preview_rows(plan: StockListPlan) -> tuple[PreviewRow, ...]:
    """Say what each row would do; a thing that several rows name is new in the first of them."""
    seen: set[tuple[str, str]] = set()

    def state(what: str, name: str, existing: Any) -> str:
        first = (what, name) not in seen
        seen.add((what, name))
        return "" if not name else "new" if existing is None and first else "known"

    return tuple(_preview_row(plan, row, state) for row in plan.rows)


def _preview_row(plan: StockListPlan, row: RowPlan, state: Any) -> PreviewRow:
    part, place, parsed = row.part, row.bin, row.parsed
    held = _quantity_in_bin(plan, row)
    if row.quantity and held and part is not None:
        parsed.notes.append(f"Bin {parsed.bin} holds {quantity_text(held, part)} already: these come on top.")
    return PreviewRow(
        parsed.row, part.number if part else "", part.name if part else "",
        state("part", part.number if part else "", part.existing if part else None),
        parsed.bin, state("bin", parsed.bin, place.existing if place else None), row.quantity,
        part.unit if part else "",
        _piece_count(row), bool(row.quantity and held), parsed.supplier,
        state("supplier", parsed.supplier, plan.suppliers.get(parsed.supplier)), row.offer,
        tuple(parsed.wrong), tuple(parsed.notes),
    )  # fmt: skip


def _quantity_in_bin(plan: StockListPlan, row: RowPlan) -> int:
    """Return how much of a row's part is in its bin already."""
    if row.part is None or row.bin is None or row.part.existing is None or row.bin.existing is None:
        return 0
    return plan.bench.held.get(row.bin.existing.id, {}).get(row.part.existing.id, 0)


def count_totals(plan: StockListPlan, rows: Sequence[PreviewRow]) -> StockListTotals:
    """Return what a whole list would do, counted."""
    parts, bins = ([thing.existing is None for thing in things.values()] for things in (plan.parts, plan.bins))
    return StockListTotals(
        len(rows), sum(parts), len(parts) - sum(parts), sum(bins), len(bins) - sum(bins),
        sum(supplier is None for supplier in plan.suppliers.values()), sum(row.offer == "new" for row in rows),
        sum(row.quantity > 0 for row in rows), sum(row.pieces for row in rows),
    )  # fmt: skip
