"""Summarizes one ledger entry for the confirmation band, which offers to undo it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from inventory.domain.catalogue import history
from inventory.domain.common import clock
from inventory.domain.common.records import MovementRecord
from shared.quantities import format_quantity

_VERBS = {
    "receive": "received into {bin}",
    "pull": "taken from {bin}",
    "put back": "put back into {bin}",
    "scrap": "scrapped from {bin}",
    "move": "moved to {bin}",
    "count": "counted in {bin}",
    "single out": "singled out in {bin}",
    "reverse": "undone in {bin}",
}


@dataclass(frozen=True)
class EntrySummary:
    """What an entry did, in a sentence; ``undoable`` while it was not undone and is not an undo itself."""

    entry: int
    sentence: str
    at: datetime
    undoable: bool
    just_now: bool
    part_id: int
    bin_id: int


def summarize_entry(entry: int, undo_seconds: int) -> EntrySummary | None:
    """Describe an entry, or None when there is none; *undo_seconds* is for how long it counts as just done."""
    lines = history.movements(entry=entry, limit=200).items
    if not lines:
        return None
    main: MovementRecord = lines[0]  # newest first: of a move, where it went to
    number = (
        sum(abs(line.quantity) for line in lines) if main.kind not in ("move", "single out") else abs(main.quantity)
    )
    what = f"{format_quantity(number, main.unit)} of {main.part_name}" if not main.piece_id else (
        f"{main.part_name} {main.piece_name}" if len(lines) == 1 or main.kind in ("move", "single out")
        else f"{len(lines)} pieces of {main.part_name}"
    )  # fmt: skip
    sentence = f"{what} {_VERBS[main.kind].format(bin=main.bin_name)}"
    sentence += f" for job {main.job_number}." if main.job_number else "."
    fresh = clock.now() - main.at < timedelta(seconds=undo_seconds)
    undoable = main.kind != "reverse" and not any(line.reversed for line in lines)
    return EntrySummary(entry, sentence, main.at, undoable, fresh, main.part_id, main.bin_id)
