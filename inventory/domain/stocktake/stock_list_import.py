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

    *text* is CSV, its prices in *currency*. Raises Invalid for what is no list at all (see ``stock_list_text``).
    """
    table = parse_table(text, currency)
    return _preview(text, table, plan_import(table, load_bench(), currency))


def import_stock_list(
    text: str, currency: str, *, leave_out: Sequence[str] = (), on_top: bool = False, by: int | None = None
) -> StockListImportRecord:
    """Take in a list as ``look`` says it: parts, bins, suppliers, offers, and what was found as lots; all or nothing.

    *leave_out* names the headings that are not known and are to be left out; *on_top* lets stock come on top of what
    is in its bins already. Raises Invalid (reasons unknown_headings, rows_wrong), Conflict (on_top).
    """
    table = parse_table(text, currency)
    with ledger.ledger_transaction():
        made = plan_import(table, load_bench(), currency)
        looked = _preview(text, table, made)
        _check_importable(looked, leave_out, on_top)
        kept = StockListImport.create(
            at=clock.now(), person=by, digest=_digest(text), totals=asdict(looked.totals), bins=[]
        )  # fmt: skip
        kept.bins = _apply_plan(made, kept.id, by)
        kept.save()
        return _record(kept)


def get_import(list_id: int) -> StockListImportRecord:
    """Return a list that was taken in."""
    return _record(get_row(StockListImport, list_id, "stock list"))


def list_imports(*, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return the lists that were taken in, newest first."""
    return paginate(StockListImport.select(), StockListImport.id, after, limit, _record, descending=True)


def _record(found: Any) -> StockListImportRecord:
    who = found.person.shown_as if found.person else ""
    return StockListImportRecord(found.id, found.at, who, StockListTotals(**found.totals), tuple(found.bins))


def _digest(text: str) -> str:
    return hashlib.sha256(normalize_list_text(text).strip().encode()).hexdigest()


def _preview(text: str, table: ParsedTable, made: StockListPlan) -> PreviewedStockList:
    rows = preview_rows(made)
    before = (
        StockListImport.select()
        .where(StockListImport.digest == _digest(text))
        .order_by(StockListImport.id.desc())
        .first()
    )
    return PreviewedStockList(
        rows, count_totals(made, rows), table.unknown, None if before is None else _record(before)
    )


def _check_importable(looked: PreviewedStockList, leave_out: Sequence[str], on_top: bool) -> None:
    unknown = [one for one in looked.not_known if not any(is_same_heading(one, other) for other in leave_out)]
    if unknown:
        sentence = f"Not known here: {', '.join(unknown)[:300]}. Say that they are left out, or name them otherwise."
        raise Invalid(sentence, reason="unknown_headings", errors={"leave_out": unknown})
    if wrong := [str(one) for one in looked.wrong]:
        more = f" And {len(wrong) - 1} more." if len(wrong) > 1 else ""
        raise Invalid(
            f"Nothing was taken in. {wrong[0]}{more}", reason="rows_wrong", errors={"text": wrong[:MAX_FAULTS_NAMED]}
        )
    if not on_top and (looked.before or looked.on_top):
        raise Conflict(f"{_duplicate_message(looked)} Say that it comes on top, or leave it.", reason="on_top")


def _duplicate_message(looked: PreviewedStockList) -> str:
    if looked.before is not None:
        return f"Just this list was taken in on {looked.before.at:%Y-%m-%d} already."
    rows = f"{looked.on_top} rows" if looked.on_top > 1 else "one row"
    return f"In {rows} there is some in the bin already."


# ---- carrying it out ---------------------------------------------------------------------------------------


def _apply_plan(made: StockListPlan, number: int, by: int | None) -> list[int]:
    """Add everything that is new, in the order of the rows; return the ids of all bins that the list names."""
    part_ids = {}
    for part in made.parts.values():
        with _naming_row(part.rows[0].row):
            part_ids[part.number] = part.known.id if part.known else add_part(**new_part_fields(part)).id
    bin_ids = {}
    for place in made.bins.values():
        with _naming_row(place.first.row):
            bin_ids[place.name] = _add_bin(place, part_ids)
    _add_offers(made, part_ids)
    for row in made.rows:
        if row.quantity and row.part is not None:
            with _naming_row(row.said.row):
                receive(
                    part_ids[row.part.number], row.quantity, bin_ids[row.said.bin], origin="found", by=by,
                    best_before=row.said.best_before, origin_note=ORIGIN_NOTE.format(number=number, row=row.said.row),
                )  # fmt: skip
    return list(bin_ids.values())


def _add_bin(place: BinPlan, part_ids: dict[str, int]) -> int:
    part_id = part_ids[place.part.number] if place.part else None
    if place.known is None:
        return add_bin(place.name, part_id, mixed=place.mixed, walk=place.walk).id
    if part_id is not None and place.known.part_id is None:
        edit_bin(place.known.id, part_id=part_id)
    return int(place.known.id)


def _add_offers(made: StockListPlan, part_ids: dict[str, int]) -> None:
    sellers = {name: known.id if known else add_supplier(name).id for name, known in made.suppliers.items()}
    for offer in made.offers.values():
        seller = sellers[offer.supplier]
        known = offer.part.known and made.bench.offers.get((offer.part.known.id, seller, offer.number))
        if not known:
            with _naming_row(offer.row):
                more = {"supplier_number": offer.number, "pack": offer.pack}
                add_offer(part_ids[offer.part.number], seller, offer.price_minor, **more)


@contextmanager
def _naming_row(number: int) -> Iterator[None]:
    """Let a refusal name the row that it is about, on its way out of the transaction."""
    try:
        yield
    except DomainError as refused:
        raise Conflict(f"Row {number}: {refused.sentence} Nothing was taken in.", reason=refused.reason) from None
