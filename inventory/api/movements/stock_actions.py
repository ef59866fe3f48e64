"""/receipts, /pulls, /put-backs, /moves, /scraps, /counts, /single-outs, /undos: what moves stock."""

from __future__ import annotations

from typing import Any

from inventory.api.movements.movement_schemas import (
    ActionResultOut,
    CountIn,
    MoveIn,
    PullIn,
    PullPieceIn,
    PutBackIn,
    ReceiptIn,
    ReceiptOut,
    ScrapIn,
    SingleOutIn,
    SingleOutOut,
    UndoIn,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import ActionResult
from inventory.domain.movements import adjustments
from inventory.domain.movements import pull as pulling
from inventory.domain.movements import receive as receiving
from inventory.domain.movements import undo as undoing
from inventory.web.access import current_person

resource = Resource("moving stock", "What moves stock. Each action is one entry of the ledger and can be undone.")
DONE = ActionResultOut()


def _with_location(done: ActionResult) -> Any:
    return done, location_header("movement", done.entry)


@resource.post("/receipts")
@resource.arguments(ReceiptIn())
@resource.response(201, ReceiptOut(), with_etag=False)
def receive(data: dict[str, Any]) -> Any:
    """Put what came in into a bin, as a new lot."""
    return _with_location(receiving.receive(**data, by=current_person().id))


@resource.post("/pulls")
@resource.arguments(PullIn())
@resource.response(201, DONE, with_etag=False)
def pull(data: dict[str, Any]) -> Any:
    """Take loose stock for a job, or with a reason for the bench itself.

    The lot is decided: earliest best-before first, else oldest received, one past its date last, one on hold never.
    Refused (409) when there is not enough (not_enough; detail says who took the last and where more is), the lot is
    on hold, the job is closed, or only stock past its date is left and past_date_ok is not set.
    """
    return _with_location(pulling.pull(**data, by=current_person().id))


@resource.post("/pieces/<key:piece_id>/pull")
@resource.arguments(PullPieceIn())
@resource.response(201, DONE, with_etag=False)
def pull_piece(data: dict[str, Any], piece_id: int) -> Any:
    """Take a piece for a job, to stay there."""
    return _with_location(pulling.pull_piece(piece_id, **data, by=current_person().id))


@resource.post("/put-backs")
@resource.arguments(PutBackIn())
@resource.response(201, DONE, with_etag=False)
def put_back(data: dict[str, Any]) -> Any:
    """Put back what a job took and did not use, into its own lot."""
    return _with_location(pulling.put_back(**data, by=current_person().id))


@resource.post("/moves")
@resource.arguments(MoveIn())
@resource.response(201, DONE, with_etag=False)
def move(data: dict[str, Any]) -> Any:
    """Move loose units of a lot, or a piece, from one bin to another."""
    return _with_location(adjustments.move(**data, by=current_person().id))


@resource.post("/scraps")
@resource.arguments(ScrapIn())
@resource.response(201, DONE, with_etag=False)
def scrap(data: dict[str, Any]) -> Any:
    """Throw away loose units of a lot, or a piece."""
    return _with_location(adjustments.scrap(**data, by=current_person().id))


@resource.post("/counts")
@resource.arguments(CountIn())
@resource.response(201, DONE, with_etag=False)
def count(data: dict[str, Any]) -> Any:
    """Note how many loose units of a lot were counted in a bin; a difference is booked, none is noted too."""
    return _with_location(adjustments.count(**data, by=current_person().id))


@resource.post("/single-outs")
@resource.arguments(SingleOutIn())
@resource.response(201, SingleOutOut(), with_etag=False)
def single_out(data: dict[str, Any]) -> Any:
    """Make one loose unit of a lot a piece with its own label."""
    return _with_location(adjustments.single_out(**data, by=current_person().id))


@resource.post("/undos")
@resource.arguments(UndoIn())
@resource.response(201, DONE, with_etag=False)
def undo(data: dict[str, Any]) -> Any:
    """Undo everything that was done in one entry of the ledger, by an entry that goes the other way."""
    return _with_location(undoing.undo(**data, by=current_person().id))
