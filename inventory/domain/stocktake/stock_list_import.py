"""Stock lists from a spreadsheet: looked at first, with nothing written, then taken in whole or not at all."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from typing import Any

from inventory.domain.buying.suppliers import add_offer, add_supplier
from inventory.domain.catalogue.bins import add_bin, edit_bin
from inventory.domain.catalogue.parts import add_part
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, DomainError, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage
from inventory.domain.common.validation import get_row
from inventory.domain.movements.receive import receive
from inventory.domain.stocktake.stock_list_parts import new_part_fields
from inventory.domain.stocktake.stock_list_plan import BinPlan, StockListPlan, count_totals, plan_import, preview_rows
from inventory.domain.stocktake.stock_list_records import PreviewedStockList, StockListImportRecord, StockListTotals
from inventory.domain.stocktake.stock_list_snapshot import load_bench
from inventory.domain.stocktake.stock_list_table import ParsedTable, is_same_heading, normalize_list_text, parse_table
from inventory.store import ledger
from inventory.store.tables import StockListImport

MAX_FAULTS_NAMED = 100  # faults that a refusal names; more help nobody
ORIGIN_NOTE = "stock list {number}, row {row}"


def preview_stock_list(text: str, currency: str) -> PreviewedStockList:
    """Say what a list would do, row by row, and what is wrong with it. Nothing is written.

    *text* is CSV, its prices in *currency*. Raises Invalid for what is no list at all (see ``parse_table``).
    """
    table = parse_table(text, currency)
    return _preview(text, table, plan_import(table, load_bench(), currency))


def import_stock_list(
    text: str, currency: str, *, leave_out: Sequence[str] = (), on_top: bool = False, by: int | None = None
) -> StockListImportRecord:
    """Take in a list as previewed, all or nothing: parts, bins, suppliers, offers, and what was found as lots.

    *leave_out* names the headings that are not known and are to be left out; *on_top* lets stock come on top of what
    is in its bins already. Raises Invalid (reasons unknown_headings, rows_wrong), Conflict (on_top).
    """
    table = parse_table(text, currency)
    with ledger.ledger_transaction():
        plan = plan_import(table, load_bench(), currency)
        preview = _preview(text, table, plan)
        _check_importable(preview, leave_out, on_top)
        row = StockListImport.create(
            at=clock.now(), person=by, digest=_digest(text), totals=asdict(preview.totals), bins=[]
        )  # fmt: skip
        row.bins = _apply_plan(plan, row.id, by)
        row.save()
        return _record(row)


def get_import(list_id: int) -> StockListImportRecord:
    """Return a list that was taken in."""
    return _record(get_row(StockListImport, list_id, "stock list"))


def list_imports(*, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return the lists that were taken in, newest first."""
    return paginate(StockListImport.select(), StockListImport.id, after, limit, _record, descending=True)


def _record(row: Any) -> StockListImportRecord:
    who = row.person.shown_as if row.person else ""
    return StockListImportRecord(row.id, row.at, who, StockListTotals(**row.totals), tuple(row.bins))


def _digest(text: str) -> str:
    return hashlib.sha256(normalize_list_text(text).strip().encode()).hexdigest()


def _preview(text: str, table: ParsedTable, plan: StockListPlan) -> PreviewedStockList:
    rows = preview_rows(plan)
    before = (
        StockListImport.select()
        .where(StockListImport.digest == _digest(text))
        .order_by(StockListImport.id.desc())
        .first()
    )
    return PreviewedStockList(
        rows, count_totals(plan, rows), table.unknown, None if before is None else _record(before)
    )


def _check_importable(preview: PreviewedStockList, leave_out: Sequence[str], on_top: bool) -> None:
    unknown = [
        heading for heading in preview.not_known if not any(is_same_heading(heading, other) for other in leave_out)
    ]
    if unknown:
        sentence = f"Not known here: {', '.join(unknown)[:300]}. Say that they are left out, or name them otherwise."
        raise Invalid(sentence, reason="unknown_headings", errors={"leave_out": unknown})
    if wrong := [str(heading) for heading in preview.wrong]:
        more = f" And {len(wrong) - 1} more." if len(wrong) > 1 else ""
        raise Invalid(
            f"Nothing was taken in. {wrong[0]}{more}", reason="rows_wrong", errors={"text": wrong[:MAX_FAULTS_NAMED]}
        )
    if not on_top and (preview.before or preview.on_top):
        raise Conflict(f"{_duplicate_message(preview)} Say that it comes on top, or leave it.", reason="on_top")


def _duplicate_message(preview: PreviewedStockList) -> str:
    if preview.before is not None:
        return f"Just this list was taken in on {preview.before.at:%Y-%m-%d} already."
    rows = f"{preview.on_top} rows" if preview.on_top > 1 else "one row"
    return f"In {rows} there is some in the bin already."


# ---- carrying it out ---------------------------------------------------------------------------------------


def _apply_plan(plan: StockListPlan, number: int, by: int | None) -> list[int]:
    """Add everything that is new, in the order of the rows; return the ids of all bins that the list names."""
    part_ids = {}
    for part in plan.parts.values():
        with _naming_row(part.rows[0].row):
            part_ids[part.number] = part.existing.id if part.existing else add_part(**new_part_fields(part)).id
    bin_ids = {}
    for place in plan.bins.values():
        with _naming_row(place.first.row):
            bin_ids[place.name] = _add_bin(place, part_ids)
    _add_offers(plan, part_ids)
    for row in plan.rows:
        if row.quantity and row.part is not None:
            with _naming_row(row.parsed.row):
                receive(
                    part_ids[row.part.number], row.quantity, bin_ids[row.parsed.bin], origin="found", by=by,
                    best_before=row.parsed.best_before,
                    origin_note=ORIGIN_NOTE.format(number=number, row=row.parsed.row),
                )  # fmt: skip
    return list(bin_ids.values())


def _add_bin(place: BinPlan, part_ids: dict[str, int]) -> int:
    part_id = part_ids[place.part.number] if place.part else None
    if place.existing is None:
        return add_bin(place.name, part_id, mixed=place.mixed, walk=place.walk).id
    if part_id is not None and place.existing.part_id is None:
        edit_bin(place.existing.id, part_id=part_id)
    return int(place.existing.id)


def _add_offers(plan: StockListPlan, part_ids: dict[str, int]) -> None:
    supplier_ids = {
        name: existing.id if existing else add_supplier(name).id for name, existing in plan.suppliers.items()
    }
    for offer in plan.offers.values():
        supplier_id = supplier_ids[offer.supplier]
        existing = offer.part.existing and plan.bench.offers.get((offer.part.existing.id, supplier_id, offer.number))
        if not existing:
            with _naming_row(offer.row):
                fields = {"supplier_number": offer.number, "pack": offer.pack}
                add_offer(part_ids[offer.part.number], supplier_id, offer.price_minor, **fields)


@contextmanager
def _naming_row(number: int) -> Iterator[None]:
    """Let a refusal name the row that it is about, on its way out of the transaction."""
    try:
        yield
    except DomainError as refused:
        raise Conflict(f"Row {number}: {refused.sentence} Nothing was taken in.", reason=refused.reason) from None
