"""Which label a bin, lot, piece, job or shelf end gets: from records to the faces that ``labels`` draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.domain.catalogue.bins import add_blank_bins
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import amount
from inventory.domain.common.records import BinRecord, JobRecord, LotRecord, PartRecord, PieceRecord, read
from inventory.domain.common.validation import row
from inventory.domain.jobs.jobs import job, jobs
from inventory.domain.proof.pieces import piece
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.proofs import proofs
from inventory.store.tables import Bin, Lot, Part, Piece, Supplier
from labels.content.label_content import (
    LabelFace,
    PartWords,
    bin_face,
    blank_face,
    job_face,
    lot_face,
    piece_face,
    shelf_end_face,
    shelf_face,
)
from labels.content.part_content import part_words

KINDS = ("bin", "lot", "piece", "job", "shelf")
MOST = 1000  # labels in one go; more is a slip of the finger
ORIGINS = {"delivery": "Delivered", "donor": "From a donor unit", "left over": "Left over", "found": "Found"}
_AS_SAID = {
    "pitch_mm": "pitch", "size_mm": "size", "thick_mm": "thickness", "length_mm": "length", "latch": "lock",
    "contact_side": "contacts",
}  # fmt: skip
"""What the labels call the attributes that stock keeps under another name."""


@dataclass(frozen=True)
class Labelled:
    """A thing that is to get a label: what it is, what people call it, and the face of its label."""

    what: str
    id: int
    words: str
    face: LabelFace


def labelled(things: Sequence[tuple[str, int]], address: str) -> list[Labelled]:
    """Return the labels of some things (pairs such as ("bin", 3)), whose symbols start with *address*.

    Raises NotFound for a thing there is not, Invalid for more than MOST or for what gets no label.
    """
    if len(things) > MOST:
        raise Invalid(f"{len(things)} labels are too many at a time: print at most {MOST}.", reason="too_many")
    return [_of_kind(what)(key, address) for what, key in things]


def face_of(what: str, key: int, address: str) -> LabelFace:
    """Return the face of one thing's label."""
    return labelled([(what, key)], address)[0].face


def blank_labels(number: int) -> list[tuple[str, int]]:
    """Make *number* (1 to 500) bin labels that are put to use later; return them as things to be labelled."""
    return [("bin", one.id) for one in add_blank_bins(number)]


def blank_between(first: int, last: int) -> list[tuple[str, int]]:
    """Return the labels not put to use yet that were made from *first* to *last*, as things to be labelled."""
    rows = Bin.select(Bin.id).where(Bin.id.between(first, last), Bin.name.is_null(), ~Bin.retired).order_by(Bin.id)
    return [("bin", one.id) for one in rows.limit(MOST)]


def _of_kind(what: str) -> Any:
    kinds = {"bin": _bin, "lot": _lot, "piece": _piece, "job": _job, "shelf": _shelf_end}
    if what not in kinds:
        raise Invalid(f"A {what[:20]} gets no label: choose a {', '.join(KINDS[:-1])} or {KINDS[-1]}.")
    return kinds[what]


def _words(part: PartRecord) -> PartWords:
    said = {_AS_SAID.get(name, name): value for name, value in part.attributes.items()}
    return part_words(part.name, part.kind, said, part.hazards)


def _part(part_id: int) -> PartRecord:
    return read(PartRecord, Part.get_by_id(part_id))


def _bin(key: int, address: str) -> Labelled:
    found = read(BinRecord, row(Bin, key, "bin"))
    if found.name is None:
        return Labelled("bin", key, "blank bin label", blank_face(found.code, address))
    part = None if found.part_id is None else _words(_part(found.part_id))
    return Labelled("bin", key, f"Bin {found.name}", bin_face(found.code, address, found.name, part, note=found.note))


