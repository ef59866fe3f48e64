"""Moving stock between bins, scrapping it, counting it, and making a counted unit a piece of its own."""

from __future__ import annotations

from inventory.domain.catalogue.picking import claim_bin
from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult, PieceRecord, from_row
from inventory.domain.common.validation import clean_text, get_row, validated_quantity
from inventory.domain.movements.pull import get_available_piece
from inventory.store import ledger
from inventory.store.tables import Balance, Bin, Job, Lot, Part, Piece


def move(
    to_bin_id: int, quantity: int = 1, *, bin_id: int | None = None, lot_id: int | None = None,
    piece_id: int | None = None, by: int | None = None, reason: str = "",
) -> ActionResult:  # fmt: skip
    """Move loose units of a lot (or one piece) from one bin to another."""
    with ledger.ledger_transaction():
        why = clean_text(reason, "reason", 300)
        part, lot_id, bin_id, quantity = _resolve_units(bin_id, lot_id, piece_id, quantity)
        if to_bin_id == bin_id:
            raise Invalid("It is in that bin already: scan the bin it should go to.", reason="same_bin")
        into = claim_bin(to_bin_id, part.id)
        out = ledger.LedgerLine("move", part.id, lot_id, bin_id, -quantity, piece_id, None, by, why)
        in_ = ledger.LedgerLine("move", part.id, lot_id, into.id, quantity, piece_id, None, by, why)
        entry = ledger.append_lines([out, in_], clock.now())
    return ActionResult(
        entry, f"{quantity_text(quantity, part)} of {part.name} moved to {into.name}.", part.id, quantity, into.id,
        (lot_id,), () if piece_id is None else (piece_id,),
    )  # fmt: skip


def scrap(
    quantity: int = 1, *, reason: str, bin_id: int | None = None, lot_id: int | None = None,
    piece_id: int | None = None, job_id: int | None = None, by: int | None = None,
) -> ActionResult:  # fmt: skip
    """Throw away loose units of a lot (on hold or not) or one piece; *reason* says why."""
    with ledger.ledger_transaction():
        why = clean_text(reason, "reason", 300, required=True)
        if job_id is not None:
            get_row(Job, job_id, "job")
        part, lot_id, bin_id, quantity = _resolve_units(bin_id, lot_id, piece_id, quantity)
        line = ledger.LedgerLine("scrap", part.id, lot_id, bin_id, -quantity, piece_id, job_id, by, why)
        entry = ledger.append_lines([line], clock.now())
    return ActionResult(
        entry, f"{quantity_text(quantity, part)} of {part.name} scrapped.", part.id, quantity, bin_id, (lot_id,),
        () if piece_id is None else (piece_id,), job_id,
    )  # fmt: skip


def count(
    bin_id: int, lot_id: int, quantity: int, *, seen: int | None = None, by: int | None = None, reason: str = ""
) -> ActionResult:
    """Note how many loose units of a lot were counted in a bin; a count without a difference is recorded too.

    *seen* is the booked quantity when the count began: if stock moved since, raise Conflict and count again. Raises
    Invalid for loose units found of a part that is kept piece by piece.
    """
    with ledger.ledger_transaction():
        validated_quantity(quantity, allow_zero=True)
        lot = get_row(Lot, lot_id, "lot")
        bin_ = claim_bin(bin_id, lot.part_id)
        booked = _booked_quantity(bin_id, lot_id)
        if lot.part.kept == "individually" and quantity > booked:
            raise Invalid(
                f"{lot.part.name} is kept piece by piece: receive what you found, and each gets its label.",
                reason="kept_individually",
            )
        if seen is not None and seen != booked:
            raise Conflict(
                f"The book went from {seen} to {booked} while you counted: count this bin again.",
                reason="moved_meanwhile",
            )
        line = ledger.LedgerLine(
            "count", lot.part_id, lot_id, bin_id, quantity - booked, None, None, by, clean_text(reason, "reason", 300)
        )
        entry = ledger.append_lines([line], clock.now())
    part = lot.part
    difference = quantity - booked
    outcome = (
        "as booked" if not difference else f"{abs(difference)} {'more' if difference > 0 else 'fewer'} than booked"
    )
    return ActionResult(
        entry, f"{quantity_text(quantity, part)} of {part.name} in {bin_.name}: {outcome}.", part.id, difference,
        bin_id, (lot_id,), left_in_bin=quantity,
    )  # fmt: skip


def single_out(
    bin_id: int, lot_id: int, *, name: str = "", serial: str = "", spare: bool = True, by: int | None = None,
    note: str = "",
) -> ActionResult:  # fmt: skip
    """Make one loose unit of a lot a piece with its own label, by default a spare kept to test with."""
    with ledger.ledger_transaction():
        part, lot_id, bin_id = _check_loose_units(bin_id, lot_id, 1)
        if part.unit != "piece":
            raise Invalid(f"{part.name} is not counted in pieces: it cannot be singled out.")
        piece = Piece.create(
            code=unused_code(Piece, "piece"), part=part.id, lot=lot_id, name=clean_text(name, "name", 40),
            serial=clean_text(serial, "serial number", 80), spare=bool(spare), note=clean_text(note, "note", 1000),
            created=clock.now(),
        )  # fmt: skip
        lines = [
            ledger.LedgerLine("single out", part.id, lot_id, bin_id, -1, None, None, by),
            ledger.LedgerLine("single out", part.id, lot_id, bin_id, 1, piece.id, None, by),
        ]
        entry = ledger.append_lines(lines, clock.now())
    record = from_row(PieceRecord, Piece.get_by_id(piece.id))
    return ActionResult(
        entry, f"{part.name} is now piece {record.shown_as}: print its label.", part.id, 1, bin_id, (lot_id,),
        (record.id,), made_pieces=(record,),
    )  # fmt: skip


def _resolve_units(
    bin_id: int | None, lot_id: int | None, piece_id: int | None, quantity: int
) -> tuple[Part, int, int, int]:
    """Return the part, the lot, the bin and how many: of one piece, or of loose units of a lot."""
    if piece_id is not None:
        piece = get_available_piece(piece_id)
        return piece.part, piece.lot_id, piece.bin_id, 1
    return (*_check_loose_units(bin_id, lot_id, quantity), quantity)


def _check_loose_units(bin_id: int | None, lot_id: int | None, quantity: int) -> tuple[Part, int, int]:
    """Return part, lot and bin of *quantity* loose units; raise Conflict when so many are not there."""
    validated_quantity(quantity)
    if bin_id is None or lot_id is None:
        raise Invalid("Say which lot, and in which bin it is.")
    lot, bin_ = get_row(Lot, lot_id, "lot"), get_row(Bin, bin_id, "bin")
    booked = _booked_quantity(bin_id, lot_id)
    if booked < quantity:
        raise Conflict(
            f"{bin_.name} has {quantity_text(booked, lot.part) if booked else 'none'} of lot {lot.code}: "
            "type fewer, or count the bin.",
            reason="not_enough", available=booked,
        )  # fmt: skip
    return lot.part, lot.id, bin_.id


def _booked_quantity(bin_id: int, lot_id: int) -> int:
    balance = Balance.get_or_none(Balance.bin == bin_id, Balance.lot == lot_id)
    return balance.quantity if balance else 0
