"""Which label a bin, lot, piece, job or shelf end gets: from records to the faces that ``labels`` draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.domain.catalogue.bins import add_blank_bins
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import BinRecord, JobRecord, LotRecord, PartRecord, PieceRecord, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.jobs.jobs import job, jobs
from inventory.domain.proof.pieces import piece
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.proofs import proofs
from inventory.store.tables import Bin, Lot, Part, Piece, Supplier
from labels.content.label_content import (
    LabelContent,
    PartContent,
    bin_label,
    blank_label,
    job_label,
    lot_label,
    piece_label,
    shelf_end_label,
    shelf_label,
)
from labels.content.part_content import build_part_content

LABEL_KINDS = ("bin", "lot", "piece", "job", "shelf")
MAX_LABELS = 1000  # labels in one go; more is a slip of the finger
ORIGIN_TEXTS = {"delivery": "Delivered", "donor": "From a donor unit", "left over": "Left over", "found": "Found"}


@dataclass(frozen=True)
class ThingLabel:
    """A thing that is to get a label: what it is, what people call it, and the face of its label."""

    what: str
    id: int
    words: str
    face: LabelContent


def labels_for(things: Sequence[tuple[str, int]], address: str) -> list[ThingLabel]:
    """Return the labels of some things (pairs such as ("bin", 3)), whose symbols start with *address*.

    Raises NotFound for a thing there is not, Invalid for more than 1000 or for what gets no label.
    """
    if len(things) > MAX_LABELS:
        raise Invalid(f"{len(things)} labels are too many at a time: print at most {MAX_LABELS}.", reason="too_many")
    return [_label_maker(what)(key, address) for what, key in things]


def label_face(what: str, key: int, address: str) -> LabelContent:
    """Return the face of one thing's label."""
    return labels_for([(what, key)], address)[0].face


def create_blank_labels(number: int) -> list[tuple[str, int]]:
    """Make *number* (1 to 500) bin labels that are put to use later; return them as things to be labelled."""
    return [("bin", bin_.id) for bin_ in add_blank_bins(number)]


def blank_labels_between(first: int, last: int) -> list[tuple[str, int]]:
    """Return the labels not put to use yet that were made from *first* to *last*, as things to be labelled."""
    rows = Bin.select(Bin.id).where(Bin.id.between(first, last), Bin.name.is_null(), ~Bin.retired).order_by(Bin.id)
    return [("bin", row.id) for row in rows.limit(MAX_LABELS)]


def _label_maker(what: str) -> Any:
    kinds = {
        "bin": _bin_label,
        "lot": _lot_label,
        "piece": _piece_label,
        "job": _job_label,
        "shelf": _shelf_end_label,
    }
    if what not in kinds:
        raise Invalid(f"A {what[:20]} gets no label: choose a {', '.join(LABEL_KINDS[:-1])} or {LABEL_KINDS[-1]}.")
    return kinds[what]


def _part_words(part: PartRecord) -> PartContent:
    return build_part_content(part.name, part.kind, part.attributes, part.hazards)


def _part_record(part_id: int) -> PartRecord:
    return from_row(PartRecord, Part.get_by_id(part_id))


def _bin_label(key: int, address: str) -> ThingLabel:
    bin_ = from_row(BinRecord, get_row(Bin, key, "bin"))
    if bin_.name is None:
        return ThingLabel("bin", key, "blank bin label", blank_label(bin_.code, address))
    part = None if bin_.part_id is None else _part_words(_part_record(bin_.part_id))
    return ThingLabel("bin", key, f"Bin {bin_.name}", bin_label(bin_.code, address, bin_.name, part, note=bin_.note))


def _shelf_end_label(key: int, address: str) -> ThingLabel:
    """Label the end of a shelf, or the front of a drawer, by the bin that stands there."""
    bin_ = from_row(BinRecord, get_row(Bin, key, "bin"))
    if bin_.name is None:
        return _bin_label(key, address)
    if bin_.part_id is None:
        face = shelf_label(bin_.code, address, bin_.name, note=bin_.note)
        return ThingLabel("shelf", key, f"Shelf end {bin_.name}", face)
    part = _part_record(bin_.part_id)
    face = shelf_end_label(bin_.code, address, _part_words(part), number=part.number, place=f"Bin {bin_.name}")
    return ThingLabel("shelf", key, f"Shelf end of {part.name}", face)


