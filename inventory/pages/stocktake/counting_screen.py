"""At a count walk: what its pages show, and counts as people type them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.domain.common.atomic import atomic
from inventory.domain.stocktake.count_entry import enter_count
from inventory.domain.stocktake.count_records import (
    BinDifferences,
    CountResult,
    CountSuggestion,
    CountWalkRecord,
    WalkBinRecord,
)
from inventory.domain.stocktake.count_review import suggest_counts, walk_differences
from inventory.domain.stocktake.count_walks import get_walk, list_walks, walk_bins
from inventory.pages.movements.adjustments_screen import parse_count

SUGGESTED_BINS = 20  # bins that the front page offers to count


@dataclass(frozen=True)
class CountingScreen:
    """The walks under way, the last ones that ended, and the bins to count first."""

    open: tuple[CountWalkRecord, ...]
    ended: tuple[CountWalkRecord, ...]
    soon: tuple[CountSuggestion, ...]


def counting_screen() -> CountingScreen:
    """Return the open and recent walks, and the bins to count first."""
    return CountingScreen(
        tuple(list_walks(open_=True)), tuple(list_walks(open_=False, limit=5)), tuple(suggest_counts(SUGGESTED_BINS))
    )


@dataclass(frozen=True)
class WalkScreen:
    """A walk with its bins, and the differences that wait for review."""

    walk: CountWalkRecord
    bins: tuple[WalkBinRecord, ...]
    differs: tuple[BinDifferences, ...]


def walk_screen(walk_id: int) -> WalkScreen:
    """Gather how far a walk is."""
    return WalkScreen(get_walk(walk_id), tuple(walk_bins(walk_id)), tuple(walk_differences(walk_id)))


def enter_count_from_form(
    walk_id: int, bin_id: int, texts: Mapping[int, str], *, pieces: Mapping[int, bool], line: int, by: int
) -> CountResult:
    """Note a count as it was typed, by lot ("12", "1.5 m"); a blank is not counted and refused by ``enter_count``."""
    with atomic(lock_stock=True):
        counted = {key: parse_count(key, text) for key, text in texts.items() if text.strip()}
        return enter_count(walk_id, bin_id, counted, pieces=pieces, line=line, by=by)