def _shelf_end(key: int, address: str) -> Labelled:
    """Label the end of a shelf, or the front of a drawer, by the bin that stands there."""
    found = read(BinRecord, row(Bin, key, "bin"))
    if found.name is None:
        return _bin(key, address)
    if found.part_id is None:
        face = shelf_face(found.code, address, found.name, note=found.note)
        return Labelled("shelf", key, f"Shelf end {found.name}", face)
    part = _part(found.part_id)
    face = shelf_end_face(found.code, address, _words(part), number=part.number, place=f"Bin {found.name}")
    return Labelled("shelf", key, f"Shelf end of {part.name}", face)


def _lot(key: int, address: str) -> Labelled:
    found = read(LotRecord, row(Lot, key, "lot"))
    part = _part(found.part_id)
    face = lot_face(
        found.code, address, _words(part), received=found.received.date(), origin=_origin(found),
        quantity=amount(found.quantity, part), supplier_lot=found.maker_lot, date_code=found.date_code,
        best_before=found.best_before,
    )  # fmt: skip
    return Labelled("lot", key, f"Lot of {part.name}", face)


def _origin(found: LotRecord) -> str:
    seller = None if found.supplier_id is None else Supplier.get_or_none(Supplier.id == found.supplier_id)
    return str(seller.name) if seller else ORIGINS[found.origin]


def _piece(key: int, address: str) -> Labelled:
    seen = piece(key)
    said, on = _last_proof(seen)
    face = piece_face(
        seen.piece.code, address, _words(seen.part), serial=seen.piece.serial, standing=seen.standing.word,
        proved_by=said, proved_on=on, proved_until=seen.standing.valid_until,
    )  # fmt: skip
    return Labelled("piece", key, f"Piece {seen.piece.shown_as}, {seen.part.name}", face)


def _last_proof(seen: PieceSeen) -> tuple[str, date | None]:
    """Return what a proved piece was last proved by, and when; nothing of a piece that is not proved."""
    if seen.standing.word != "proved":
        return "", None
    passed = proofs(piece_id=seen.piece.id, passed=True, limit=50).items
    last = next((one for one in passed if one.struck is None), None)
    if last is None:
        return "", None
    return last.procedure or f"ran in job {last.job_number}", last.at.date()


def _job(key: int, address: str) -> Labelled:
    seen = job(key)
    face = job_face(
        seen.code, address, f"Job {seen.number}", seen.unit_model, fault=seen.symptom, received=seen.opened.date(),
        promised=seen.promised,
    )  # fmt: skip
    return Labelled("job", key, f"Job {seen.number}", face)


# ---- what there is to choose from ------------------------------------------------------------------------

RECENT = 40


@dataclass(frozen=True)
class ToChoose:
    """Things that often want a label: bins in use, the newest lots, spares, open jobs."""

    bins: tuple[BinRecord, ...]
    parts: Mapping[int, str]  # names of the parts of those bins
    lots: tuple[tuple[LotRecord, PartRecord], ...]
    pieces: tuple[tuple[PieceRecord, PartRecord], ...]
    jobs: tuple[JobRecord, ...]


def to_choose() -> ToChoose:
    """Gather what a label is often printed for."""
    named = Bin.select().where(~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.name)
    parts = Part.select(Part.id, Part.name).where(Part.id << Bin.select(Bin.part).where(~Bin.retired))
    newest = Lot.select(Lot, Part).join(Part).order_by(Lot.id.desc()).limit(RECENT)
    kept = Piece.select(Piece, Part).join(Part).where(Piece.bin.is_null(False)).order_by(Piece.id.desc())
    return ToChoose(
        tuple(read(BinRecord, one) for one in named),
        {one.id: one.name for one in parts},
        tuple((read(LotRecord, one), read(PartRecord, one.part)) for one in newest),
        tuple((read(PieceRecord, one), read(PartRecord, one.part)) for one in kept.limit(RECENT)),
        tuple(jobs(status="not closed", limit=RECENT).items),
    )