def _lot_label(key: int, address: str) -> ThingLabel:
    lot = from_row(LotRecord, get_row(Lot, key, "lot"))
    part = _part_record(lot.part_id)
    face = lot_label(
        lot.code, address, _part_words(part), received=lot.received.date(), origin=_origin_text(lot),
        quantity=quantity_text(lot.quantity, part), supplier_lot=lot.maker_lot, date_code=lot.date_code,
        best_before=lot.best_before,
    )  # fmt: skip
    return ThingLabel("lot", key, f"Lot of {part.name}", face)


def _origin_text(lot: LotRecord) -> str:
    supplier = None if lot.supplier_id is None else Supplier.get_or_none(Supplier.id == lot.supplier_id)
    return str(supplier.name) if supplier else ORIGIN_TEXTS[lot.origin]


def _piece_label(key: int, address: str) -> ThingLabel:
    status = piece(key)
    proved_by, proved_on = _last_proof(status)
    face = piece_label(
        status.piece.code, address, _part_words(status.part), serial=status.piece.serial,
        standing=status.standing.word, proved_by=proved_by, proved_on=proved_on,
        proved_until=status.standing.valid_until,
    )  # fmt: skip
    return ThingLabel("piece", key, f"Piece {status.piece.shown_as}, {status.part.name}", face)


def _last_proof(status: PieceStatus) -> tuple[str, date | None]:
    """Return what a proved piece was last proved by, and when; nothing of a piece that is not proved."""
    if status.standing.word != "proved":
        return "", None
    passed = proofs(piece_id=status.piece.id, passed=True, limit=50).items
    last = next((proof for proof in passed if proof.struck is None), None)
    if last is None:
        return "", None
    return last.procedure or f"ran in job {last.job_number}", last.at.date()


def _job_label(key: int, address: str) -> ThingLabel:
    record = job(key)
    face = job_label(
        record.code, address, f"Job {record.number}", record.unit_model, fault=record.symptom,
        received=record.opened.date(), promised=record.promised,
    )  # fmt: skip
    return ThingLabel("job", key, f"Job {record.number}", face)


# ---- what there is to choose from ------------------------------------------------------------------------

MAX_RECENT = 40


@dataclass(frozen=True)
class LabelChoices:
    """Things that often want a label: bins in use, the newest lots, spares, open jobs."""

    bins: tuple[BinRecord, ...]
    parts: Mapping[int, str]  # names of the parts of those bins
    lots: tuple[tuple[LotRecord, PartRecord], ...]
    pieces: tuple[tuple[PieceRecord, PartRecord], ...]
    jobs: tuple[JobRecord, ...]


def label_choices() -> LabelChoices:
    """Gather what a label is often printed for."""
    named = Bin.select().where(~Bin.retired, Bin.name.is_null(False)).order_by(Bin.walk, Bin.name)
    parts = Part.select(Part.id, Part.name).where(Part.id << Bin.select(Bin.part).where(~Bin.retired))
    newest = Lot.select(Lot, Part).join(Part).order_by(Lot.id.desc()).limit(MAX_RECENT)
    pieces = Piece.select(Piece, Part).join(Part).where(Piece.bin.is_null(False)).order_by(Piece.id.desc())
    return LabelChoices(
        tuple(from_row(BinRecord, row) for row in named),
        {part.id: part.name for part in parts},
        tuple((from_row(LotRecord, row), from_row(PartRecord, row.part)) for row in newest),
        tuple((from_row(PieceRecord, row), from_row(PartRecord, row.part)) for row in pieces.limit(MAX_RECENT)),
        tuple(jobs(status="not closed", limit=MAX_RECENT).items),
    )
