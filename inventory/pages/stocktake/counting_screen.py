"""At a count walk: what its pages show, and counts as people type them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.parts import part
from inventory.domain.common.quantity_input import quantity
from inventory.domain.stocktake.count_entry import tally
from inventory.domain.stocktake.count_records import BinDiffers, Counted, CountSoon, WalkBinRecord, WalkRecord
from inventory.domain.stocktake.count_review import count_soon, differences
from inventory.domain.stocktake.count_walks import walk, walk_bins, walks
from inventory.store import ledger

SOON = 20  # bins that the front page offers to count


@dataclass(frozen=True)
class AtCounting:
    """The walks under way, the last ones that ended, and the bins to count first."""

    open: tuple[WalkRecord, ...]
    ended: tuple[WalkRecord, ...]
    soon: tuple[CountSoon, ...]


def at_counting() -> AtCounting:
    """Gather what somebody who wants to count sees first."""
    return AtCounting(tuple(walks(open_=True)), tuple(walks(open_=False, limit=5)), tuple(count_soon(SOON)))


@dataclass(frozen=True)
class AtWalk:
    """A walk with its bins, and the differences that wait for review."""

    walk: WalkRecord
    bins: tuple[WalkBinRecord, ...]
    differs: tuple[BinDiffers, ...]


def at_walk(walk_id: int) -> AtWalk:
    """Gather how far a walk is."""
    return AtWalk(walk(walk_id), tuple(walk_bins(walk_id)), tuple(differences(walk_id)))


def tally_as_typed(
    walk_id: int, bin_id: int, typed: Mapping[int, str], *, pieces: Mapping[int, bool], line: int, by: int
) -> Counted:
    """Note a count as it was typed, by lot ("12", "1.5 m"); a blank is not counted and refused by ``tally``."""
    with ledger.writing_lines():
        counted = {key: _number(key, text) for key, text in typed.items() if text.strip()}
        return tally(walk_id, bin_id, counted, pieces=pieces, line=line, by=by)


def _number(lot_id: int, text: str) -> int:
    return quantity(text, part(lot(lot_id).part_id).unit, f"lot-{lot_id}", least=0)
