"""The list of parts, each with how many there are and in which bins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.domain.catalogue import parts
from inventory.domain.catalogue.stock_totals import stocks
from inventory.domain.common.records import PartRecord, Stock, UnitModelRecord
from inventory.domain.common.validation import KINDS
from inventory.store.tables import Balance, Bin, Part, Piece


@dataclass(frozen=True)
class ListedPart:
    """A part of the list, with its stock and the names of the bins that hold some or are kept for it."""

    part: PartRecord
    stock: Stock
    bins: tuple[str, ...]


@dataclass(frozen=True)
class PartList:
    """Some parts, the mark from which the next ones follow, and what the list may be narrowed by."""

    parts: tuple[ListedPart, ...]
    next: str | None
    kinds: tuple[tuple[str, int], ...]  # those in use, and how many parts each has
    model: UnitModelRecord | None


def part_list(
    *, find: str = "", kind: str = "", fits: int | None = None, retired: bool = False, after: str | None = None,
    limit: int = 50,
) -> PartList:  # fmt: skip
    """Return parts by number, narrowed by words, kind and the unit model they fit."""
    page = parts.parts(
        find=find, kind=kind if kind in KINDS else None, fits=fits, retired=retired, after=after, limit=limit
    )
    model = None if fits is None else parts.unit_model(fits)
    return PartList(tuple(_listed(page.items)), page.next, tuple(_kinds(retired)), model)


def _listed(found: Sequence[PartRecord]) -> list[ListedPart]:
    ids = [one.id for one in found]
    held, places = stocks(ids), _places(ids)
    return [ListedPart(one, held.get(one.id, Stock()), tuple(places.get(one.id, ()))) for one in found]


def _places(part_ids: Sequence[int]) -> dict[int, list[str]]:
    """Return by part the bins that hold some of it, or are its own."""
    own: Any = Bin.select(Bin.part, Bin.name).where(Bin.part << part_ids, ~Bin.retired, Bin.name.is_null(False))
    loose: Any = (
        Balance.select(Balance.part, Bin.name).join(Bin)
        .where(Balance.part << part_ids, Balance.quantity > 0, Bin.name.is_null(False))
    )  # fmt: skip
    single: Any = Piece.select(Piece.part, Bin.name).join(Bin).where(Piece.part << part_ids, Bin.name.is_null(False))
    found: dict[int, set[str]] = {}
    for query in (own, loose, single):
        for part, name in query.tuples():
            found.setdefault(part, set()).add(name)
    return {part: sorted(names) for part, names in found.items()}


def _kinds(retired: bool) -> list[tuple[str, int]]:
    query: Any = Part.select(Part.kind, fn.COUNT(Part.id)).where(Part.retired == retired).group_by(Part.kind)
    numbers: dict[str, int] = dict(query.tuples())
    return [(kind, numbers[kind]) for kind in KINDS if kind in numbers]
