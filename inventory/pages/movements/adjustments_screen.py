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
from inventory.domain.catalogue.resolve import resolve_bin
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_input import parse_quantity_field
from inventory.domain.common.records import ActionResult, BinRecord, LotRecord, PartRecord, PieceRecord, from_row
from inventory.domain.common.validation import parse_id
from inventory.domain.movements import adjustments
from inventory.store import ledger
from inventory.store.tables import Balance, Bin, Lot, Movement, Part, Piece

MAX_BINS = 400  # a longer list of names helps nobody: scan the label


@dataclass(frozen=True)
class BinItem:
    """Something in a bin: loose units of a lot, or one piece. ``key`` names it in a form: "lot 3", "piece 7"."""

    key: str
    part: PartRecord
    lot: LotRecord
    piece: PieceRecord | None
    quantity: int


@dataclass(frozen=True)
class ShelfScreen:
    """A bin and what is in it, with the names of the bins that things may go to."""

    bin: BinRecord
    inside: tuple[BinItem, ...]
    bin_names: tuple[str, ...]


def shelf_screen(bin_id: int, *, pieces: bool = True) -> ShelfScreen:
    """Gather what is in a bin to be moved, scrapped or singled out (the last: loose units only)."""
    found = bins.get_bin(bin_id)
    loose = [_loose_item(holding.lot, holding.quantity) for holding in bins.holdings(bin_id=bin_id)]
    single = [_piece_item(piece) for piece in bins.stocked_pieces(bin_id=bin_id)] if pieces else []
    names = tuple(name for name in bin_names() if name != found.name)
    return ShelfScreen(found, (*loose, *single), names)


def _loose_item(found: LotRecord, number: int) -> BinItem:
    return BinItem(f"lot {found.id}", part(found.part_id), found, None, number)


def _piece_item(found: PieceRecord) -> BinItem:
    return BinItem(f"piece {found.id}", part(found.part_id), lot(found.lot_id), found, 1)


def bin_names() -> tuple[str, ...]:
    """Return the names of the bins in use, in the order of the walk, to pick from."""
    rows = Bin.select(Bin.name).where(Bin.name.is_null(False), ~Bin.retired)
    return tuple(row.name or "" for row in rows.order_by(Bin.walk, Bin.name).limit(MAX_BINS))


def resolve_bin_item(bin_id: int, key: str, amount: str) -> dict[str, int]:
    """Read what of a bin a form means, and how much, as the arguments that ``shift`` takes."""
    what, _, text = key.partition(" ")
    number = parse_id(text)
    if what not in ("lot", "piece") or number is None:
        sentence = "Choose what in the bin it is about."
        raise Invalid(sentence, errors={"what": [sentence]})
    if what == "piece":
        return {"piece_id": number}
    unit = part(lot(number).part_id).unit
    return {"lot_id": number, "bin_id": bin_id, "quantity": parse_quantity_field(amount, unit)}


def move_from_form(bin_id: int, key: str, amount: str, to: str, *, by: int, reason: str = "") -> ActionResult:
    """Move an *amount* as typed, or a piece, into the bin that *to* means."""
    with ledger.ledger_transaction():
        return adjustments.move(resolve_bin(to).id, **resolve_bin_item(bin_id, key, amount), by=by, reason=reason)


def scrap_from_form(bin_id: int, key: str, amount: str, reason: str, *, by: int) -> ActionResult:
    """Throw away an *amount* as typed, or a piece, and say why."""
    with ledger.ledger_transaction():
        return adjustments.scrap(**resolve_bin_item(bin_id, key, amount), reason=reason, by=by)


def single_out_from_form(
    bin_id: int, key: str, *, by: int, name: str = "", serial: str = "", spare: bool = True, note: str = ""
) -> ActionResult:
    """Give one loose unit of a lot a label of its own."""
    found = resolve_bin_item(bin_id, key, "1")
    if "lot_id" not in found:
        sentence = "Choose the lot it is taken from."
        raise Invalid(sentence, errors={"what": [sentence]})
    return adjustments.single_out(bin_id, found["lot_id"], name=name, serial=serial, spare=spare, by=by, note=note)


# ---- counting --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CountLine:
    """A lot to be counted in a bin, and how many the book says are there."""

    part: PartRecord
    lot: LotRecord
    booked: int


@dataclass(frozen=True)
class BinCountScreen:
    """A bin to be counted: what the book says is loose in it, and the next bin of the walk."""

    bin: BinRecord
    lines: tuple[CountLine, ...]
    pieces: tuple[PieceRecord, ...]
    part: PartRecord | None  # whose bin it is
    last: datetime | None
    next: BinRecord | None


