"""The bench's stock as a list for a spreadsheet: what goes out here comes in again by ``stock_list_import``."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.validation import clean_text
from inventory.domain.stocktake.stock_list_columns import ATTRIBUTE_KEYS, COLUMN_KEYS, PART_COLUMNS
from inventory.store.connection import execute
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Bin, Offer, Part, Supplier
from shared.quantities import CURRENCY_EXPONENTS, format_money

UTF8_BOM = "\ufeff"  # by which a spreadsheet knows UTF-8 from its system's own signs
_QUOTED = re.compile(r"'+[=+\-@]")
_QUANTITIES = f"SELECT s.bin_id, s.part_id, l.best_before, s.quantity FROM {IN_BINS} s JOIN lots l ON l.id = s.lot_id"

Cells = dict[str, Any]
QuantitiesByBin = dict[int, dict[int, dict[str, int]]]


def stock_list_csv(currency: str) -> str:
    """Return every part, bin and quantity of the bench as CSV: a row for each part in each bin (and best-before day).

    A part's second offer stands in its second row. Left out are parts and bins that are retired and hold nothing.
    Prices are in *currency*, quantities in base units of the part.
    """
    return UTF8_BOM + as_csv(
        COLUMN_KEYS, ([_escape_cell(row.get(key, "")) for key in COLUMN_KEYS] for row in _rows(currency))
    )


def empty_stock_list_csv() -> str:
    """Return a list with all headings and no rows, to be filled in."""
    return UTF8_BOM + as_csv(COLUMN_KEYS, ())


def _escape_cell(cell: Any) -> Any:
    """Give a text that begins with quotes and a formula's sign one quote more: coming in, one is taken off."""
    if not isinstance(cell, str):
        return cell
    text = clean_text(cell, "cell", len(cell))  # attributes of old may hold control characters
    return f"'{text}" if _QUOTED.match(text) else text


def _rows(currency: str) -> Iterator[Cells]:
    quantities = _quantities()
    bins = {bin_.id: bin_ for bin_ in Bin.select().where(Bin.name.is_null(False)).order_by(Bin.walk, Bin.name)}
    offers = _offer_cells(currency)
    places = _bin_cells_by_part(bins, quantities)
    for part in Part.select().order_by(Part.number):
        if not part.retired or part.id in places:
            yield from _rows_of(part, places.get(part.id, []) or [{}], offers.get(part.id, []))
    yield from (_bin_cells(bin_) for bin_ in _unassigned_bins(bins, quantities))


def _rows_of(part: Any, places: list[Cells], offers: list[Cells]) -> Iterator[Cells]:
    """Yield a row for each place and each offer of a part; the first says all of the part, the others its number."""
    for number in range(max(len(places), len(offers))):
        own = {"number": part.number} if number else _part_cells(part)
        place, offer = (cells[number] if number < len(cells) else {} for cells in (places, offers))
        yield {**own, **place, **offer}


def _quantities() -> QuantitiesByBin:
    """Return by bin and part how much is there, by best-before day (empty: none)."""
    quantities: QuantitiesByBin = defaultdict(lambda: defaultdict(lambda: defaultdict(int)))
    for bin_id, part_id, day, quantity in execute(_QUANTITIES).fetchall():
        quantities[bin_id][part_id][day or ""] += int(quantity)
    return quantities


def _bin_cells_by_part(bins: dict[int, Any], quantities: QuantitiesByBin) -> dict[int, list[Cells]]:
    """Return by part the cells of its bins, those first that hold some of it."""
    cells: dict[int, list[Cells]] = defaultdict(list)
    for bin_id, bin_ in bins.items():
        held = quantities.get(bin_id, {})
        for part_id, by_day in held.items():
            cells[part_id] += [
                {**_bin_cells(bin_), "best_before": day, "quantity": by_day[day]} for day in sorted(by_day)
            ]
        if bin_.part_id is not None and bin_.part_id not in held and not bin_.retired:
            cells[bin_.part_id].append(_bin_cells(bin_))
    return cells


def _unassigned_bins(bins: dict[int, Any], quantities: QuantitiesByBin) -> list[Any]:
    return [bin_ for bin_ in bins.values() if bin_.part_id is None and bin_.id not in quantities and not bin_.retired]


def _part_cells(part: Any) -> Cells:
    cells = {column.key: getattr(part, column.key) for column in PART_COLUMNS}
    level = "" if part.level is None else part.level
    attributes = {key: value for key, value in part.attributes.items() if key in ATTRIBUTE_KEYS}
    return {**cells, "level": level, "hazards": ", ".join(part.hazards) or "none", **attributes}


def _bin_cells(bin_: Any) -> Cells:
    return {"bin": bin_.name, "mixed": "yes" if bin_.mixed else "", "walk": bin_.walk or ""}


def _offer_cells(currency: str) -> dict[int, list[Cells]]:
    cells: dict[int, list[Cells]] = defaultdict(list)
    for offer in Offer.select(Offer, Supplier).join(Supplier).where(Offer.active).order_by(Offer.id):
        price = (
            format_money(offer.price_minor, currency).split()[0]
            if currency in CURRENCY_EXPONENTS
            else offer.price_minor
        )
        cells[offer.part_id].append(
            {
                "supplier": offer.supplier.name,
                "supplier_number": offer.supplier_number,
                "price": price,
                "pack": offer.pack,
            }
        )
    return cells
