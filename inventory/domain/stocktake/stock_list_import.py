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
from inventory.domain.common.errors import Conflict, Invalid, Refused
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page
from inventory.domain.common.validation import row
from inventory.domain.movements.receive import receive
from inventory.domain.stocktake.stock_list_parts import new_part
from inventory.domain.stocktake.stock_list_plan import BinPlan, Plan, list_rows, plan, totals
from inventory.domain.stocktake.stock_list_records import LookedAt, StockListRecord, Totals
from inventory.domain.stocktake.stock_list_snapshot import bench
from inventory.domain.stocktake.stock_list_table import Table, plain_text, same_heading, table_of
from inventory.store import ledger
from inventory.store.tables import StockList

MOST_SAID = 100  # faults that a refusal names; more help nobody
ORIGIN_NOTE = "stock list {number}, row {row}"


def look(text: str, currency: str) -> LookedAt:
    """Say what a list would do, row by row, and what is wrong with it. Nothing is written.

    *text* is CSV, its prices in *currency*. Raises Invalid for what is no list at all (see ``stock_list_text``).
    """
    table = table_of(text, currency)
    return _looked(text, table, plan(table, bench(), currency))


def take_in(
    text: str, currency: str, *, leave_out: Sequence[str] = (), on_top: bool = False, by: int | None = None
) -> StockListRecord:
    """Take in a list as ``look`` says it: parts, bins, suppliers, offers, and what was found as lots; all or nothing.

    *leave_out* names the headings that are not known and are to be left out; *on_top* lets stock come on top of what
    is in its bins already. Raises Invalid (reasons unknown_headings, rows_wrong), Conflict (on_top).
    """
    table = table_of(text, currency)
    with ledger.writing_lines():
        made = plan(table, bench(), currency)
        looked = _looked(text, table, made)
        _refuse(looked, leave_out, on_top)
        kept = StockList.create(
            at=clock.now(), person=by, digest=_digest(text), totals=asdict(looked.totals), bins=[]
        )  # fmt: skip
        kept.bins = _carry_out(made, kept.id, by)
        kept.save()
        return _record(kept)


def stock_list(list_id: int) -> StockListRecord:
    """Return a list that was taken in."""
    return _record(row(StockList, list_id, "stock list"))


def stock_lists(*, after: str | None = None, limit: int = 50) -> Page:
    """Return the lists that were taken in, newest first."""
    return page_of(StockList.select(), StockList.id, after, limit, _record, falling=True)


def _record(found: Any) -> StockListRecord:
    who = found.person.shown_as if found.person else ""
    return StockListRecord(found.id, found.at, who, Totals(**found.totals), tuple(found.bins))


def _digest(text: str) -> str:
    return hashlib.sha256(plain_text(text).strip().encode()).hexdigest()


def _looked(text: str, table: Table, made: Plan) -> LookedAt:
    rows = list_rows(made)
    before = StockList.select().where(StockList.digest == _digest(text)).order_by(StockList.id.desc()).first()
    return LookedAt(rows, totals(made, rows), table.unknown, None if before is None else _record(before))


def _refuse(looked: LookedAt, leave_out: Sequence[str], on_top: bool) -> None:
    unknown = [one for one in looked.not_known if not any(same_heading(one, other) for other in leave_out)]
    if unknown:
        sentence = f"Not known here: {', '.join(unknown)[:300]}. Say that they are left out, or name them otherwise."
        raise Invalid(sentence, reason="unknown_headings", errors={"leave_out": unknown})
    if wrong := [str(one) for one in looked.wrong]:
        more = f" And {len(wrong) - 1} more." if len(wrong) > 1 else ""
        raise Invalid(
            f"Nothing was taken in. {wrong[0]}{more}", reason="rows_wrong", errors={"text": wrong[:MOST_SAID]}
        )
    if not on_top and (looked.before or looked.on_top):
        raise Conflict(f"{_already(looked)} Say that it comes on top, or leave it.", reason="on_top")


def _already(looked: LookedAt) -> str:
    if looked.before is not None:
        return f"Just this list was taken in on {looked.before.at:%Y-%m-%d} already."
    rows = f"{looked.on_top} rows" if looked.on_top > 1 else "one row"
    return f"In {rows} there is some in the bin already."


# ---- carrying it out ---------------------------------------------------------------------------------------


def _carry_out(made: Plan, number: int, by: int | None) -> list[int]:
    """Add everything that is new, in the order of the rows; return the ids of all bins that the list names."""
    part_ids = {}
    for part in made.parts.values():
        with _at_row(part.rows[0].row):
            part_ids[part.number] = part.known.id if part.known else add_part(**new_part(part)).id
    bin_ids = {}
    for place in made.bins.values():
        with _at_row(place.first.row):
            bin_ids[place.name] = _add_bin(place, part_ids)
    _add_offers(made, part_ids)
    for one in made.rows:
        if one.quantity and one.part is not None:
            with _at_row(one.said.row):
                receive(
                    part_ids[one.part.number], one.quantity, bin_ids[one.said.bin], origin="found", by=by,
                    best_before=one.said.best_before, origin_note=ORIGIN_NOTE.format(number=number, row=one.said.row),
                )  # fmt: skip
    return list(bin_ids.values())


def _add_bin(place: BinPlan, part_ids: dict[str, int]) -> int:
    part_id = part_ids[place.part.number] if place.part else None
    if place.known is None:
        return add_bin(place.name, part_id, mixed=place.mixed, walk=place.walk).id
    if part_id is not None and place.known.part_id is None:
        edit_bin(place.known.id, part_id=part_id)
    return int(place.known.id)


def _add_offers(made: Plan, part_ids: dict[str, int]) -> None:
    sellers = {name: known.id if known else add_supplier(name).id for name, known in made.suppliers.items()}
    for one in made.offers.values():
        seller = sellers[one.supplier]
        known = one.part.known and made.bench.offers.get((one.part.known.id, seller, one.number))
        if not known:
            with _at_row(one.row):
                more = {"supplier_number": one.number, "pack": one.pack}
                add_offer(part_ids[one.part.number], seller, one.price_minor, **more)


@contextmanager
def _at_row(number: int) -> Iterator[None]:
    """Let a refusal name the row that it is about, on its way out of the transaction."""
    try:
        yield
    except Refused as refused:
        raise Conflict(f"Row {number}: {refused.sentence} Nothing was taken in.", reason=refused.reason) from None
