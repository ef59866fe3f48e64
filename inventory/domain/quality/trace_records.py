"""Plain records of provenance: where a lot came from, where it went, what a job was made of, how a recall stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from inventory.domain.common.described import About, Sent
from inventory.domain.common.records import (
    MAX_UNITS,
    BinRecord,
    HoldRecord,
    JobRecord,
    LotRecord,
    PartRecord,
    PieceRecord,
)
from inventory.domain.proof.proof_records import LoanRecord, PieceStatus, ProofRecord

ATTACHMENT_KINDS = ("certificate", "photo")
EXTENSION_BY_MEDIA_TYPE = {"image/png": "png", "image/jpeg": "jpg", "image/webp": "webp", "application/pdf": "pdf"}


@dataclass(frozen=True)
class LotOrigin:
    """Where a lot came from, in words, with what those words name."""

    words: Annotated[str, "In a few words."]
    told: Annotated[str, "In sentences."]
    supplier_id: Annotated[int | None, "The supplier."] = None
    order_id: Annotated[int | None, "The order."] = None
    order_number: Annotated[str, "The order's number."] = ""
    job_id: Annotated[int | None, "The job whose unit gave it, or that left it over."] = None


@dataclass(frozen=True)
class ReachedJob:
    """A job that something of a lot reached: base units fitted in it, and pieces that it only borrowed or ran."""

    job: Annotated[JobRecord, "The job."]
    quantity: Annotated[int, About("How many are fitted in it, in base units.", maximum=MAX_UNITS)]
    borrowed: Annotated[tuple[PieceRecord, ...], "Pieces that it borrowed or ran, and did not keep."] = ()

    @property
    def open(self) -> bool:
        """Tell whether the unit is still at the bench."""
        return self.job.status != "closed"


@dataclass(frozen=True)
class RemainingInBin:
    """What is left of a lot in one bin: loose base units, and pieces."""

    bin: Annotated[BinRecord, "The bin."]
    quantity: Annotated[int, About("Loose base units.", maximum=MAX_UNITS)]
    pieces: Annotated[int, About("Pieces with labels of their own.", maximum=MAX_UNITS)]


@dataclass(frozen=True)
class LotTrace:
    """A lot both ways: its origin, every job it reached, every piece made from it, what is left and where.

    ``sent_back`` (to its supplier), ``scrapped`` and ``otherwise`` (used for the bench itself, or missing at a count)
    are in base units.
    """

    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part it is of."]
    origin: Annotated[LotOrigin, "Where it came from."]
    jobs: Annotated[tuple[ReachedJob, ...], "The jobs it reached, those still open first."]
    pieces: tuple[PieceStatus, ...]
    places: Annotated[tuple[RemainingInBin, ...], "What is left, and where."]
    sent_back: Annotated[int, About("How much went back to its supplier.", maximum=MAX_UNITS)]
    scrapped: Annotated[int, About("How much was scrapped.", minimum=-MAX_UNITS, maximum=MAX_UNITS)]
    otherwise: Annotated[
        int, About("How much was used for the bench itself, or was missing at a count.", maximum=MAX_UNITS)
    ]

    @property
    def left(self) -> Annotated[int, About(maximum=MAX_UNITS)]:
        """How much is left, in base units."""
        return sum(place.quantity + place.pieces for place in self.places)


@dataclass(frozen=True)
class UsedLot:
    """What a job has of one lot, and what that cost; ``pieces`` are those of it with a label of their own."""

    part: Annotated[PartRecord, "The part."]
    lot: Annotated[LotRecord, "The lot."]
    origin: Annotated[LotOrigin, "Where the lot came from."]
    quantity: Annotated[int, About("How many, in base units.", maximum=MAX_UNITS)]
    cost_minor: Annotated[int | None, About("Its share of what the lot cost, in minor units.", maximum=None)]
    pieces: Annotated[tuple[PieceRecord, ...], "Those of it with labels of their own."]


@dataclass(frozen=True)
class JobTrace:
    """A job back to where everything in it came from."""

    job: Annotated[JobRecord, "The job."]
    used: Annotated[tuple[UsedLot, ...], "What it used, by lot."]
    borrowed: tuple[LoanRecord, ...]
    proved: tuple[ProofRecord, ...]
    proved_names: tuple[str, ...]  # what the pieces of ``proved`` are called

    @property
    def cost_minor(self) -> Annotated[int, About(maximum=None)]:
        """What the parts cost, as far as it is known, in minor units."""
        return sum(one.cost_minor or 0 for one in self.used)


@dataclass(frozen=True)
class RecallLine:
    """A job that a lot on hold reached, and who saw to it (None: nobody yet)."""

    job: Annotated[JobRecord, "The job, with the customer and the unit."]
    quantity: Annotated[int, About("How many are fitted in it, in base units.", maximum=MAX_UNITS)]
    borrowed: Annotated[tuple[PieceRecord, ...], "Pieces that it borrowed or ran, and did not keep."]
    seen_to: Annotated[datetime | None, "When somebody saw to it; null: nobody yet."]
    person: Annotated[str, "Who saw to it."]
    note: Annotated[str, "What was done."]


@dataclass(frozen=True)
class Recall:
    """The list of jobs to be seen to because of a lot; it is worked through while ``hold`` lasts."""

    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part it is of."]
    hold: Annotated[HoldRecord, "The hold that the list belongs to."]
    lines: Annotated[tuple[RecallLine, ...], "The jobs, those still open first."]
    left: Annotated[int, About("How much is left, in base units.", maximum=MAX_UNITS)]

    @property
    def to_do(self) -> int:
        """How many jobs nobody has seen to."""
        return sum(line.seen_to is None for line in self.lines)


@dataclass(frozen=True)
class SimilarLot:
    """Another lot that may have the same fault, and why it is thought so."""

    lot: Annotated[LotRecord, "The lot."]
    part: Annotated[PartRecord, "The part it is of."]
    why: Annotated[str, "Why it is thought so."]
    left: Annotated[int, About("How much is left, in base units.", maximum=MAX_UNITS)]
    jobs: Annotated[int, "How many jobs it reached."]


@dataclass(frozen=True)
class AttachmentRecord:
    """A certificate or photo of a lot."""

    id: Annotated[int, "Its id."]
    lot_id: Annotated[int, "The lot."]
    kind: Annotated[str, About("What it is.", choices=ATTACHMENT_KINDS), Sent(edit=False, default="photo")]
    name: Annotated[
        str,
        "What it is called.",
        Sent("What the file is called.", edit=False, maximum=300, default="", example="certificate.pdf"),
    ]
    media: Annotated[str, About("Its media type, found out from its bytes.", choices=tuple(EXTENSION_BY_MEDIA_TYPE))]
    size: Annotated[int, "Its size in bytes."]
    digest: Annotated[str, "SHA-256 of its bytes."]
    at: Annotated[datetime, "When it was kept."]
    person: Annotated[str, "Who kept it."]
