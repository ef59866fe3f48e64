"""/receipts, /pulls, /put-backs, /moves, /scraps, /counts, /single-outs, /undos: what moves stock."""

from __future__ import annotations

from typing import Any

from inventory.api.movements.movement_schemas import (
    CountIn,
    DoneOut,
    MoveIn,
    PullIn,
    PullPieceIn,
    PutBackIn,
    ReceiptIn,
    ReceivedOut,
    ScrapIn,
    SingledOutOut,
    SingleOutIn,
    UndoIn,
)
from inventory.api.resource import Resource, at
from inventory.domain.common.records import Done
from inventory.domain.movements import adjustments
from inventory.domain.movements import pull as pulling
from inventory.domain.movements import receive as receiving
from inventory.domain.movements import undo as undoing
from inventory.web.access import caller

resource = Resource("moving stock", "What moves stock. Each action is one entry of the ledger and can be undone.")
DONE = DoneOut()


def _told(done: Done) -> Any:
    return done, at("movement", done.entry)


@resource.post("/receipts")
@resource.arguments(ReceiptIn())
@resource.response(201, ReceivedOut(), entity=False)
def receive(given: dict[str, Any]) -> Any:
    """Put what came in into a bin, as a new lot."""
    return _told(receiving.receive(**given, by=caller().id))


@resource.post("/pulls")
@resource.arguments(PullIn())
@resource.response(201, DONE, entity=False)
def pull(given: dict[str, Any]) -> Any:
    """Take loose stock for a job, or with a reason for the bench itself.

    The lot is decided: earliest best-before first, else oldest received, one past its date last, one on hold never.
    Refused (409) when there is not enough (not_enough; detail says who took the last and where more is), the lot is
    on hold, the job is closed, or only stock past its date is left and past_date_ok is not set.
    """
    return _told(pulling.pull(**given, by=caller().id))


@resource.post("/pieces/<key:piece_id>/pull")
@resource.arguments(PullPieceIn())
@resource.response(201, DONE, entity=False)
def pull_piece(given: dict[str, Any], piece_id: int) -> Any:
    """Take a piece for a job, to stay there."""
    return _told(pulling.pull_piece(piece_id, **given, by=caller().id))


@resource.post("/put-backs")
@resource.arguments(PutBackIn())
@resource.response(201, DONE, entity=False)
def put_back(given: dict[str, Any]) -> Any:
    """Put back what a job took and did not use, into its own lot."""
    return _told(pulling.put_back(**given, by=caller().id))


@resource.post("/moves")
@resource.arguments(MoveIn())
@resource.response(201, DONE, entity=False)
def move(given: dict[str, Any]) -> Any:
    """Move loose units of a lot, or a piece, from one bin to another."""
    return _told(adjustments.move(**given, by=caller().id))


@resource.post("/scraps")
@resource.arguments(ScrapIn())
@resource.response(201, DONE, entity=False)
def scrap(given: dict[str, Any]) -> Any:
    """Throw away loose units of a lot, or a piece."""
    return _told(adjustments.scrap(**given, by=caller().id))


@resource.post("/counts")
@resource.arguments(CountIn())
@resource.response(201, DONE, entity=False)
def count(given: dict[str, Any]) -> Any:
    """Note how many loose units of a lot were counted in a bin; a difference is booked, none is noted too."""
    return _told(adjustments.count(**given, by=caller().id))


@resource.post("/single-outs")
@resource.arguments(SingleOutIn())
@resource.response(201, SingledOutOut(), entity=False)
def single_out(given: dict[str, Any]) -> Any:
    """Make one loose unit of a lot a piece with its own label."""
    return _told(adjustments.single_out(**given, by=caller().id))


@resource.post("/undos")
@resource.arguments(UndoIn())
@resource.response(201, DONE, entity=False)
def undo(given: dict[str, Any]) -> Any:
    """Undo everything that was done in one entry of the ledger, by an entry that goes the other way."""
    return _told(undoing.undo(**given, by=caller().id))
