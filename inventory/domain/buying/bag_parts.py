"""Which part is in the bag? Looked up by what was learned, then by the maker's, the supplier's or our own number."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Any

from peewee import fn

from inventory.domain.buying.bag_pairings import find_pairings, normalize_number
from inventory.domain.common.described import About
from inventory.domain.common.records import PartRecord, from_row
from inventory.store.tables import Offer, Part, Supplier
from shared.bag_code import BagCode

_IGNORED_CHARACTERS = " -./_"
"""Characters that the same number is printed with and without."""

MATCH_SOURCES = LEARNED, OWN_NUMBER, MAKER_NUMBER, SUPPLIER_NUMBER = ("learned", "own", "maker's", "supplier's")


@dataclass(frozen=True)
class PartMatch:
    """A part that a number on the bag means, and how that is known: ``how`` is one of MATCH_SOURCES.

    ``nearly``: the number differs in spaces or dashes. ``words``: the same as a sentence. ``pack`` and
    ``supplier_id`` come from the offer or the bag that it is known from.
    """

    part: Annotated[PartRecord, "The part."]
    number: Annotated[str, "The number on the bag."]
    how: Annotated[str, About("What says so.", choices=MATCH_SOURCES)]
    words: Annotated[str, "The same for people."]
    nearly: Annotated[bool, "The number differs in spaces or dashes."] = False
    supplier_id: Annotated[int | None, "The supplier whose number it is."] = None
    pack: int | None = None


@dataclass(frozen=True)
class BagContents:
    """The part in the bag (None: unknown, or not sure), what the numbers say for it, and for others."""

    part: PartRecord | None
    matches: tuple[PartMatch, ...]
    against: tuple[PartMatch, ...] = ()


def identify_part(code: BagCode) -> BagContents:
    """Return which part the numbers of a bag mean.

    A learned pairing decides; else the catalogue, when all its numbers agree. Without a part, ``matches`` are the
    candidates, those by the exact number only if there are any.
    """
    learned = list(_learned_matches(code))
    catalogued = _prefer_maker(_prefer_active(_catalogue_matches(code, nearly=False)), code.maker) or _prefer_active(
        _catalogue_matches(code, nearly=True)
    )
    exact = [match for match in catalogued if not match.nearly]
    for certain in (learned, exact):
        if _is_single_part(certain):
            part = certain[0].part
            agree = (*certain, *(match for match in exact if match.part == part and match not in certain))
            return BagContents(part, agree, tuple(match for match in exact if match.part != part))
    return BagContents(None, (*learned, *catalogued))


def numbers_to_learn(code: BagCode) -> list[str]:
    """Return the numbers by which the next bag of the same part is known: the maker's or a supplier's, else ours."""
    numbers = [
        normalize_number(number) for number in (code.supplier_part, code.distributor_part, code.gtin) if number
    ]
    return list(dict.fromkeys(numbers)) or [normalize_number(number) for number in [code.customer_part] if number]


def _is_single_part(matches: Iterable[PartMatch]) -> bool:
    return len({match.part.id for match in matches}) == 1


def _learned_matches(code: BagCode) -> Iterator[PartMatch]:
    for pairing in find_pairings(numbers_to_learn(code)):
        person = f" by {pairing.person}" if pairing.person else ""
        sentence = f"{pairing.number} was said to be this part on {pairing.at:%d %b %Y}{person}"
        part = from_row(PartRecord, Part.get_by_id(pairing.part_id))
        yield PartMatch(part, pairing.number, LEARNED, sentence, supplier_id=pairing.supplier_id)


def _catalogue_matches(code: BagCode, *, nearly: bool) -> Iterator[PartMatch]:
    numbers = {_comparable_number(number, nearly): number for number in code.part_numbers}
    numbers.pop("", None)

    def match(row: Any, printed: str, how: str, template: str) -> PartMatch:
        number = numbers.get(_comparable_number(printed, nearly), printed)
        spelling = f" ({printed} here)" if nearly else ""
        return PartMatch(from_row(PartRecord, row), number, how, template.format(number) + spelling, nearly)

    for column, how, template in (
        (Part.number, OWN_NUMBER, "{} is our own number"),
        (Part.maker_number, MAKER_NUMBER, "{} is the maker's number"),
    ):
        condition = _comparable_column(column, nearly) << list(numbers)
        for row in Part.select().where(condition).order_by(Part.retired, Part.number):
            yield match(row, str(getattr(row, column.name)), how, template)
    offers = Offer.select(Offer, Part, Supplier).join(Part).switch(Offer).join(Supplier)
    for offer in offers.where(_comparable_column(Offer.supplier_number, nearly) << list(numbers)).order_by(Offer.id):
        template = "{} is the number of " + str(offer.supplier.name)
        offered = match(offer.part, str(offer.supplier_number), SUPPLIER_NUMBER, template)
        yield replace(offered, supplier_id=offer.supplier_id, pack=offer.pack)


def _comparable_number(number: str, nearly: bool) -> str:
    return re.sub(f"[{re.escape(_IGNORED_CHARACTERS)}]", "", number).upper() if nearly else number.strip().upper()


def _comparable_column(column: Any, nearly: bool) -> Any:
    bare = column
    for sign in _IGNORED_CHARACTERS if nearly else "":
        bare = fn.REPLACE(bare, sign, "")
    return fn.UPPER(bare)


def _prefer_active(matches: Iterable[PartMatch]) -> list[PartMatch]:
    """Leave out retired parts when there are others."""
    listed = list(matches)
    return [match for match in listed if not match.part.retired] or listed


def _prefer_maker(matches: list[PartMatch], maker: str) -> list[PartMatch]:
    """Of parts that share a maker's number, keep those of the maker on the bag, when it names one of theirs."""
    prefix = normalize_number(maker)
    matching = [match for match in matches if prefix and normalize_number(match.part.maker).startswith(prefix)]
    return matching or matches
