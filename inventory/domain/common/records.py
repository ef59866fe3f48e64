"""Plain records that the activities answer with; pages, API and command line read nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from functools import cache
from typing import Annotated, Any, TypeVar

from inventory.domain.common.described import About, Sent, chance
from inventory.domain.common.validation import KEPT_MODES, LOT_ORIGINS, MAX_QUANTITY, PART_KINDS, PROMISES
from inventory.reckoning.stock.shelf_life import last_good_day
from inventory.store.ledger import MOVEMENT_KINDS
from shared.codes import name_or_code
from shared.hazards import HAZARDS
from shared.quantities import UNIT_FACTORS

R = TypeVar("R")

MAX_UNITS = MAX_QUANTITY * 1000  # base units of many movements together
ROLES = ("owner", "tech", "viewer")
JOB_STATUSES = ("open", "waiting", "closed")

_PROMISE_HELP = (
    "What its stock promises: nothing runs dry before the next delivery, or the next job finds all it wants; "
    "null: what the shop promises."
)


def from_row(record: type[R], row: Any, **more: Any) -> R:
    """Fill a *record* from the columns of *row* that have its fields' names; *more* gives the others."""
    wanted = [name for name in _field_names(record) if name not in more]  # type: ignore[arg-type]
    return record(**{name: getattr(row, name) for name in wanted if hasattr(row, name)}, **more)


@cache
def _field_names(record: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(record))


@dataclass(frozen=True)
class ResultPage:
    """Some records of a list, and the mark from which the next ones follow (None: that was all)."""

    items: Sequence[Any]
    next: str | None = None


@dataclass(frozen=True)
class PersonRecord:
    """Somebody who may sign in."""

    id: Annotated[int, "Their id."]
    name: Annotated[
        str,
        "What they sign in as.",
        Sent(
            "What they sign in as: letters, digits, dots and dashes.",
            edit=False,
            minimum=1,
            maximum=60,
            required=True,
            example="ines",
        ),
    ]
    shown_as: Annotated[
        str,
        "What pages call them.",
        Sent("What pages call them; left out: their name.", edit=False, maximum=80, default=""),
    ]
    role: Annotated[str, About("What they may do.", choices=ROLES), Sent(required=True)]
    active: Annotated[bool, "They may sign in.", Sent(add=False)]
    job_in_hand_id: Annotated[int | None, "The job they work on."]
    created: Annotated[datetime, "When they were added."]
    version: Annotated[int, "Counts the edits."]


@dataclass(frozen=True)
class TokenRecord:
    """A program's key; ``secret`` is there only in the answer that made it."""

    id: Annotated[int, "Its id."]
    person_id: Annotated[int, "Whom the program acts as.", Sent(edit=False, required=True)]
    label: Annotated[
        str,
        "What the program is.",
        Sent(edit=False, minimum=1, maximum=80, required=True, example="label printer at bench 2"),
    ]
    created: Annotated[datetime, "When it was made."]
    last_used: Annotated[datetime | None, "When it was last used, to the hour."]
    revoked: Annotated[datetime | None, "When it was ended."]
    secret: Annotated[
        str | None, About("Send it as Authorization: Bearer ... It is shown here and never again.", nullable=False)
    ] = None


@dataclass(frozen=True)
class PartRecord:
    """A kind of thing that can be stocked."""

    id: Annotated[int, "Its id."]
    number: Annotated[
        str, About("The shop's own number.", example="CN-0412"), Sent(minimum=1, maximum=60, required=True)
    ]
    name: Annotated[
        str,
        "What it is called.",
        Sent(minimum=1, maximum=400, required=True, example="4-way 2.0 mm wire-to-board header"),
    ]
    kind: Annotated[str, About("Its kind.", choices=PART_KINDS), Sent(required=True)]
    kept: Annotated[
        str,
        About("How it is kept.", choices=KEPT_MODES),
        Sent(
            "How it is kept: counted in bins, each piece with its own label, or by a level read now and then.",
            default="counted",
        ),
    ]
    unit: Annotated[
        str,
        About("Its base unit, in which every quantity of it is.", choices=tuple(UNIT_FACTORS)),
        Sent("Its base unit.", default="piece"),
    ]
    maker: Annotated[str, "Who makes it.", Sent(maximum=120, default="")]
    maker_number: Annotated[str, "The maker's number.", Sent(maximum=120, default="")]
    attributes: Annotated[
        dict[str, Any],
        "Trade attributes of its kind.",
        Sent(
            "Trade attributes of its kind; GET /api/v1/kinds says which.",
            example={"pitch_mm": 2.0, "ways": 4, "gender": "header"},
        ),
    ]
    hazards: Annotated[
        list[str],
        "What to mind, by key: see GET /api/v1/hazards.",
        Sent(f"What to mind, of: {', '.join(HAZARDS)}. Left out when adding: what the kind implies.", maximum=20),
    ]
    caution: Annotated[
        str, "A caution of its own.", Sent("A caution of its own, shown first.", maximum=500, default="")
    ]
    note: Annotated[str, "What else to know.", Sent(maximum=5000, default="")]
    level: Annotated[int | None, "How many the owner wants kept; null: worked out.", Sent()]
    target: Annotated[
        float | None, chance("How often its promise is to hold; null: the shop's."), Sent(minimum=0.5, maximum=0.999)
    ]
    promise: Annotated[str | None, About(_PROMISE_HELP, choices=PROMISES), Sent()]
    rated_matings: Annotated[
        int | None,
        "How often its connector may be mated.",
        Sent("How often its connector may be mated, by the data sheet.", minimum=1),
    ]
    catalogued: Annotated[datetime, "When it was added."]
    catalogued_for_id: Annotated[int | None, "The job that caused it."]
    retired: Annotated[bool, "No longer stocked.", Sent(add=False)]
    version: Annotated[int, "Counts its edits."]


