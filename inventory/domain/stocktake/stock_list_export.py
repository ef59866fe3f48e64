"""The bench's stock as a list for a spreadsheet: what goes out here comes in again by ``stock_list``."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.validation import clean
from inventory.domain.stocktake.stock_list_columns import ATTRIBUTE_KEYS, KEYS, PART
from inventory.store.connection import run
from inventory.store.tables import Bin, Offer, Part, Supplier
from shared.quantities import EXPONENTS, format_money

MARK = "\ufeff"  # by which a spreadsheet knows UTF-8 from its system's own signs
_QUOTED = re.compile(r"'+[=+\-@]")
_FOUND = """
SELECT b.bin_id, b.part_id, l.best_before, b.quantity FROM balances b JOIN lots l ON l.id = b.lot_id
WHERE b.quantity > 0
UNION ALL
SELECT p.bin_id, p.part_id, l.best_before, 1 FROM pieces p JOIN lots l ON l.id = p.lot_id WHERE p.bin_id IS NOT NULL
"""

Cells = dict[str, Any]
Found = dict[int, dict[int, dict[str, int]]]


def stock_list_csv(currency: str) -> str:
    """Return every part, bin and quantity of the bench as CSV: a row for each part in each bin (and best-before day).

    A part's second offer stands in its second row. Left out are parts and bins that are retired and hold nothing.
    Prices are in *currency*, quantities in base units of the part.
    """
    return MARK + as_csv(KEYS, ([_kept(one.get(key, "")) for key in KEYS] for one in _rows(currency)))


def empty_list() -> str:
    """Return a list with all headings and no rows, to be filled in."""
    return MARK + as_csv(KEYS, ())


def _kept(cell: Any) -> Any:
    """Give a text that begins with quotes and a formula's sign one quote more: coming in, one is taken off."""
    if not isinstance(cell, str):
        return cell
    text = clean(cell, "cell", len(cell))  # attributes of old may hold control characters
    return f"'{text}" if _QUOTED.match(text) else text


def _rows(currency: str) -> Iterator[Cells]:
    found = _found()
    bins = {one.id: one for one in Bin.select().where(Bin.name.is_null(False)).order_by(Bin.walk, Bin.name)}
    offers = _offers(currency)
    places = _places(bins, found)
    for part in Part.select().order_by(Part.number):
        if not part.retired or part.id in places:
            yield from _rows_of(part, places.get(part.id, []) or [{}], offers.get(part.id, []))
    yield from (_bin(one) for one in _for_nobody(bins, found))


def _rows_of(part: Any, places: list[Cells], offers: list[Cells]) -> Iterator[Cells]:
    """Yield a row for each place and each offer of a part; the first says all of the part, the others its number."""
    for number in range(max(len(places), len(offers))):
        own = {"number": part.number} if number else _part(part)
        place, offer = (some[number] if number < len(some) else {} for some in (places, offers))
        yield {**own, **place, **offer}


def _found() -> Found:
    """Return by bin and part how much is there, by best-before day (empty: none)."""
    made: Found = defaultdict(lambda: defaultdict(lambda: defaultdict(int)))
    for bin_id, part_id, day, quantity in run(_FOUND).fetchall():
        made[bin_id][part_id][day or ""] += int(quantity)
    return made


def _places(bins: dict[int, Any], found: Found) -> dict[int, list[Cells]]:
    """Return by part the cells of its bins, those first that hold some of it."""
    made: dict[int, list[Cells]] = defaultdict(list)
    for bin_id, one in bins.items():
        here = found.get(bin_id, {})
        for part_id, by_day in here.items():
            made[part_id] += [{**_bin(one), "best_before": day, "quantity": by_day[day]} for day in sorted(by_day)]
        if one.part_id is not None and one.part_id not in here and not one.retired:
            made[one.part_id].append(_bin(one))
    return made


def _for_nobody(bins: dict[int, Any], found: Found) -> list[Any]:
    return [one for one in bins.values() if one.part_id is None and one.id not in found and not one.retired]


def _part(part: Any) -> Cells:
    cells = {one.key: getattr(part, one.key) for one in PART}
    level = "" if part.level is None else part.level
    attributes = {key: value for key, value in part.attributes.items() if key in ATTRIBUTE_KEYS}
    return {**cells, "level": level, "hazards": ", ".join(part.hazards) or "none", **attributes}


def _bin(one: Any) -> Cells:
    return {"bin": one.name, "mixed": "yes" if one.mixed else "", "walk": one.walk or ""}


def _offers(currency: str) -> dict[int, list[Cells]]:
    made: dict[int, list[Cells]] = defaultdict(list)
    for one in Offer.select(Offer, Supplier).join(Supplier).where(Offer.active).order_by(Offer.id):
        price = format_money(one.price_minor, currency).split()[0] if currency in EXPONENTS else one.price_minor
        made[one.part_id].append(
            {"supplier": one.supplier.name, "supplier_number": one.supplier_number, "price": price, "pack": one.pack}
        )  # fmt: skip
    return made
