"""The columns that a stock list may have, and the headings by which each is known."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from inventory.domain.catalogue.attributes import ATTRIBUTES


@dataclass(frozen=True)
class Column:
    """One column: its key, other headings it goes by, and what its cells hold."""

    key: str
    words: tuple[str, ...]
    about: str


PART = (
    Column("number", ("Your own number", "Part number", "Part"), "your own number of the part"),
    Column("name", ("What it is, in words", "Part name"), "what it is, in words"),
    Column("kind", ("Kind of part",), "connector, fan, supply, consumable, module, hardware or other"),
    Column("kept", ("How it is kept",), "counted, individually or by level"),
    Column("unit", ("Counted in",), "piece, mm, ml, g or mg; also m, l and kg"),
    Column("maker", ("Made by",), "who makes it"),
    Column("maker_number", ("Maker's number",), "the maker's number of it"),
    Column("note", ("Notes",), "what else to know"),
    Column("caution", ("A caution of its own",), "a caution of its own"),
    Column("hazards", ("Cautions",), "hazards by their keys; none: it has none; empty: those that its kind implies"),
    Column("level", ("A fixed level",), "a fixed level to keep; empty: worked out"),
)
PLACE = (
    Column("bin", ("Into which bin", "Bin name", "Place"), "the bin it is in"),
    Column("mixed", ("For several parts",), "yes: the bin is for several parts"),
    Column("walk", ("Place in the count walk", "Place in the walk"), "the bin's place in the count walk"),
    Column("quantity", ("How many", "Found", "Amount"), "how many were found there, such as 12 or 1.5 m"),
    Column("best_before", ("Best before", "Use before"), "a day, such as 2027-03-31"),
)
OFFER = (
    Column("supplier", ("Supplier's name",), "who sells it"),
    Column("supplier_number", ("Supplier's number", "Their number"), "the supplier's number of it"),
    Column("price", ("Price of a pack", "Pack price"), "the price of a pack"),
    Column("pack", ("A pack holds", "Pack size"), "how many are in a pack; empty: 1"),
)


def _attributes() -> tuple[Column, ...]:
    """Return one column for each trade attribute of any kind; some kinds share one under other words."""
    found: dict[str, Column] = {}
    for kind, attributes in ATTRIBUTES.items():
        for one in attributes:
            words = [one.label, *([f"{one.label} {one.unit}", f"{one.label} in {one.unit}"] if one.unit else [])]
            before = found.get(one.key, Column(one.key, (), ""))
            of_kind = f"{kind}: {one.label.lower()}{', in ' + one.unit if one.unit else ''}"
            about = f"{before.about}; {of_kind}" if before.about else of_kind
            found[one.key] = Column(one.key, (*before.words, *words), about)
    return tuple(found.values())


ATTRIBUTE = _attributes()
COLUMNS = (*PART, *PLACE, *OFFER, *ATTRIBUTE)
KEYS = tuple(one.key for one in COLUMNS)
ATTRIBUTE_KEYS = frozenset(one.key for one in ATTRIBUTE)


def plain(heading: str) -> str:
    """Return a heading without what makes no difference: "Pitch (mm)", "pitch_mm" and "PITCH MM" are the same."""
    text = unicodedata.normalize("NFKC", heading).casefold().replace("'", "").replace("\u2019", "")
    return " ".join(re.sub(r"[\W_]+", " ", text).split())


_BY_HEADING = {plain(word): one.key for one in reversed(COLUMNS) for word in (*one.words, one.key)}


def column_of(heading: str, currency: str = "") -> str | None:
    """Return the key of the column that *heading* names, or None for one that is not known.

    Prices may say the bench's *currency*, "Price (EUR)"; a price in another one is not known.
    """
    told = plain(heading)
    return _BY_HEADING.get(told) or _BY_HEADING.get(told.removesuffix(f" {currency.casefold()}"))