@dataclass(frozen=True)
class SubstituteRecord:
    """What may be used instead of a part, and how it differs."""

    part: Annotated[PartRecord, "The part that may be used instead."]
    differs: Annotated[str, "How it differs.", Sent(maximum=300, default="", example="wires are 20 mm longer")]
    on_shelf: Annotated[int, "How many of it are on the shelf."]


@dataclass(frozen=True)
class UnitModelRecord:
    """A model of device that customers bring."""

    id: Annotated[int, "Its id."]
    name: Annotated[
        str,
        About("What it is called.", example="Corvid 7 moving head"),
        Sent(edit=False, minimum=1, maximum=120, required=True),
    ]
    maker: Annotated[str, "Who makes it."]
    note: Annotated[str, "What to know about it."]


@dataclass(frozen=True)
class LessonRecord:
    """A sentence worth seeing again."""

    id: Annotated[int, "Its id."]
    text: Annotated[str, "The sentence.", Sent(edit=False, minimum=1, maximum=1000, required=True)]
    part_id: Annotated[int | None, "The part it is about.", Sent(edit=False)]
    unit_model_id: Annotated[int | None, "The unit model it is about.", Sent(edit=False)]
    job_id: Annotated[int | None, "The job that taught it.", Sent(edit=False)]
    at: Annotated[datetime, "When it was noted."]
    person: Annotated[str, "Who noted it."]


@dataclass(frozen=True)
class BinRecord:
    """A place with a label; ``name`` is empty until the label is put to use."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, About("What its label says.", example="B7KM4Q2XR")]
    name: Annotated[
        str | None,
        "What it is called; null until its label is put to use.",
        Sent("What it is called.", minimum=1, maximum=60, required=True, nullable=False, example="A-03"),
    ]
    part_id: Annotated[int | None, "The part it is for.", Sent("The part it is for; null: what comes first.")]
    mixed: Annotated[bool, "It is for several parts.", Sent(default=False)]
    walk: Annotated[int, "Its place in the count walk.", Sent(maximum=1_000_000, default=0)]
    note: Annotated[str, "What to know about it.", Sent(maximum=1000, default="")]
    retired: Annotated[bool, "No longer used.", Sent("No longer used; it must be empty.", add=False)]
    version: Annotated[int, "Counts its edits."]

    @property
    def shown_as(self) -> str:
        """What people call this bin."""
        return name_or_code(self.name, self.code)


@dataclass(frozen=True)
class LotRecord:
    """What arrived together from one origin."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, About("What its label says.", example="L4Q2XRB7K")]
    part_id: Annotated[int, "The part it is of."]
    origin: Annotated[str, About("Where it came from.", choices=LOT_ORIGINS)]
    origin_note: Annotated[str, "Where it came from, in words.", Sent(add=False, maximum=300)]
    supplier_id: Annotated[int | None, "Who delivered it."]
    order_line_id: Annotated[int | None, "The order line it was asked for on."]
    job_id: Annotated[int | None, "The job whose unit gave it, or that left it over."]
    received: Annotated[datetime, "When it came in."]
    quantity: Annotated[int, "How many came in, in base units."]
    cost_minor: Annotated[
        int | None, About("What all of it cost, in minor units.", maximum=None), Sent(add=False, maximum=MAX_QUANTITY)
    ]
    maker_lot: Annotated[str, "The maker's lot.", Sent(add=False, maximum=80)]
    date_code: Annotated[str, "The date code on the bag.", Sent(add=False, maximum=20)]
    best_before: Annotated[date | None, "Use it before the end of this day.", Sent(add=False)]
    opened: Annotated[date | None, "The day it was opened."]
    open_until: Annotated[date | None, "The last good day once opened; the sooner of this and best_before holds."]
    raw_code: Annotated[str, "What the code on the bag said."]
    note: Annotated[str, "What to know about it.", Sent(add=False, maximum=1000)]
    on_hold: Annotated[bool, "Nobody may pull from it."]
    version: Annotated[int, "Counts its edits."]
    donor_worked: bool | None

    @property
    def until(self) -> date | None:
        """The last good day: best before, or the end of its life after opening if that is sooner."""
        return last_good_day(self.best_before, self.open_until)


