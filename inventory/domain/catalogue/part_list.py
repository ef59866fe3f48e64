"""The list of parts, each with its stock and its bins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.domain.catalogue import parts
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common.records import PartRecord, StockTotals, UnitModelRecord
from inventory.domain.common.validation import PART_KINDS
from inventory.store.connection import run_for
from inventory.store.stock_sql import IN_BINS
from inventory.store.tables import Part


@dataclass(frozen=True)
class ListedPart:
    """A part of the list, with its stock and the names of the bins that hold some of it or are its own."""

    part: PartRecord
    stock: StockTotals
    bins: tuple[str, ...]


@dataclass(frozen=True)
class PartList:
    """A page of parts, the cursor of the next page, and what the list may be filtered by."""

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
        find=find, kind=kind if kind in PART_KINDS else None, fits=fits, retired=retired, after=after, limit=limit
    )
    model = None if fits is None else parts.unit_model(fits)
    return PartList(tuple(_with_stock(page.items)), page.next, tuple(_count_by_kind(retired)), model)


def _with_stock(page: Sequence[PartRecord]) -> list[ListedPart]:
    ids = [part.id for part in page]
    stock, bins = stock_by_part(ids), _bin_names_by_part(ids)
    return [ListedPart(part, stock.get(part.id, StockTotals()), tuple(bins.get(part.id, ()))) for part in page]


def _bin_names_by_part(part_ids: Sequence[int]) -> dict[int, list[str]]:
    """Return by part the names of the bins that hold some of it, or are its own."""
    names: dict[int, list[str]] = {}
    for part, name in run_for(_BIN_NAMES, part_ids):
        names.setdefault(part, []).append(name)
    return {part: sorted(set(bins)) for part, bins in names.items()}


_BIN_NAMES = f"""
SELECT part_id, name FROM bins WHERE part_id IN ({{ids}}) AND NOT retired AND name IS NOT NULL
UNION SELECT s.part_id, b.name FROM {IN_BINS} s JOIN bins b ON b.id = s.bin_id
WHERE s.part_id IN ({{ids}}) AND b.name IS NOT NULL
"""


def _count_by_kind(retired: bool) -> list[tuple[str, int]]:
    query: Any = Part.select(Part.kind, fn.COUNT(Part.id)).where(Part.retired == retired).group_by(Part.kind)
    numbers: dict[str, int] = dict(query.tuples())
    return [(kind, numbers[kind]) for kind in PART_KINDS if kind in numbers]