def bin_count_screen(bin_id: int) -> BinCountScreen:
    """Gather what there is to count in a bin; a lot that ran out last in it is listed, should some turn up."""
    found = bins.get_bin(bin_id)
    held = [
        CountLine(part(holding.lot.part_id), holding.lot, holding.quantity)
        for holding in bins.holdings(bin_id=bin_id)
    ]
    return BinCountScreen(
        found, tuple(held or _last_used_up_lot(bin_id)), tuple(bins.stocked_pieces(bin_id=bin_id)),
        None if found.part_id is None else part(found.part_id), _last_count_by_bin([bin_id]).get(bin_id),
        _next_in_walk(found),
    )  # fmt: skip


def _last_used_up_lot(bin_id: int) -> list[CountLine]:
    newest = Balance.select(Balance, Lot).join(Lot).where(Balance.bin == bin_id).order_by(Lot.id.desc()).first()
    if newest is None:
        return []
    return [CountLine(part(newest.lot.part_id), from_row(LotRecord, newest.lot), 0)]


def _next_in_walk(found: BinRecord) -> BinRecord | None:
    later = (Bin.walk > found.walk) | ((Bin.walk == found.walk) & (Bin.id > found.id))
    row = Bin.select().where(later, ~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.id).first()
    return None if row is None else from_row(BinRecord, row)


def count_from_form(
    bin_id: int, typed: Mapping[int, tuple[str, int | None]], *, by: int, reason: str = ""
) -> list[ActionResult]:
    """Note what was counted in a bin, by lot: the number as typed, and what the book said when the count began.

    Lots left blank were not counted. Raises Invalid when all were, Conflict when stock moved meanwhile.
    """
    with ledger.ledger_transaction():
        wanted = [(lot_id, text, seen) for lot_id, (text, seen) in typed.items() if text.strip()]
        if not wanted:
            raise Invalid("Type what you counted, 0 if there is none.")
        return [
            adjustments.count(bin_id, lot_id, _parse_count(lot_id, text), seen=seen, by=by, reason=reason)
            for lot_id, text, seen in wanted
        ]


def _parse_count(lot_id: int, text: str) -> int:
    return parse_quantity_field(text, part(lot(lot_id).part_id).unit, f"lot-{lot_id}", minimum=0)


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


MAX_LISTED = 200


def bin_list(*, longest_uncounted_first: bool = False, find: str = "", skip: int = 0) -> BinList:
    """Return bins in use, in the order of the walk, or the one whose count is oldest first; at most MOST_LISTED.

    *find*: only those with all its words in their name, or in the name of a part that is in them.
    """
    rows = list(Bin.select().where(~Bin.retired).order_by(Bin.walk, Bin.name, Bin.id))
    named = [row for row in rows if row.name is not None]
    counts, inside, names = _last_count_by_bin([one.id for one in named]), _part_ids_by_bin(), _name_by_part()
    listed = [
        ListedBin(
            from_row(BinRecord, one),
            tuple(names[key] for key in sorted(inside.get(one.id, set()) or {one.part_id} - {None})),
            not inside.get(one.id), counts.get(one.id),
        )
        for one in named
    ]  # fmt: skip
    if longest_uncounted_first:
        listed.sort(key=lambda one: (one.counted is not None, one.counted, one.bin.walk))
    words = find.casefold().split()
    found = [one for one in listed if _contains_words(one, words)]
    last = max(skip, 0) + MAX_LISTED
    blank = tuple(from_row(BinRecord, row) for row in rows if row.name is None)
    return BinList(tuple(found[last - MAX_LISTED : last]), blank, last if len(found) > last else None)


def _contains_words(one: ListedBin, words: Sequence[str]) -> bool:
    text = " ".join((one.bin.name or "", *one.parts)).casefold()
    return all(word in text for word in words)


def _last_count_by_bin(bin_ids: Sequence[int]) -> dict[int, datetime]:
    rows: Any = (
        Movement.select(Movement.bin, fn.MAX(Movement.at)).where(Movement.kind == "count").group_by(Movement.bin)
    ).tuples()
    wanted = set(bin_ids)
    return {key: at for key, at in rows if key in wanted}


def _part_ids_by_bin() -> dict[int, set[int]]:
    found: dict[int, set[int]] = {}
    loose: Any = Balance.select(Balance.bin, Balance.part).where(Balance.quantity > 0)
    single: Any = Piece.select(Piece.bin, Piece.part).where(Piece.bin.is_null(False))
    for query in (loose, single):
        for bin_id, part_id in query.tuples():
            found.setdefault(bin_id, set()).add(part_id)
    return found


def _name_by_part() -> dict[int, str]:
    rows: Any = Part.select(Part.id, Part.name).tuples()
    return dict(rows)
