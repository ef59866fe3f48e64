"""Plain records that the activities answer with; pages, API and command line read nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from functools import cache
from typing import Any, TypeVar

from shared.codes import name_or_code

R = TypeVar("R")


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

    id: int
    name: str
    shown_as: str
    role: str
    active: bool
    job_in_hand_id: int | None
    created: datetime
    version: int


@dataclass(frozen=True)
class TokenRecord:
    """A program's key; ``secret`` is there only in the answer that made it."""

    id: int
    person_id: int
    label: str
    created: datetime
    last_used: datetime | None
    revoked: datetime | None
    secret: str | None = None


@dataclass(frozen=True)
class PartRecord:
    """A kind of thing that can be stocked."""

    id: int
    number: str
    name: str
    kind: str
    kept: str
    unit: str
    maker: str
    maker_number: str
    attributes: dict[str, Any]
    hazards: list[str]
    caution: str
    note: str
    level: int | None
    target: float | None
    rated_matings: int | None
    catalogued: datetime
    catalogued_for_id: int | None
    retired: bool
    version: int
    promise: str | None = None


@dataclass(frozen=True)
class SubstituteRecord:
    """What may be used instead of a part, and how it differs."""

    part: PartRecord
    differs: str
    on_shelf: int


@dataclass(frozen=True)
class UnitModelRecord:
    """A model of device that customers bring."""

    id: int
    name: str
    maker: str
    note: str


@dataclass(frozen=True)
class LessonRecord:
    """A sentence worth seeing again."""

    id: int
    text: str
    part_id: int | None
    unit_model_id: int | None
    job_id: int | None
    at: datetime
    person: str


@dataclass(frozen=True)
class BinRecord:
    """A place with a label; ``name`` is empty until the label is put to use."""

    id: int
    code: str
    name: str | None
    part_id: int | None
    mixed: bool
    walk: int
    note: str
    retired: bool
    version: int

    @property
    def shown_as(self) -> str:
        """What people call this bin."""
        return name_or_code(self.name, self.code)


@dataclass(frozen=True)
class LotRecord:
    """What arrived together from one origin."""

    id: int
    code: str
    part_id: int
    origin: str
    origin_note: str
    supplier_id: int | None
    order_line_id: int | None
    job_id: int | None
    donor_worked: bool | None
    received: datetime
    quantity: int
    cost_minor: int | None
    maker_lot: str
    date_code: str
    best_before: date | None
    opened: date | None
    open_until: date | None
    raw_code: str
    note: str
    on_hold: bool
    version: int

    @property
    def until(self) -> date | None:
        """The last good day: best before, or the end of its life after opening if that is sooner."""
        return min((day for day in (self.best_before, self.open_until) if day is not None), default=None)


@dataclass(frozen=True)
class HoldRecord:
    """A time in which nobody may pull from a lot."""

    id: int
    lot_id: int
    reason: str
    person: str
    at: datetime
    ended: datetime | None
    ended_by: str
    outcome: str
    condemned: bool = False  # ended by scrapping the rest: what comes back stays on hold


@dataclass(frozen=True)
class PieceRecord:
    """One individually known unit."""

    id: int
    code: str
    part_id: int
    lot_id: int
    bin_id: int | None
    serial: str
    name: str
    spare: bool
    matings: int
    note: str
    created: datetime
    version: int

    @property
    def shown_as(self) -> str:
        """What people call this piece."""
        return name_or_code(self.name, self.code)


@dataclass(frozen=True)
class JobRecord:
    """One customer's repair."""

    id: int
    code: str
    number: str
    unit_model_id: int | None
    unit_model: str
    unit_serial: str
    customer: str
    symptom: str
    status: str
    waiting_for: str
    opened: datetime
    promised: date | None
    closed: datetime | None
    found: str
    note: str
    version: int

    @property
    def title(self) -> str:
        """What the job is about, in a few words."""
        return " · ".join(part for part in (self.unit_model, self.symptom) if part)


@dataclass(frozen=True)
class NeedRecord:
    """What a job wants of a part; ``missing`` is still to be taken."""

    id: int
    job_id: int
    part: PartRecord
    quantity: int
    taken: int
    dropped: bool
    on_shelf: int

    @property
    def missing(self) -> int:
        """How many are still to be taken."""
        return 0 if self.dropped else max(0, self.quantity - self.taken)


@dataclass(frozen=True)
class SuspectRecord:
    """What might be wrong in a job."""

    id: int
    job_id: int
    name: str
    part_id: int | None
    verdict: str
    at: datetime
    mask: float | None  # P(unit seen working | this is bad), where its fault comes and goes


@dataclass(frozen=True)
class MovementRecord:
    """One line of the ledger, with the names of what it is about."""

    id: int
    entry: int
    at: datetime
    kind: str
    part_id: int
    part_number: str
    part_name: str
    unit: str
    lot_id: int
    lot_code: str
    bin_id: int
    bin_name: str
    piece_id: int | None
    piece_name: str
    quantity: int
    job_id: int | None
    job_number: str
    person: str
    reason: str
    one_off: bool
    reverses_id: int | None
    reversed: bool
    digest: str


@dataclass(frozen=True)
class Holding:
    """So many loose units of one lot in one bin."""

    bin: BinRecord
    lot: LotRecord
    quantity: int


@dataclass(frozen=True)
class ActionResult:
    """An action that was carried out: its entry in the ledger, a sentence, and what to watch."""

    entry: int
    sentence: str
    part_id: int
    quantity: int
    bin_id: int | None = None
    lot_ids: tuple[int, ...] = ()
    piece_ids: tuple[int, ...] = ()
    job_id: int | None = None
    left_in_bin: int | None = None
    warnings: tuple[str, ...] = ()
    made_lot: LotRecord | None = None
    made_pieces: tuple[PieceRecord, ...] = ()


@dataclass(frozen=True)
class SearchHit:
    """One find of the search field."""

    what: str  # part, bin, lot, piece, job, order, unit model
    id: int
    title: str
    detail: str = ""
    code: str = ""
    name: str = ""  # what the bench calls it, where no other of its kind is called so


@dataclass(frozen=True)
class ResolvedCode:
    """What a scanned or typed code stands for."""

    what: str
    id: int
    code: str


@dataclass(frozen=True)
class StockTotals:
    """How much there is of a part, in base units."""

    on_shelf: int = 0  # loose, not on hold, plus pieces that are there to be fitted
    on_hold: int = 0
    spares: int = 0  # pieces kept to test with
    out: int = 0  # of the spares, lent now
    promised: int = 0  # to open jobs, not yet taken
    on_order: int = 0

    @property
    def position(self) -> int:
        """On the shelf, plus on order, less promised: what the reorder rule looks at."""
        return self.on_shelf + self.on_order - self.promised