@dataclass(frozen=True)
class HoldRecord:
    """A time in which nobody may pull from a lot."""

    id: Annotated[int, "Its id."]
    lot_id: Annotated[int, "The lot."]
    reason: Annotated[str, "Why."]
    person: Annotated[str, "Who said so."]
    at: Annotated[datetime, "When it began."]
    ended: Annotated[datetime | None, "When it ended; null: it holds."]
    ended_by: Annotated[str, "Who ended it."]
    outcome: Annotated[str, "What was found."]
    condemned: Annotated[bool, "It ended by scrapping the rest: what comes back stays on hold."] = False


@dataclass(frozen=True)
class PieceRecord:
    """One individually known unit."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, About("What its label says.", example="PX4RC8J2W")]
    part_id: Annotated[int, "The part it is one of."]
    lot_id: Annotated[int, "The lot it came with."]
    bin_id: Annotated[int | None, "Its bin; null: fitted, or thrown away."]
    serial: Annotated[str, "Its serial number.", Sent(add=False, maximum=80)]
    name: Annotated[str, About("What the bench calls it.", example="C-07"), Sent(add=False, maximum=40)]
    spare: Annotated[bool, "Kept to test with, not to fit.", Sent(add=False)]
    matings: Annotated[int, "How often its connector was mated."]
    note: Annotated[str, "What to know about it.", Sent(add=False, maximum=1000)]
    created: Annotated[datetime, "When it became known by itself."]
    version: Annotated[int, "Counts its edits."]

    @property
    def shown_as(self) -> str:
        """What people call this piece."""
        return name_or_code(self.name, self.code)


@dataclass(frozen=True)
class JobRecord:
    """One customer's repair."""

    id: Annotated[int, "Its id."]
    code: Annotated[str, About("What its label says.", example="JX4RC8J2W")]
    number: Annotated[
        str,
        "The shop's number for it.",
        Sent("The shop's number for it; left out: the next one.", minimum=1, maximum=30, example="1042"),
    ]
    unit_model_id: Annotated[int | None, "The model of the unit."]
    unit_model: Annotated[
        str, "What that model is called.", Sent("The model of the unit; a new one is added.", maximum=120, default="")
    ]
    unit_serial: Annotated[str, "The unit's serial number.", Sent(maximum=80, default="")]
    customer: Annotated[str, "Whose it is.", Sent(maximum=120, default="")]
    symptom: Annotated[str, "What it does, or does not.", Sent(maximum=300, default="", example="no pan")]
    status: Annotated[str, About("How it stands.", choices=JOB_STATUSES)]
    waiting_for: Annotated[str, "What it waits for.", Sent(add=False, maximum=300)]
    opened: Annotated[datetime, "When it was opened."]
    promised: Annotated[date | None, "When it was promised for.", Sent()]
    closed: Annotated[datetime | None, "When it was closed."]
    found: Annotated[str, "What it was.", Sent(add=False, maximum=2000)]
    note: Annotated[str, "What else to know.", Sent(maximum=5000, default="")]
    version: Annotated[int, "Counts its edits."]

    @property
    def title(self) -> str:
        """What the job is about, in a few words."""
        return " · ".join(part for part in (self.unit_model, self.symptom) if part)


@dataclass(frozen=True)
class NeedRecord:
    """What a job wants of a part; ``missing`` is still to be taken."""

    id: Annotated[int, "Its id."]
    job_id: Annotated[int, "The job."]
    part: Annotated[PartRecord, "The part."]
    quantity: Annotated[int, "How many it wants in all."]
    taken: Annotated[int, About("How many it has taken.", maximum=None)]
    dropped: Annotated[bool, "It does not want them after all."]
    on_shelf: Annotated[int, About("How many are on the shelf.", maximum=None)]

    @property
    def missing(self) -> int:
        """How many are still to be taken."""
        return 0 if self.dropped else max(0, self.quantity - self.taken)


@dataclass(frozen=True)
class SuspectRecord:
    """What might be wrong in a job."""

    id: Annotated[int, "Its id."]
    job_id: Annotated[int, "The job."]
    name: Annotated[
        str, "What it is.", Sent(edit=False, minimum=1, maximum=120, required=True, example="pan motor driver")
    ]
    part_id: Annotated[int | None, "The part it is.", Sent(edit=False)]
    verdict: Annotated[str, About("bad, good, or empty: not known.", choices=("", "bad", "good"))]
    at: Annotated[datetime, "When it was named."]
    mask: Annotated[float | None, chance("P(unit seen working | it is bad), if its fault comes and goes; else null.")]


