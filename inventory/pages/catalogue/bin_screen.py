"""Standing at a bin: what the person in front of it sees, and what they do there in one tap."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.buying.incoming_lifecycle import open_checks_by_lot
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.resolve import part_choices, resolve_part
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Conflict
from inventory.domain.common.quantity_text import parse_quantity_field
from inventory.domain.common.records import ActionResult, BinRecord, JobRecord, PartRecord
from inventory.domain.jobs import jobs, people
from inventory.domain.movements.overview import BinOverview, PartInBin, bin_overview
from inventory.domain.movements.pull import pull
from inventory.domain.movements.substitute_records import SubstituteSuggestions
from inventory.domain.movements.suggested_substitutes import suggest_substitutes
from inventory.domain.proof.proof_records import STANDINGS_BEST_FIRST, PieceStatus
from inventory.domain.proof.standings import piece_statuses

MAX_JOBS = 60


@dataclass(frozen=True)
class OtherBin:
    """Another bin that has some of a part."""

    bin: BinRecord
    quantity: int


@dataclass(frozen=True)
class BinScreen:
    """A bin, the jobs that something may be taken for, and where else its parts are."""

    overview: BinOverview
    jobs: tuple[JobRecord, ...]
    elsewhere: dict[int, tuple[OtherBin, ...]]  # by part
    pieces: dict[int, tuple[PieceStatus, ...]]  # by part, those that can be trusted most first
    part_lines: tuple[str, ...]  # to pick from, when the label is blank
    substitutes: dict[int, SubstituteSuggestions]  # by part that is out: what fits in its place
    to_test: dict[int, int]  # by lot that waits to be tested: the check


def bin_screen(bin_id: int, short_of: int | None = None) -> BinScreen:
    """Gather what the person in front of a bin wants to see and choose from.

    *short_of* is a part of which there was too little (0: of the only one that is in the bin).
    """
    overview = bin_overview(bin_id)
    blank = overview.bin.name is None
    return BinScreen(
        overview,
        () if blank else tuple(jobs.jobs(status="not closed", limit=MAX_JOBS).items),
        {content.part.id: _other_bins(content.part.id, bin_id) for content in overview.contents},
        _pieces_by_part(overview),
        tuple(part_choices()) if blank else (),
        {part_id: suggest_substitutes(part_id) for part_id in _parts_out_of_stock(overview, short_of)},
        open_checks_by_lot([lot for inside in overview.contents for lot in _lot_ids(inside)]),
    )


def _lot_ids(inside: PartInBin) -> list[int]:
    return [*(holding.lot.id for holding in inside.holdings), *(piece.lot_id for piece in inside.pieces)]


def _parts_out_of_stock(overview: BinOverview, short_of: int | None) -> list[int]:
    """Return the parts of a bin of which none is left anywhere, and the one that there was too little of."""
    inside = [content.part.id for content in overview.contents]
    if short_of is not None:
        return [part for part in inside if short_of in (0, part)][:1]
    return [
        content.part.id
        for content in overview.contents
        if not content.quantity and not stock_of(content.part.id).on_shelf
    ]


def _pieces_by_part(overview: BinOverview) -> dict[int, tuple[PieceStatus, ...]]:
    """Return by part the pieces of a bin; all are judged in one go, as each lot's evidence is read but once."""
    statuses = piece_statuses([piece.id for inside in overview.contents for piece in inside.pieces])
    statuses.sort(key=lambda status: (STANDINGS_BEST_FIRST.index(status.standing.word), -status.standing.p_good))
    return {
        inside.part.id: tuple(status for status in statuses if status.part.id == inside.part.id)
        for inside in overview.contents
    }


def _other_bins(part_id: int, bin_id: int) -> tuple[OtherBin, ...]:
    quantities: dict[int, int] = {}
    for source in pick_sources(part_id):
        if source.bin.id != bin_id:
            quantities[source.bin.id] = quantities.get(source.bin.id, 0) + source.quantity
    return tuple(OtherBin(bins.get_bin(other), quantity) for other, quantity in quantities.items())


def take_from_bin(
    bin_id: int, amount: str, *, by: int, part_id: int | None = None, lot_id: int | None = None,
    job_id: int | None = None, take_in_hand: bool = False, reason: str = "", one_off: bool = False,
    past_date_ok: bool = False,
) -> ActionResult:  # fmt: skip
    """Take an *amount* as typed ("2", "30 ml") from a bin for a job, or without one for a *reason*.

    *take_in_hand* makes the job the one that *by* works on, in the same breath. Raises as ``pull`` does.
    """
    with atomic():
        if take_in_hand and job_id is not None:
            people.set_job_in_hand(by, job_id)
        unit = "piece" if part_id is None else part(part_id).unit
        return pull(
            parse_quantity_field(amount, unit), bin_id=bin_id, part_id=part_id, lot_id=lot_id, job_id=job_id, by=by,
            reason=reason, one_off=one_off, past_date_ok=past_date_ok,
        )  # fmt: skip


def assign_blank_bin(
    bin_id: int, name: str, *, part_text: str | None = None, mixed: bool = False, note: str = "",
    version: int | None = None,
) -> BinRecord:  # fmt: skip
    """Give a blank label its name and say what goes in: a part as typed, several, or what comes first."""
    with atomic():
        if bins.get_bin(bin_id).name is not None:
            raise Conflict("This label is in use already: see what is in the bin.", reason="in_use")
        part_id = None if part_text is None else resolve_part(part_text).id
        return bins.edit_bin(bin_id, version, name=name, part_id=part_id, mixed=mixed, note=note)


def choices_of_error(refused: object) -> list[PartRecord]:
    """Return the parts that a ``which_part`` refusal offers to choose from."""
    more = getattr(refused, "more", {})
    choices: list[PartRecord] = more.get("choices", [])
    return choices
