"""At a lot: where it came from, what is left of it and where, which jobs got some; and the list of lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.incoming_records import IncomingRecord
from inventory.domain.buying.order_records import OrderRecord, SupplierRecord
from inventory.domain.buying.orders import order
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.parts import part
from inventory.domain.common.records import HoldRecord, LotRecord, Page, PartRecord, read
from inventory.domain.movements.overview import LotLook, look_at_lot
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.standings import see
from inventory.domain.quality.attachments import attachments
from inventory.domain.quality.incoming_testing import checks
from inventory.domain.quality.recall import alike, recall
from inventory.domain.quality.sent_back import all_sent_back
from inventory.domain.quality.sent_back_records import SentBackRecord
from inventory.domain.quality.trace import trace_lot
from inventory.domain.quality.trace_records import Alike, AttachmentRecord, LotTrace, Recall
from inventory.domain.reorder.stock_dates import LotDates, dates_of
from inventory.domain.stocktake.level_readings import ReadingOfLevel, WayRecord, readings, way
from inventory.pages.quality.sent_back_screen import sellers
from inventory.store.job_use import standing_lines
from inventory.store.tables import OrderLine, Part, Supplier

MOST_PIECES = 200


@dataclass(frozen=True)
class AtLot:
    """A lot as its page shows it. ``in_jobs`` to ``otherwise`` say where all of it went, in base units."""

    look: LotLook
    hold: HoldRecord | None  # while it is on hold
    pieces: tuple[PieceSeen, ...]
    order: OrderRecord | None
    in_jobs: int
    sent_back: int
    scrapped: int
    otherwise: int  # used for the bench itself, or missing at a count
    undone: bool  # its receipt was undone
    trace: LotTrace
    files: tuple[AttachmentRecord, ...]
    recall: Recall | None  # once it was on hold
    dates: LotDates
    way: WayRecord
    readings: tuple[ReadingOfLevel, ...]  # of a lot kept by level
    checks: tuple[IncomingRecord, ...]  # when it came in, and later; the newest first
    returns: tuple[SentBackRecord, ...]  # what went back to its supplier


def at_lot(lot_id: int) -> AtLot:
    """Gather where a lot came from and where it went."""
    look = look_at_lot(lot_id)
    in_jobs, trace = sum(one.quantity for one in look.jobs), trace_lot(lot_id)
    off = trace.sent_back + trace.scrapped
    line = None if look.lot.order_line_id is None else OrderLine.get_by_id(look.lot.order_line_id)
    undone = _receipt_undone(lot_id)
    return AtLot(
        look, next((one for one in look.holds if one.ended is None), None),
        tuple(see([one.id for one in look.pieces[:MOST_PIECES]])), None if line is None else order(line.order_id),
        in_jobs, trace.sent_back, trace.scrapped,
        0 if undone else max(0, look.lot.quantity - look.left - in_jobs - off), undone,
        trace, tuple(attachments(lot_id)), recall(lot_id) if look.holds else None, dates_of(lot_id),
        way(look.part.id), tuple(readings(lot_id, 12)), tuple(checks(lot_id=lot_id).items),
        tuple(all_sent_back(lot_id=lot_id).items),
    )  # fmt: skip


@dataclass(frozen=True)
class AtRecall:
    """The list of a recall, and the lots that may be no better."""

    recall: Recall
    alike: tuple[Alike, ...]
    suppliers: tuple[SupplierRecord, ...]  # to whom the rest may go back


def at_recall(lot_id: int) -> AtRecall:
    """Gather what working through a recall needs."""
    return AtRecall(recall(lot_id), tuple(alike(lot_id)), sellers())


@dataclass(frozen=True)
class LotHistory:
    """A lot with lines of the ledger about it, newest first."""

    lot: LotRecord
    part: PartRecord
    lines: Page


def lot_history(lot_id: int, after: str | None = None) -> LotHistory:
    """Return all that happened to a lot, a page at a time."""
    found = lots.lot(lot_id)
    return LotHistory(found, part(found.part_id), movements(lot_id=lot_id, after=after, limit=100))


def _receipt_undone(lot_id: int) -> bool:
    return not standing_lines(lot_id, "receive")


# ---- the list --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ListedLot:
    """A lot of the list, with its part, who it came from, and how much is left."""

    lot: LotRecord
    part: PartRecord
    supplier: str
    left: int


@dataclass(frozen=True)
class LotList:
    """Some lots, the mark from which the next ones follow, and the part they were narrowed to."""

    lots: tuple[ListedLot, ...]
    next: str | None
    part: PartRecord | None


def lot_list(
    *, part_id: int | None = None, on_hold: bool = False, maker_lot: str = "", after: str | None = None
) -> LotList:
    """Return lots, newest first, narrowed by part, by hold and by the maker's lot."""
    page = lots.lots(part_id=part_id, on_hold=on_hold or None, maker_lot=maker_lot, after=after or None, limit=50)
    return LotList(tuple(_listed(page.items)), page.next, None if part_id is None else part(part_id))


def _listed(found: Sequence[LotRecord]) -> list[ListedLot]:
    ids = [one.id for one in found]
    parts = {one.id: read(PartRecord, one) for one in Part.select().where(Part.id << {one.part_id for one in found})}
    names = {one.id: one.name for one in Supplier.select().where(Supplier.id << {one.supplier_id for one in found})}
    left = lots.left_of(ids)
    return [
        ListedLot(one, parts[one.part_id], names.get(one.supplier_id or 0, ""), left.get(one.id, 0)) for one in found
    ]
