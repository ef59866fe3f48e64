"""/count-walks and /count-first: counting bins, reviewing what differs, booking it."""

from __future__ import annotations

from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.api.stocktake.count_schemas import (
    BinDiffersOut,
    BinToCountOut,
    BookedOut,
    BookIn,
    CountedOut,
    CountSoonOut,
    TallyIn,
    WalkBinOut,
    WalkIn,
    WalkOut,
    WalksQuery,
)
from inventory.domain.common.errors import Conflict
from inventory.domain.stocktake import count_entry
from inventory.domain.stocktake import count_review as review
from inventory.domain.stocktake import count_walks as stock
from inventory.domain.stocktake.count_records import (
    BinDiffers,
    BinToCount,
    Counted,
    CountSoon,
    WalkBinRecord,
    WalkRecord,
)
from inventory.web.access import caller

resource = Resource("counting", "Counting bins: walks, what was counted, differences to be reviewed.")
WALK = WalkOut()
BIN = WalkBinOut()


@resource.get("/count-first")
@resource.arguments(PageQuery(), location="query")
@resource.listed(CountSoonOut(), key=lambda one: one.bin.id)
def count_first(asked: dict[str, Any]) -> list[CountSoon]:
    """List the bins that should be counted first, those with the most at stake first."""
    return review.count_soon(500)


@resource.get("/count-walks")
@resource.arguments(WalksQuery(), location="query")
@resource.listed(WALK, key=lambda one: one.id)
def count_walks(asked: dict[str, Any]) -> list[WalkRecord]:
    """List walks, newest first."""
    return stock.walks(open_=asked.get("open"), limit=500)


@resource.post("/count-walks")
@resource.arguments(WalkIn())
@resource.response(201, WALK, entity=False)
def start_walk(given: dict[str, Any]) -> Any:
    """Begin a walk past some bins, or past all that are in no open walk."""
    made = stock.start_walk(**given, by=caller().id)
    return made, at("count walk", made.id)


@resource.get("/count-walks/<key:walk_id>")
@resource.response(200, WALK)
def count_walk(walk_id: int) -> WalkRecord:
    """Read how far a walk is."""
    return stock.walk(walk_id)


@resource.get("/count-walks/<key:walk_id>/bins")
@resource.arguments(PageQuery(), location="query")
@resource.listed(BIN, key=lambda one: one.id, of=stock.walk)
def walk_bins(asked: dict[str, Any], walk_id: int) -> list[WalkBinRecord]:
    """List the bins of a walk, as they are walked past."""
    return stock.walk_bins(walk_id)


@resource.post("/count-walks/<key:walk_id>/next")
@resource.response(200, BIN, entity=False)
def next_bin(walk_id: int) -> WalkBinRecord:
    """Get the next bin to count, kept for the caller for a quarter of an hour (409, none_left: that was all)."""
    found = stock.next_bin(walk_id, by=caller().id)
    if found is None:
        raise Conflict("No bin of this walk is left to count, or others are at them.", reason="none_left")
    return found


@resource.get("/count-walks/<key:walk_id>/bins/<key:bin_id>")
@resource.response(200, BinToCountOut())
def bin_to_count(walk_id: int, bin_id: int) -> BinToCount:
    """Read what to count in a bin; line goes back with the tally."""
    return stock.to_count(walk_id, bin_id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/tally")
@resource.arguments(TallyIn())
@resource.response(200, CountedOut(), entity=False)
def tally(given: dict[str, Any], walk_id: int, bin_id: int) -> Counted:
    """Note what was counted in a bin. Refused (409, moved_meanwhile) when the bin moved since line: count again."""
    lots = {one["lot_id"]: one["quantity"] for one in given["lots"]}
    pieces = {one["piece_id"]: one["seen"] for one in given.get("pieces", [])}
    return count_entry.tally(walk_id, bin_id, lots, pieces=pieces, line=given["line"], by=caller().id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/again")
@resource.response(200, WALK, entity=False)
def again(walk_id: int, bin_id: int) -> WalkRecord:
    """Send a bin whose difference is not believed back to be counted."""
    return review.count_again(walk_id, bin_id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/leave-out")
@resource.response(200, BIN, entity=False)
def leave_out(walk_id: int, bin_id: int) -> WalkBinRecord:
    """Take a bin out of a walk; what the book says stays."""
    return stock.leave_out(walk_id, bin_id)


@resource.get("/count-walks/<key:walk_id>/differences")
@resource.arguments(PageQuery(), location="query")
@resource.listed(BinDiffersOut(), key=lambda one: one.bin.id, of=stock.walk)
def count_differences(asked: dict[str, Any], walk_id: int) -> list[BinDiffers]:
    """List the bins whose last count differs from the book."""
    return review.differences(walk_id)


@resource.post("/count-walks/<key:walk_id>/book")
@resource.arguments(BookIn())
@resource.response(200, BookedOut(), entity=False)
def book_differences(given: dict[str, Any], walk_id: int) -> dict[str, Any]:
    """Book the differences of some bins: the difference, on top of what moved since."""
    return {"items": review.book(walk_id, given["bin_ids"], reason=given.get("reason", ""), by=caller().id)}


@resource.post("/count-walks/<key:walk_id>/end")
@resource.response(200, WALK, entity=False)
def end_walk(walk_id: int) -> WalkRecord:
    """End a walk; refused (409, differences_wait) while differences wait for review."""
    return review.end_walk(walk_id)
