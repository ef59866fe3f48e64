"""At the shelf: moving what is in a bin, scrapping it, counting it, giving one unit its own label."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import fn

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.resolve import bin_meant
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.records import BinRecord, Done, LotRecord, PartRecord, PieceRecord, read
from inventory.domain.movements import adjustments
from inventory.store import ledger
from inventory.store.tables import Balance, Bin, Lot, Movement, Part, Piece

MOST_BINS = 400  # a longer list of names helps nobody: scan the label


@dataclass(frozen=True)
class Inside:
    """Something in a bin: loose units of a lot, or one piece. ``key`` names it in a form: "lot 3", "piece 7"."""

    key: str
    part: PartRecord
    lot: LotRecord
    piece: PieceRecord | None
    quantity: int


@dataclass(frozen=True)
class AtShelf:
    """A bin and what is in it, with the names of the bins that things may go to."""

    bin: BinRecord
    inside: tuple[Inside, ...]
    bin_names: tuple[str, ...]


def at_shelf(bin_id: int, *, pieces: bool = True) -> AtShelf:
    """Gather what is in a bin to be moved, scrapped or singled out (the last: loose units only)."""
    found = bins.bin_(bin_id)
    loose = [_loose(one.lot, one.quantity) for one in bins.holdings(bin_id=bin_id)]
    single = [_single(one) for one in bins.pieces_in(bin_id=bin_id)] if pieces else []
    names = tuple(one for one in bin_names() if one != found.name)
    return AtShelf(found, (*loose, *single), names)


def _loose(found: LotRecord, number: int) -> Inside:
    return Inside(f"lot {found.id}", part(found.part_id), found, None, number)


def _single(found: PieceRecord) -> Inside:
    return Inside(f"piece {found.id}", part(found.part_id), lot(found.lot_id), found, 1)


def bin_names() -> tuple[str, ...]:
    """Return the names of the bins in use, in the order of the walk, to pick from."""
    rows = Bin.select(Bin.name).where(Bin.name.is_null(False), ~Bin.retired)
    return tuple(one.name or "" for one in rows.order_by(Bin.walk, Bin.name).limit(MOST_BINS))


def meant(bin_id: int, key: str, amount: str) -> dict[str, int]:
    """Read what of a bin a form means, and how much, as the arguments that ``shift`` takes."""
    what, _, number = key.partition(" ")
    if what not in ("lot", "piece") or not (number.isascii() and number.isdigit() and len(number) < 10):
        sentence = "Choose what in the bin it is about."
        raise Invalid(sentence, errors={"what": [sentence]})
    if what == "piece":
        return {"piece_id": int(number)}
    unit = part(lot(int(number)).part_id).unit
    return {"lot_id": int(number), "bin_id": bin_id, "quantity": quantity(amount, unit)}


def move(bin_id: int, key: str, amount: str, to: str, *, by: int, reason: str = "") -> Done:
    """Move an *amount* as typed, or a piece, into the bin that *to* means."""
    with ledger.writing_lines():
        return adjustments.move(bin_meant(to).id, **meant(bin_id, key, amount), by=by, reason=reason)


def scrap(bin_id: int, key: str, amount: str, reason: str, *, by: int) -> Done:
    """Throw away an *amount* as typed, or a piece, and say why."""
    with ledger.writing_lines():
        return adjustments.scrap(**meant(bin_id, key, amount), reason=reason, by=by)


def single_out(
    bin_id: int, key: str, *, by: int, name: str = "", serial: str = "", spare: bool = True, note: str = ""
) -> Done:
    """Give one loose unit of a lot a label of its own."""
    found = meant(bin_id, key, "1")
    if "lot_id" not in found:
        sentence = "Choose the lot it is taken from."
        raise Invalid(sentence, errors={"what": [sentence]})
    return adjustments.single_out(bin_id, found["lot_id"], name=name, serial=serial, spare=spare, by=by, note=note)


# ---- counting --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ToCount:
    """A lot to be counted in a bin, and how many the book says are there."""

    part: PartRecord
    lot: LotRecord
    booked: int


@dataclass(frozen=True)
class AtCount:
    """A bin to be counted: what the book says is loose in it, and the next bin of the walk."""

    bin: BinRecord
    lines: tuple[ToCount, ...]
    pieces: tuple[PieceRecord, ...]
    part: PartRecord | None  # whose bin it is
    last: datetime | None
    next: BinRecord | None


def at_count(bin_id: int) -> AtCount:
    """Gather what there is to count in a bin; a lot that ran out last in it is listed, should some turn up."""
    found = bins.bin_(bin_id)
    held = [ToCount(part(one.lot.part_id), one.lot, one.quantity) for one in bins.holdings(bin_id=bin_id)]
    return AtCount(
        found, tuple(held or _ran_out(bin_id)), tuple(bins.pieces_in(bin_id=bin_id)),
        None if found.part_id is None else part(found.part_id), _last_counts([bin_id]).get(bin_id),
        _next_in_walk(found),
    )  # fmt: skip


def _ran_out(bin_id: int) -> list[ToCount]:
    newest = Balance.select(Balance, Lot).join(Lot).where(Balance.bin == bin_id).order_by(Lot.id.desc()).first()
    if newest is None:
        return []
    return [ToCount(part(newest.lot.part_id), read(LotRecord, newest.lot), 0)]


def _next_in_walk(found: BinRecord) -> BinRecord | None:
    later = (Bin.walk > found.walk) | ((Bin.walk == found.walk) & (Bin.id > found.id))
    row = Bin.select().where(later, ~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.id).first()
    return None if row is None else read(BinRecord, row)


def count(bin_id: int, typed: Mapping[int, tuple[str, int | None]], *, by: int, reason: str = "") -> list[Done]:
    """Note what was counted in a bin, by lot: the number as typed, and what the book said when the count began.

    Lots left blank were not counted. Raises Invalid when all were, Conflict when stock moved meanwhile.
    """
    with ledger.writing_lines():
        wanted = [(lot_id, text, seen) for lot_id, (text, seen) in typed.items() if text.strip()]
        if not wanted:
            raise Invalid("Type what you counted, 0 if there is none.")
        return [
            adjustments.count(bin_id, lot_id, _counted(lot_id, text), seen=seen, by=by, reason=reason)
            for lot_id, text, seen in wanted
        ]


def _counted(lot_id: int, text: str) -> int:
    return quantity(text, part(lot(lot_id).part_id).unit, f"lot-{lot_id}", least=0)


# ---- all bins --------------------------------------------------------------------------------------------


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


MOST_LISTED = 200


def bin_list(*, longest_uncounted_first: bool = False, find: str = "", skip: int = 0) -> BinList:
    """Return bins in use, in the order of the walk, or the one whose count is oldest first; at most MOST_LISTED.

    *find*: only those with all its words in their name, or in the name of a part that is in them.
    """
    rows = list(Bin.select().where(~Bin.retired).order_by(Bin.walk, Bin.name, Bin.id))
    named = [one for one in rows if one.name is not None]
    counts, inside, names = _last_counts([one.id for one in named]), _inside(), _part_names()
    listed = [
        ListedBin(
            read(BinRecord, one),
            tuple(names[key] for key in sorted(inside.get(one.id, set()) or {one.part_id} - {None})),
            not inside.get(one.id), counts.get(one.id),
        )
        for one in named
    ]  # fmt: skip
    if longest_uncounted_first:
        listed.sort(key=lambda one: (one.counted is not None, one.counted, one.bin.walk))
    words = find.casefold().split()
    found = [one for one in listed if _has(one, words)]
    last = max(skip, 0) + MOST_LISTED
    blank = tuple(read(BinRecord, one) for one in rows if one.name is None)
    return BinList(tuple(found[last - MOST_LISTED : last]), blank, last if len(found) > last else None)


def _has(one: ListedBin, words: Sequence[str]) -> bool:
    text = " ".join((one.bin.name or "", *one.parts)).casefold()
    return all(word in text for word in words)


def _last_counts(bin_ids: Sequence[int]) -> dict[int, datetime]:
    rows: Any = (
        Movement.select(Movement.bin, fn.MAX(Movement.at)).where(Movement.kind == "count").group_by(Movement.bin)
    ).tuples()
    wanted = set(bin_ids)
    return {key: at for key, at in rows if key in wanted}


def _inside() -> dict[int, set[int]]:
    found: dict[int, set[int]] = {}
    loose: Any = Balance.select(Balance.bin, Balance.part).where(Balance.quantity > 0)
    single: Any = Piece.select(Piece.bin, Piece.part).where(Piece.bin.is_null(False))
    for query in (loose, single):
        for bin_id, part_id in query.tuples():
            found.setdefault(bin_id, set()).add(part_id)
    return found


def _part_names() -> dict[int, str]:
    rows: Any = Part.select(Part.id, Part.name).tuples()
    return dict(rows)
