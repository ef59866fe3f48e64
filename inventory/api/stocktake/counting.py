"""/count-walks and /count-first: counting bins, reviewing what differs, booking it."""

from __future__ import annotations

from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.api.stocktake.count_schemas import (
    BinCountIn,
    BinCountOut,
    BinDifferencesOut,
    BinToCountOut,
    BookDifferencesIn,
    BookedDifferencesOut,
    CountPriorityOut,
    WalkBinOut,
    WalkIn,
    WalkOut,
    WalksQuery,
)
from inventory.domain.common.errors import Conflict
from inventory.domain.stocktake import count_entry
from inventory.domain.stocktake import count_review as review
from inventory.domain.stocktake import count_walks as domain
from inventory.domain.stocktake.count_records import (
    BinDifferences,
    BinToCount,
    CountResult,
    CountSuggestion,
    CountWalkRecord,
    WalkBinRecord,
)
from inventory.web.access import current_person

resource = Resource("counting", "Counting bins: walks, what was counted, differences to be reviewed.")
WALK = WalkOut()
BIN = WalkBinOut()


@resource.get("/count-first")
@resource.arguments(PageQuery(), location="query")
@resource.listed(CountPriorityOut(), key="bin.id")
def count_first(params: dict[str, Any]) -> list[CountSuggestion]:
    """List the bins that should be counted first, those with the most at stake first."""
    return review.suggest_counts(500)


@resource.get("/count-walks")
@resource.arguments(WalksQuery(), location="query")
@resource.listed(WALK, key="id")
def count_walks(params: dict[str, Any]) -> list[CountWalkRecord]:
    """List walks, newest first."""
    return domain.list_walks(open_=params.get("open"), limit=500)


@resource.post("/count-walks")
@resource.arguments(WalkIn())
@resource.response(201, WALK, with_etag=False)
def start_walk(data: dict[str, Any]) -> Any:
    """Begin a walk past some bins, or past all that are in no open walk."""
    walk = domain.start_walk(**data, by=current_person().id)
    return walk, location_header("count walk", walk.id)


@resource.get("/count-walks/<key:walk_id>")
@resource.response(200, WALK)
def count_walk(walk_id: int) -> CountWalkRecord:
    """Read how far a walk is."""
    return domain.get_walk(walk_id)


@resource.get("/count-walks/<key:walk_id>/bins")
@resource.arguments(PageQuery(), location="query")
@resource.listed(BIN, key="id", parent=domain.get_walk)
def walk_bins(params: dict[str, Any], walk_id: int) -> list[WalkBinRecord]:
    """List the bins of a walk, as they are walked past."""
    return domain.walk_bins(walk_id)


@resource.post("/count-walks/<key:walk_id>/next")
@resource.response(200, BIN, with_etag=False)
def next_bin(walk_id: int) -> WalkBinRecord:
    """Get the next bin to count, kept for the caller for a quarter of an hour (409, none_left: that was all)."""
    bin_ = domain.claim_next_bin(walk_id, by=current_person().id)
    if bin_ is None:
        raise Conflict("No bin of this walk is left to count, or others are at them.", reason="none_left")
    return bin_


@resource.get("/count-walks/<key:walk_id>/bins/<key:bin_id>")
@resource.response(200, BinToCountOut())
def bin_to_count(walk_id: int, bin_id: int) -> BinToCount:
    """Read what to count in a bin; line goes back with the tally."""
    return domain.bin_to_count(walk_id, bin_id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/tally")
@resource.arguments(BinCountIn())
@resource.response(200, BinCountOut(), with_etag=False)
def enter_bin_count(data: dict[str, Any], walk_id: int, bin_id: int) -> CountResult:
    """Note what was counted in a bin. Refused (409, moved_meanwhile) when the bin moved since line: count again."""
    lots = {line["lot_id"]: line["quantity"] for line in data["lots"]}
    pieces = {line["piece_id"]: line["seen"] for line in data.get("pieces", [])}
    return count_entry.enter_count(walk_id, bin_id, lots, pieces=pieces, line=data["line"], by=current_person().id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/again")
@resource.response(200, WALK, with_etag=False)
def recount(walk_id: int, bin_id: int) -> CountWalkRecord:
    """Send a bin whose difference is not believed back to be counted."""
    return review.request_recount(walk_id, bin_id)


@resource.post("/count-walks/<key:walk_id>/bins/<key:bin_id>/leave-out")
@resource.response(200, BIN, with_etag=False)
def leave_out_bin(walk_id: int, bin_id: int) -> WalkBinRecord:
    """Take a bin out of a walk; what the book says stays."""
    return domain.leave_out_bin(walk_id, bin_id)


@resource.get("/count-walks/<key:walk_id>/differences")
@resource.arguments(PageQuery(), location="query")
@resource.listed(BinDifferencesOut(), key="bin.id", parent=domain.get_walk)
def count_differences(params: dict[str, Any], walk_id: int) -> list[BinDifferences]:
    """List the bins whose last count differs from the book."""
    return review.walk_differences(walk_id)


@resource.post("/count-walks/<key:walk_id>/book")
@resource.arguments(BookDifferencesIn())
@resource.response(200, BookedDifferencesOut(), with_etag=False)
def book_differences(data: dict[str, Any], walk_id: int) -> dict[str, Any]:
    """Book the differences of some bins: the difference, on top of what moved since."""
    return {
        "items": review.book_bins(walk_id, data["bin_ids"], reason=data.get("reason", ""), by=current_person().id)
    }


@resource.post("/count-walks/<key:walk_id>/end")
@resource.response(200, WALK, with_etag=False)
def end_walk(walk_id: int) -> CountWalkRecord:
    """End a walk; refused (409, differences_wait) while differences wait for review."""
    return review.end_walk(walk_id)
