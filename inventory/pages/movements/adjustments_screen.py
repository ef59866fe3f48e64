"""At the shelf: moving what is in a bin, scrapping it, counting it, giving one unit its own label."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.resolve import resolve_bin
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import parse_quantity_field
from inventory.domain.common.records import ActionResult, BinRecord, LotRecord, PartRecord, PieceRecord
from inventory.domain.common.validation import parse_id
from inventory.domain.movements import adjustments
from inventory.domain.movements.bin_list import bin_names, last_count_by_bin, newest_lot_of_bin, next_bin_in_walk


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
    bin_ = bins.get_bin(bin_id)
    loose = [_loose_item(holding.lot, holding.quantity) for holding in bins.holdings(bin_id=bin_id)]
    single = [_piece_item(piece) for piece in bins.stocked_pieces(bin_id=bin_id)] if pieces else []
    names = tuple(name for name in bin_names() if name != bin_.name)
    return ShelfScreen(bin_, (*loose, *single), names)


def _loose_item(record: LotRecord, number: int) -> BinItem:
    return BinItem(f"lot {record.id}", part(record.part_id), record, None, number)


def _piece_item(record: PieceRecord) -> BinItem:
    return BinItem(f"piece {record.id}", part(record.part_id), lot(record.lot_id), record, 1)


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


def move_from_form(bin_id: int, key: str, amount: str, bin_text: str, *, by: int, reason: str = "") -> ActionResult:
    """Move an *amount* as typed, or a piece, into the bin that *bin_text* means."""
    with atomic(lock_stock=True):
        return adjustments.move(
            resolve_bin(bin_text).id, **resolve_bin_item(bin_id, key, amount), by=by, reason=reason
        )


def scrap_from_form(bin_id: int, key: str, amount: str, reason: str, *, by: int) -> ActionResult:
    """Throw away an *amount* as typed, or a piece, and say why."""
    with atomic(lock_stock=True):
        return adjustments.scrap(**resolve_bin_item(bin_id, key, amount), reason=reason, by=by)


def single_out_from_form(
    bin_id: int, key: str, *, by: int, name: str = "", serial: str = "", spare: bool = True, note: str = ""
) -> ActionResult:
    """Give one loose unit of a lot a label of its own."""
    item = resolve_bin_item(bin_id, key, "1")
    if "lot_id" not in item:
        sentence = "Choose the lot it is taken from."
        raise Invalid(sentence, errors={"what": [sentence]})
    return adjustments.single_out(bin_id, item["lot_id"], name=name, serial=serial, spare=spare, by=by, note=note)


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
    bin_ = bins.get_bin(bin_id)
    quantities = [(holding.lot, holding.quantity) for holding in bins.holdings(bin_id=bin_id)]
    if not quantities and (used_up := newest_lot_of_bin(bin_id)):
        quantities = [(used_up, 0)]
    return BinCountScreen(
        bin_, tuple(CountLine(part(lot_.part_id), lot_, quantity) for lot_, quantity in quantities),
        tuple(bins.stocked_pieces(bin_id=bin_id)), None if bin_.part_id is None else part(bin_.part_id),
        last_count_by_bin([bin_id]).get(bin_id), next_bin_in_walk(bin_),
    )  # fmt: skip


def count_from_form(
    bin_id: int, texts: Mapping[int, tuple[str, int | None]], *, by: int, reason: str = ""
) -> list[ActionResult]:
    """Note what was counted in a bin, by lot: the number as typed, and what the book said when the count began.

    Lots left blank were not counted. Raises Invalid when all were, Conflict when stock moved meanwhile.
    """
    with atomic(lock_stock=True):
        counted = [(lot_id, text, booked) for lot_id, (text, booked) in texts.items() if text.strip()]
        if not counted:
            raise Invalid("Type what you counted, 0 if there is none.")
        return [
            adjustments.count(bin_id, lot_id, parse_count(lot_id, text), seen=booked, by=by, reason=reason)
            for lot_id, text, booked in counted
        ]


def parse_count(lot_id: int, text: str) -> int:
    """Read what was counted of a lot, 0 or more, in base units; raise Invalid naming its field."""
    return parse_quantity_field(text, part(lot(lot_id).part_id).unit, f"lot-{lot_id}", minimum=0)
