"""What the search field found, with where each part is, so that a find ends at a bin and not at a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.bag_receipts import is_bag_text
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import parts_by_id
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.search import search
from inventory.domain.common.code_lookup import resolve_code, similar_codes
from inventory.domain.common.errors import DomainError
from inventory.domain.common.records import BinRecord, PartRecord, ResolvedCode, SearchHit, from_row
from shared.bag_code_reader import element_string_from_gtin
from shared.codes import CODE_LENGTH, normalise_code

KIND_ORDER = ("part", "bin", "piece", "job", "lot", "order", "unit model")


@dataclass(frozen=True)
class PartLocation:
    """A part that was found: how many can be taken, and from which bin first."""

    part: PartRecord
    quantity: int
    bin: BinRecord | None


@dataclass(frozen=True)
class SearchResult:
    """What a text stands for (a code that somebody scanned) or is found in.

    ``bag``: it is a supplier's code, to be received. ``sentence`` says of an address that it is none of ours.
    """

    text: str
    code: ResolvedCode | None
    groups: tuple[tuple[str, tuple[SearchHit, ...]], ...]
    shelved: dict[int, PartLocation]  # by part
    did_you_mean: tuple[str, ...]  # known codes one typo away
    bag: bool = False
    sentence: str = ""

    @property
    def number(self) -> int:
        """How many things were found."""
        return sum(len(hits) for _, hits in self.groups)


def search_screen(text: str) -> SearchResult:
    """Look a text up as a code of ours or of a supplier, or a thing's whole name, else search for its words.

    The number of a part finds it in a list, which says where it lies: that is what was asked for.
    """
    if is_bag_text(text):
        return SearchResult(text, None, (), {}, (), bag=True)
    words = text.strip()[:2000]
    code = _code_or_none(words)
    if code is not None or not words:
        return SearchResult(words, code, (), {}, ())
    hits = search(words)
    exact = [hit for hit in hits if hit.name and hit.name.casefold() == words.casefold()]
    if len(exact) == 1 and exact[0].what != "part":
        return SearchResult(words, ResolvedCode(exact[0].what, exact[0].id, exact[0].code), (), {}, ())
    if not hits and element_string_from_gtin(words):
        return SearchResult(words, None, (), {}, (), bag=True)
    close = () if hits or not _is_code_like(words) else tuple(similar_codes(words))
    parts = parts_by_id(hit.id for hit in hits if hit.what == "part")
    shelved = {part_id: _part_location(part) for part_id, part in parts.items()}
    return SearchResult(
        words, None, _group_by_kind(hits), shelved, close, sentence=_foreign_address_text(words, hits)
    )


def _foreign_address_text(text: str, hits: Sequence[SearchHit]) -> str:
    if hits or text[:4].upper() not in ("HTTP", "WWW."):
        return ""
    return "That is the address of a web page, not a label of ours and not a supplier's bag code: scan another one."


def _code_or_none(text: str) -> ResolvedCode | None:
    try:
        return resolve_code(text)
    except DomainError:
        return None


def _is_code_like(text: str) -> bool:
    return abs(len(normalise_code(text)) - CODE_LENGTH) <= 1


def _group_by_kind(hits: Sequence[SearchHit]) -> tuple[tuple[str, tuple[SearchHit, ...]], ...]:
    groups = ((what, tuple(hit for hit in hits if hit.what == what)) for what in KIND_ORDER)
    return tuple((what, group) for what, group in groups if group)


def _part_location(part: PartRecord) -> PartLocation:
    if part.kept == "individually":
        pieces = bins.stocked_pieces(part_id=part.id)
        home = pieces[0].bin_id if pieces else None
        return PartLocation(part, len(pieces), None if home is None else bins.get_bin(home))
    places = pick_sources(part.id)
    first = from_row(BinRecord, places[0].bin) if places else None
    return PartLocation(part, sum(place.quantity for place in places), first)
