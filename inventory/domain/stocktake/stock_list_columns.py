"""The columns that a stock list may have, and the headings by which each is known."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from inventory.domain.catalogue.attributes import ATTRIBUTES


@dataclass(frozen=True)
class ListColumn:
    """One column: its key, other headings it goes by, and what its cells hold."""

    key: str
    words: tuple[str, ...]
    about: str


PART_COLUMNS = (
    ListColumn("number", ("Your own number", "Part number", "Part"), "your own number of the part"),
    ListColumn("name", ("What it is, in words", "Part name"), "what it is, in words"),
    ListColumn("kind", ("Kind of part",), "connector, fan, supply, consumable, module, hardware or other"),
    ListColumn("kept", ("How it is kept",), "counted, individually or by level"),
    ListColumn("unit", ("Counted in",), "piece, mm, ml, g or mg; also m, l and kg"),
    ListColumn("maker", ("Made by",), "who makes it"),
    ListColumn("maker_number", ("Maker's number",), "the maker's number of it"),
    ListColumn("note", ("Notes",), "what else to know"),
    ListColumn("caution", ("A caution of its own",), "a caution of its own"),
    ListColumn(
        "hazards", ("Cautions",), "hazards by their keys; none: it has none; empty: those that its kind implies"
    ),
    ListColumn("level", ("A fixed level",), "a fixed level to keep; empty: worked out"),
)
PLACE_COLUMNS = (
    ListColumn("bin", ("Into which bin", "Bin name", "Place"), "the bin it is in"),
    ListColumn("mixed", ("For several parts",), "yes: the bin is for several parts"),
    ListColumn("walk", ("Place in the count walk", "Place in the walk"), "the bin's place in the count walk"),
    ListColumn("quantity", ("How many", "Found", "Amount"), "how many were found there, such as 12 or 1.5 m"),
    ListColumn("best_before", ("Best before", "Use before"), "a day, such as 2027-03-31"),
)
OFFER_COLUMNS = (
    ListColumn("supplier", ("Supplier's name",), "who sells it"),
    ListColumn("supplier_number", ("Supplier's number", "Their number"), "the supplier's number of it"),
    ListColumn("price", ("Price of a pack", "Pack price"), "the price of a pack"),
    ListColumn("pack", ("A pack holds", "Pack size"), "how many are in a pack; empty: 1"),
)


def _attribute_columns() -> tuple[ListColumn, ...]:
    """Return one column for each trade attribute of any kind; some kinds share one under other words."""
    columns: dict[str, ListColumn] = {}
    for kind, attributes in ATTRIBUTES.items():
        for attribute in attributes:
            headings = [
                attribute.label,
                *(
                    [f"{attribute.label} {attribute.unit}", f"{attribute.label} in {attribute.unit}"]
                    if attribute.unit
                    else []
                ),
            ]
            before = columns.get(attribute.key, ListColumn(attribute.key, (), ""))
            of_kind = f"{kind}: {attribute.label.lower()}{', in ' + attribute.unit if attribute.unit else ''}"
            about = f"{before.about}; {of_kind}" if before.about else of_kind
            columns[attribute.key] = ListColumn(attribute.key, (*before.words, *headings), about)
    return tuple(columns.values())


ATTRIBUTE_COLUMNS = _attribute_columns()
COLUMNS = (*PART_COLUMNS, *PLACE_COLUMNS, *OFFER_COLUMNS, *ATTRIBUTE_COLUMNS)
COLUMN_KEYS = tuple(column.key for column in COLUMNS)
ATTRIBUTE_KEYS = frozenset(column.key for column in ATTRIBUTE_COLUMNS)


def normalize_heading(heading: str) -> str:
    """Return a heading without what makes no difference: "Pitch (mm)", "pitch_mm" and "PITCH MM" are the same."""
    text = unicodedata.normalize("NFKC", heading).casefold().replace("'", "").replace("\u2019", "")
    return " ".join(re.sub(r"[\W_]+", " ", text).split())


_KEY_BY_HEADING = {
    normalize_heading(word): column.key for column in reversed(COLUMNS) for word in (*column.words, column.key)
}


def column_key(heading: str, currency: str = "") -> str | None:
    """Return the key of the column that *heading* names, or None for one that is not known.

    Prices may say the bench's *currency*, "Price (EUR)"; a price in another one is not known.
    """
    normalized = normalize_heading(heading)
    return _KEY_BY_HEADING.get(normalized) or _KEY_BY_HEADING.get(normalized.removesuffix(f" {currency.casefold()}"))
