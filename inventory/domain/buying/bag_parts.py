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
"""Signs that the same number is printed with and without."""

MATCH_SOURCES = LEARNED, OWN_NUMBER, MAKER_NUMBER, SUPPLIER_NUMBER = ("learned", "own", "maker's", "supplier's")


@dataclass(frozen=True)
class PartMatch:
    """A part that a number on the bag means, and how that is known: ``how`` is one of the words above.

    ``nearly``: the number differs in spaces or dashes. ``words`` say it for people. ``pack`` and ``supplier_id``
    come with the offer or the bag that it is known from.
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
    """Say which part the numbers of a bag mean.

    What somebody taught decides; else the catalogue, when all its numbers agree. ``matches`` of an unsure answer
    are what there is to choose from, those by the exact number only if there are any.
    """
    learned = list(_learned_matches(code))
    known = _prefer_maker(_prefer_active(_catalogue_matches(code, nearly=False)), code.maker) or _prefer_active(
        _catalogue_matches(code, nearly=True)
    )
    exact = [one for one in known if not one.nearly]
    for sure in (learned, exact):
        if _is_single_part(sure):
            part = sure[0].part
            agree = (*sure, *(one for one in exact if one.part == part and one not in sure))
            return BagContents(part, agree, tuple(one for one in exact if one.part != part))
    return BagContents(None, (*learned, *known))


def numbers_to_learn(code: BagCode) -> list[str]:
    """Return the numbers by which the next bag of the same part is known: the maker's or a supplier's, else ours."""
    found = [normalize_number(one) for one in (code.supplier_part, code.distributor_part, code.gtin) if one]
    return list(dict.fromkeys(found)) or [normalize_number(one) for one in [code.customer_part] if one]


def _is_single_part(matches: Iterable[PartMatch]) -> bool:
    return len({match.part.id for match in matches}) == 1


def _learned_matches(code: BagCode) -> Iterator[PartMatch]:
    for pairing in find_pairings(numbers_to_learn(code)):
        by = f" by {pairing.person}" if pairing.person else ""
        words = f"{pairing.number} was said to be this part on {pairing.at:%d %b %Y}{by}"
        part = from_row(PartRecord, Part.get_by_id(pairing.part_id))
        yield PartMatch(part, pairing.number, LEARNED, words, supplier_id=pairing.supplier_id)


def _catalogue_matches(code: BagCode, *, nearly: bool) -> Iterator[PartMatch]:
    numbers = {
        _comparable_number(number, nearly): number
        for number in code.part_numbers
        if _comparable_number(number, nearly)
    }
    keys = list(numbers)
    for column, how, words in (
        (Part.number, OWN_NUMBER, "{} is our own number"),
        (Part.maker_number, MAKER_NUMBER, "{} is the maker's number"),
    ):
        for row in (
            Part.select().where(_comparable_column(column, nearly) << keys).order_by(Part.retired, Part.number)
        ):
            said = str(getattr(row, column.name))
            yield _part_match(row, numbers.get(_comparable_number(said, nearly), said), how, words, said, nearly)
    offers = Offer.select(Offer, Part, Supplier).join(Part).switch(Offer).join(Supplier)
    for offer in offers.where(_comparable_column(Offer.supplier_number, nearly) << keys).order_by(Offer.id):
        said, words = str(offer.supplier_number), "{} is the number of " + str(offer.supplier.name)
        found = _part_match(
            offer.part, numbers.get(_comparable_number(said, nearly), said), SUPPLIER_NUMBER, words, said, nearly
        )
        yield replace(found, supplier_id=offer.supplier_id, pack=offer.pack)


def _part_match(row: Any, number: str, how: str, words: str, said: str, nearly: bool) -> PartMatch:
    spelling = f" ({said} here)" if nearly else ""
    return PartMatch(from_row(PartRecord, row), number, how, words.format(number) + spelling, nearly)


def _comparable_number(number: str, nearly: bool) -> str:
    return re.sub(f"[{re.escape(_IGNORED_CHARACTERS)}]", "", number).upper() if nearly else number.strip().upper()


def _comparable_column(column: Any, nearly: bool) -> Any:
    bare = column
    for sign in _IGNORED_CHARACTERS if nearly else "":
        bare = fn.REPLACE(bare, sign, "")
    return fn.UPPER(bare)


def _prefer_active(found: Iterable[PartMatch]) -> list[PartMatch]:
    """Leave out retired parts when there are others."""
    matches = list(found)
    return [match for match in matches if not match.part.retired] or matches


def _prefer_maker(matches: list[PartMatch], maker: str) -> list[PartMatch]:
    """Of parts that share a maker's number, keep those of the maker on the bag, when it names one of theirs."""
    wanted = normalize_number(maker)
    same = [match for match in matches if wanted and normalize_number(match.part.maker).startswith(wanted)]
    return same or matches
