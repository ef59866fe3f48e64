"""Which part is in the bag? Looked up by what was learned, then by the maker's, the supplier's or our own number."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from peewee import fn

from inventory.domain.buying.bag_pairings import folded, meaning_of
from inventory.domain.common.records import PartRecord, read
from inventory.store.tables import Offer, Part, Supplier
from shared.bag_code_reader import BagCode

_FILLING = " -./_"
"""Signs that the same number is printed with and without."""

HOW = LEARNED, OWN, MAKERS, SUPPLIERS = ("learned", "own", "maker's", "supplier's")


@dataclass(frozen=True)
class Match:
    """A part that a number on the bag means, and how that is known: ``how`` is one of the words above.

    ``nearly``: the number differs in spaces or dashes. ``words`` say it for people. ``pack`` and ``supplier_id``
    come with the offer or the bag that it is known from.
    """

    part: PartRecord
    number: str
    how: str
    words: str
    nearly: bool = False
    supplier_id: int | None = None
    pack: int | None = None


@dataclass(frozen=True)
class InBag:
    """The part in the bag (None: unknown, or not sure), what the numbers say for it, and for others."""

    part: PartRecord | None
    matches: tuple[Match, ...]
    against: tuple[Match, ...] = ()


def part_in(code: BagCode) -> InBag:
    """Say which part the numbers of a bag mean.

    What somebody taught decides; else the catalogue, when all its numbers agree. ``matches`` of an unsure answer
    are what there is to choose from, those by the exact number only if there are any.
    """
    learned = list(_learned(code))
    known = _of_its_maker(_in_use(_known(code, nearly=False)), code.maker) or _in_use(_known(code, nearly=True))
    exact = [one for one in known if not one.nearly]
    for sure in (learned, exact):
        if _one(sure):
            part = sure[0].part
            agree = (*sure, *(one for one in exact if one.part == part and one not in sure))
            return InBag(part, agree, tuple(one for one in exact if one.part != part))
    return InBag(None, (*learned, *known))


def numbers_to_learn(code: BagCode) -> list[str]:
    """Return the numbers by which the next bag of the same part is known: the maker's or a supplier's, else ours."""
    found = [folded(one) for one in (code.supplier_part, code.distributor_part, code.gtin) if one]
    return list(dict.fromkeys(found)) or [folded(one) for one in [code.customer_part] if one]


def _one(matches: Iterable[Match]) -> bool:
    return len({one.part.id for one in matches}) == 1


def _learned(code: BagCode) -> Iterator[Match]:
    for one in meaning_of(numbers_to_learn(code)):
        by = f" by {one.person}" if one.person else ""
        words = f"{one.number} was said to be this part on {one.at:%d %b %Y}{by}"
        part = read(PartRecord, Part.get_by_id(one.part_id))
        yield Match(part, one.number, LEARNED, words, supplier_id=one.supplier_id)


def _known(code: BagCode, *, nearly: bool) -> Iterator[Match]:
    numbers = {_plain(one, nearly): one for one in code.part_numbers if _plain(one, nearly)}
    keys = list(numbers)
    for column, how, words in (
        (Part.number, OWN, "{} is our own number"),
        (Part.maker_number, MAKERS, "{} is the maker's number"),
    ):
        for row in Part.select().where(_as_compared(column, nearly) << keys).order_by(Part.retired, Part.number):
            said = str(getattr(row, column.name))
            yield _match(row, numbers.get(_plain(said, nearly), said), how, words, said, nearly)
    offers = Offer.select(Offer, Part, Supplier).join(Part).switch(Offer).join(Supplier)
    for one in offers.where(_as_compared(Offer.supplier_number, nearly) << keys).order_by(Offer.id):
        said, words = str(one.supplier_number), "{} is the number of " + str(one.supplier.name)
        found = _match(one.part, numbers.get(_plain(said, nearly), said), SUPPLIERS, words, said, nearly)
        yield replace(found, supplier_id=one.supplier_id, pack=one.pack)


def _match(row: Any, number: str, how: str, words: str, said: str, nearly: bool) -> Match:
    spelling = f" ({said} here)" if nearly else ""
    return Match(read(PartRecord, row), number, how, words.format(number) + spelling, nearly)


def _plain(number: str, nearly: bool) -> str:
    return re.sub(f"[{re.escape(_FILLING)}]", "", number).upper() if nearly else number.strip().upper()


def _as_compared(column: Any, nearly: bool) -> Any:
    bare = column
    for sign in _FILLING if nearly else "":
        bare = fn.REPLACE(bare, sign, "")
    return fn.UPPER(bare)


def _in_use(found: Iterable[Match]) -> list[Match]:
    """Leave out retired parts when there are others."""
    matches = list(found)
    return [one for one in matches if not one.part.retired] or matches


def _of_its_maker(matches: list[Match], maker: str) -> list[Match]:
    """Of parts that share a maker's number, keep those of the maker on the bag, when it names one of theirs."""
    wanted = folded(maker)
    same = [one for one in matches if wanted and folded(one.part.maker).startswith(wanted)]
    return same or matches
