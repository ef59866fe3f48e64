"""What the search field found, with where each part is, so that a find ends at a bin and not at a name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.domain.buying.bag_receipts import is_bag
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.picking import sources
from inventory.domain.catalogue.search import find
from inventory.domain.common.code_lookup import known_near, scan
from inventory.domain.common.errors import Refused
from inventory.domain.common.records import BinRecord, Hit, PartRecord, Scan, read
from inventory.store.tables import Part
from shared.bag_code_reader import from_gtin
from shared.codes import LENGTH, normalise

ORDER = ("part", "bin", "piece", "job", "lot", "order", "unit model")


@dataclass(frozen=True)
class Shelved:
    """A part that was found: how many can be taken, and from which bin first."""

    part: PartRecord
    quantity: int
    bin: BinRecord | None


@dataclass(frozen=True)
class Found:
    """What a text stands for (a code that somebody scanned) or is found in.

    ``bag``: it is a supplier's code, to be received. ``sentence`` says of an address that it is none of ours.
    """

    text: str
    code: Scan | None
    groups: tuple[tuple[str, tuple[Hit, ...]], ...]
    shelved: dict[int, Shelved]  # by part
    did_you_mean: tuple[str, ...]  # codes that one slip turns into the text
    bag: bool = False
    sentence: str = ""

    @property
    def number(self) -> int:
        """How many things were found."""
        return sum(len(hits) for _, hits in self.groups)


def found(text: str) -> Found:
    """Look a text up as a code of ours or of a supplier, or a thing's whole name, else search for its words.

    The number of a part finds it in a list, which says where it lies: that is what was asked for.
    """
    if is_bag(text):
        return Found(text, None, (), {}, (), bag=True)
    words = text.strip()[:2000]
    code = _code(words)
    if code is not None or not words:
        return Found(words, code, (), {}, ())
    hits = find(words)
    named = [one for one in hits if one.name and one.name.casefold() == words.casefold()]
    if len(named) == 1 and named[0].what != "part":
        return Found(words, Scan(named[0].what, named[0].id, named[0].code), (), {}, ())
    if not hits and from_gtin(words):
        return Found(words, None, (), {}, (), bag=True)
    close = () if hits or not _might_be_code(words) else tuple(known_near(words))
    shelved = _shelved(one.id for one in hits if one.what == "part")
    return Found(words, None, _grouped(hits), shelved, close, sentence=_no_address_of_ours(words, hits))


def _no_address_of_ours(text: str, hits: Sequence[Hit]) -> str:
    if hits or text[:4].upper() not in ("HTTP", "WWW."):
        return ""
    return "That is the address of a web page, not a label of ours and not a supplier's bag code: scan another one."


def _code(text: str) -> Scan | None:
    try:
        return scan(text)
    except Refused:
        return None


def _might_be_code(text: str) -> bool:
    return abs(len(normalise(text)) - LENGTH) <= 1


def _grouped(hits: Sequence[Hit]) -> tuple[tuple[str, tuple[Hit, ...]], ...]:
    groups = ((what, tuple(one for one in hits if one.what == what)) for what in ORDER)
    return tuple((what, some) for what, some in groups if some)


def _shelved(part_ids: Iterable[int]) -> dict[int, Shelved]:
    rows = Part.select().where(Part.id << list(part_ids))
    return {one.id: _shelf(read(PartRecord, one)) for one in rows}


def _shelf(part: PartRecord) -> Shelved:
    if part.kept == "individually":
        pieces = bins.pieces_in(part_id=part.id)
        home = pieces[0].bin_id if pieces else None
        return Shelved(part, len(pieces), None if home is None else bins.bin_(home))
    places = sources(part.id)
    first = read(BinRecord, places[0].bin) if places else None
    return Shelved(part, sum(one.quantity for one in places), first)
