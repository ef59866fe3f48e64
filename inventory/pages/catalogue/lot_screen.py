"""At a lot: where it came from, what is left of it and where, which jobs got some; and the list of lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.buying.order_records import OrderRecord, SupplierRecord
from inventory.domain.buying.orders import order_of_line
from inventory.domain.buying.suppliers import supplier_names
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.parts import part, parts_by_id
from inventory.domain.common.records import HoldRecord, LotRecord, PartRecord, ResultPage
from inventory.domain.movements.overview import LotOverview, lot_overview
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.quality.attachments import attachments
from inventory.domain.quality.incoming_testing import checks
from inventory.domain.quality.recall import recall, similar_lots
from inventory.domain.quality.sent_back import list_sent_back
from inventory.domain.quality.sent_back_records import SentBackRecord
from inventory.domain.quality.trace import trace_lot
from inventory.domain.quality.trace_records import AttachmentRecord, LotTrace, Recall, SimilarLot
from inventory.domain.reorder.stock_dates import LotDates, lot_dates
from inventory.domain.stocktake.level_readings import (
    LevelMethodRecord,
    LevelReadingRecord,
    level_method,
    level_readings,
)
from inventory.pages.quality.sent_back_screen import supplier_choices

MAX_PIECES = 200


@dataclass(frozen=True)
class LotScreen:
    """A lot as its page shows it. ``in_jobs`` to ``otherwise`` say where all of it went, in base units."""

    overview: LotOverview
    hold: HoldRecord | None  # while it is on hold
    pieces: tuple[PieceStatus, ...]
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
    level_method: LevelMethodRecord
    readings: tuple[LevelReadingRecord, ...]  # of a lot kept by level
    checks: tuple[IncomingCheckRecord, ...]  # when it came in, and later; the newest first
    returns: tuple[SentBackRecord, ...]  # what went back to its supplier


def lot_screen(lot_id: int) -> LotScreen:
    """Gather where a lot came from and where it went."""
    overview = lot_overview(lot_id)
    in_jobs, trace = sum(job.quantity for job in overview.jobs), trace_lot(lot_id)
    off = trace.sent_back + trace.scrapped
    undone = lots.is_receipt_undone(lot_id)
    return LotScreen(
        overview,
        next((hold for hold in overview.holds if hold.ended is None), None),
        tuple(piece_statuses([piece.id for piece in overview.pieces[:MAX_PIECES]])),
        None if overview.lot.order_line_id is None else order_of_line(overview.lot.order_line_id),
        in_jobs,
        trace.sent_back,
        trace.scrapped,
        0 if undone else max(0, overview.lot.quantity - overview.left - in_jobs - off),
        undone,
        trace,
        tuple(attachments(lot_id)),
        recall(lot_id) if overview.holds else None,
        lot_dates(lot_id),
        level_method(overview.part.id),
        tuple(level_readings(lot_id, 12)),
        tuple(checks(lot_id=lot_id).items),
        tuple(list_sent_back(lot_id=lot_id).items),
    )


@dataclass(frozen=True)
class RecallScreen:
    """The list of a recall, and the lots that may be no better."""

    recall: Recall
    alike: tuple[SimilarLot, ...]
    suppliers: tuple[SupplierRecord, ...]  # to whom the rest may go back


def recall_screen(lot_id: int) -> RecallScreen:
    """Gather what working through a recall needs."""
    return RecallScreen(recall(lot_id), tuple(similar_lots(lot_id)), supplier_choices())


@dataclass(frozen=True)
class LotHistory:
    """A lot with lines of the ledger about it, newest first."""

    lot: LotRecord
    part: PartRecord
    lines: ResultPage


def lot_history(lot_id: int, after: str | None = None) -> LotHistory:
    """Return all that happened to a lot, a page at a time."""
    lot = lots.lot(lot_id)
    return LotHistory(lot, part(lot.part_id), movements(lot_id=lot_id, after=after, limit=100))


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
    return LotList(tuple(_with_stock(page.items)), page.next, None if part_id is None else part(part_id))


def _with_stock(records: Sequence[LotRecord]) -> list[ListedLot]:
    parts = parts_by_id({lot.part_id for lot in records})
    names = supplier_names({lot.supplier_id for lot in records if lot.supplier_id is not None})
    left = lots.remaining_by_lot([lot.id for lot in records])
    return [
        ListedLot(lot, parts[lot.part_id], names.get(lot.supplier_id or 0, ""), left.get(lot.id, 0))
        for lot in records
    ]