@dataclass(frozen=True)
class MovementRecord:
    """One line of the ledger, with the names of what it is about."""

    id: Annotated[int, About("Its number in the ledger.", minimum=1, maximum=None)]
    entry: Annotated[
        int, About("The first line of what was done together; undo takes this.", minimum=1, maximum=None)
    ]
    at: Annotated[datetime, "When it happened."]
    kind: Annotated[str, About("What was done.", choices=MOVEMENT_KINDS)]
    part_id: Annotated[int, "The part."]
    part_number: Annotated[str, "The part's number."]
    part_name: Annotated[str, "What the part is called."]
    unit: Annotated[str, "The part's base unit."]
    lot_id: Annotated[int, "The lot."]
    lot_code: Annotated[str, "The lot's code."]
    bin_id: Annotated[int, "The bin."]
    bin_name: Annotated[str, "What the bin is called."]
    piece_id: Annotated[int | None, "The piece, if one was meant."]
    piece_name: Annotated[str, "What the piece is called."]
    quantity: Annotated[
        int, About("Base units: above zero into the bin, below zero out of it.", minimum=-MAX_QUANTITY)
    ]
    job_id: Annotated[int | None, "The job."]
    job_number: Annotated[str, "The job's number."]
    person: Annotated[str, "Who did it."]
    reason: Annotated[str, "Why."]
    one_off: Annotated[bool, "Not to be expected again."]
    reverses_id: Annotated[int | None, About("The line it undoes.", minimum=1, maximum=None)]
    reversed: Annotated[bool, "It was undone."]
    digest: Annotated[str, "SHA-256 over this line and the digest before it."]


@dataclass(frozen=True)
class Holding:
    """So many loose units of one lot in one bin."""

    bin: Annotated[BinRecord, "The bin."]
    lot: Annotated[LotRecord, "The lot."]
    quantity: Annotated[int, "How many, in base units."]


@dataclass(frozen=True)
class ActionResult:
    """An action that was carried out: its entry in the ledger, a sentence, and what to watch."""

    entry: Annotated[int, About("Its entry in the ledger; undo takes this.", minimum=1, maximum=None)]
    sentence: Annotated[str, "What was done, for people."]
    part_id: Annotated[int, "The part."]
    quantity: Annotated[int, About("Base units; of a count, the difference.", minimum=-MAX_QUANTITY)]
    bin_id: Annotated[int | None, "The bin."] = None
    lot_ids: Annotated[tuple[int, ...], "The lots, in the order in which they were taken."] = ()
    piece_ids: Annotated[tuple[int, ...], "The pieces."] = ()
    job_id: Annotated[int | None, "The job."] = None
    left_in_bin: Annotated[int | None, About("How many are left in the bin.", maximum=None)] = None
    warnings: Annotated[tuple[str, ...], "What to watch, in sentences."] = ()
    made_lot: Annotated[LotRecord | None, About("The lot that was made: print its label.", nullable=False)] = None
    made_pieces: Annotated[tuple[PieceRecord, ...], "The pieces that were made, of a part kept individually."] = ()


@dataclass(frozen=True)
class SearchHit:
    """One find of the search field."""

    what: Annotated[str, "What it is: part, bin, lot, piece, job, order or unit model."]
    id: Annotated[int, "Its id."]
    title: Annotated[str, "What people call it."]
    detail: Annotated[str, "What tells it from others."] = ""
    code: Annotated[str, "Its code, if it has one."] = ""
    name: str = ""  # what the bench calls it, where no other of its kind is called so


@dataclass(frozen=True)
class ResolvedCode:
    """What a scanned or typed code stands for."""

    what: Annotated[str, "What it is: bin, lot, piece, job or order."]
    id: Annotated[int, "Its id."]
    code: Annotated[str, "Its code, without slips."]


@dataclass(frozen=True)
class StockTotals:
    """How much there is of a part, in base units."""

    on_shelf: Annotated[int, "Loose and not on hold, plus pieces that are there to be fitted."] = 0
    on_hold: Annotated[int, "In lots that nobody may pull from."] = 0
    spares: Annotated[int, "Pieces kept to test with."] = 0
    out: Annotated[int, "Pieces lent to jobs now."] = 0
    promised: Annotated[int, "To open jobs, not yet taken."] = 0
    on_order: Annotated[int, "Asked of suppliers and not yet here."] = 0

    @property
    def position(self) -> Annotated[int, About(minimum=None)]:
        """On the shelf, plus on order, less promised."""
        return self.on_shelf + self.on_order - self.promised
