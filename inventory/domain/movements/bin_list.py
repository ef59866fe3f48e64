"""All bins with what is in them and when they were counted last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import fn

from inventory.domain.common.records import BinRecord, LotRecord, from_row
from inventory.store.tables import Balance, Bin, Lot, Movement, Part, Piece

MAX_LISTED = 200
MAX_BIN_NAMES = 400  # a longer list of names helps nobody: scan the label


@dataclass(frozen=True)
class ListedBin:
    """A bin of the list, with the names of the parts in it (or that it waits for) and its last count."""

    bin: BinRecord
    parts: tuple[str, ...]
    empty: bool
    counted: datetime | None


@dataclass(frozen=True)
class BinList:
    """Bins in the order in which they are walked past; ``blank``: labels not put to use yet.

    ``next``: how many to skip for the bins that follow; None: these were the last.
    """

    bins: tuple[ListedBin, ...]
    blank: tuple[BinRecord, ...]
    next: int | None = None


def bin_list(*, longest_uncounted_first: bool = False, find: str = "", skip: int = 0) -> BinList:
    """Return bins in use, in the order of the walk, or the one whose count is oldest first; at most MAX_LISTED.

    *find*: only those with all its words in their name, or in the name of a part that is in them.
    """
    rows = list(Bin.select().where(~Bin.retired).order_by(Bin.walk, Bin.name, Bin.id))
    named = [row for row in rows if row.name is not None]
    counts, part_ids, names = last_count_by_bin([row.id for row in named]), _part_ids_by_bin(), _name_by_part()
    listed = [
        ListedBin(
            from_row(BinRecord, row),
            tuple(names[key] for key in sorted(part_ids.get(row.id, set()) or {row.part_id} - {None})),
            not part_ids.get(row.id), counts.get(row.id),
        )
        for row in named
    ]  # fmt: skip
    if longest_uncounted_first:
        listed.sort(key=lambda item: (item.counted is not None, item.counted, item.bin.walk))
    words = find.casefold().split()
    matches = [item for item in listed if _contains_words(item, words)]
    last = max(skip, 0) + MAX_LISTED
    blank = tuple(from_row(BinRecord, row) for row in rows if row.name is None)
    return BinList(tuple(matches[last - MAX_LISTED : last]), blank, last if len(matches) > last else None)


def _contains_words(item: ListedBin, words: Sequence[str]) -> bool:
    text = " ".join((item.bin.name or "", *item.parts)).casefold()
    return all(word in text for word in words)


def last_count_by_bin(bin_ids: Sequence[int]) -> dict[int, datetime]:
    """Return by bin when it was counted last; bins never counted are left out."""
    rows: Any = (
        Movement.select(Movement.bin, fn.MAX(Movement.at)).where(Movement.kind == "count").group_by(Movement.bin)
    ).tuples()
    wanted = set(bin_ids)
    return {bin_id: moment for bin_id, moment in rows if bin_id in wanted}


def _part_ids_by_bin() -> dict[int, set[int]]:
    part_ids: dict[int, set[int]] = {}
    loose: Any = Balance.select(Balance.bin, Balance.part).where(Balance.quantity > 0)
    single: Any = Piece.select(Piece.bin, Piece.part).where(Piece.bin.is_null(False))
    for query in (loose, single):
        for bin_id, part_id in query.tuples():
            part_ids.setdefault(bin_id, set()).add(part_id)
    return part_ids


def _name_by_part() -> dict[int, str]:
    rows: Any = Part.select(Part.id, Part.name).tuples()
    return dict(rows)


def bin_names() -> tuple[str, ...]:
    """Return the names of the bins in use, in the order of the walk, to pick from."""
    rows = Bin.select(Bin.name).where(Bin.name.is_null(False), ~Bin.retired)
    return tuple(row.name or "" for row in rows.order_by(Bin.walk, Bin.name).limit(MAX_BIN_NAMES))


def next_bin_in_walk(bin_: BinRecord) -> BinRecord | None:
    """Return the bin that is walked past after *bin_*; None after the last."""
    later = (Bin.walk > bin_.walk) | ((Bin.walk == bin_.walk) & (Bin.id > bin_.id))
    row = Bin.select().where(later, ~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.id).first()
    return None if row is None else from_row(BinRecord, row)


def newest_lot_of_bin(bin_id: int) -> LotRecord | None:
    """Return the newest lot that was ever in a bin, used up or not."""
    row = Balance.select(Balance, Lot).join(Lot).where(Balance.bin == bin_id).order_by(Lot.id.desc()).first()
    return None if row is None else from_row(LotRecord, row.lot)
