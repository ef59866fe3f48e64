"""Standing at a bin: what the person in front of it sees, and what they do there in one tap."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.buying.incoming_lifecycle import checks_of_lots
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.picking import sources
from inventory.domain.catalogue.resolve import listed, part_meant
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.records import BinRecord, Done, JobRecord, NeedRecord, PartRecord
from inventory.domain.common.validation import row
from inventory.domain.jobs import jobs, people
from inventory.domain.movements.overview import BinLook, PartInBin, look_at_bin
from inventory.domain.movements.pull import pull
from inventory.domain.movements.substitute_records import InsteadOf
from inventory.domain.movements.suggested_substitutes import instead_of
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.standings import BEST_FIRST, see
from inventory.store.connection import writing
from inventory.store.tables import Need, Part
from shared.quantities import BadQuantity, parse_quantity

MOST_JOBS = 60


@dataclass(frozen=True)
class Elsewhere:
    """Another bin that has some of a part."""

    bin: BinRecord
    quantity: int


@dataclass(frozen=True)
class AtBin:
    """A bin, the jobs that something may be taken for, and where else its parts are."""

    look: BinLook
    jobs: tuple[JobRecord, ...]
    elsewhere: dict[int, tuple[Elsewhere, ...]]  # by part
    pieces: dict[int, tuple[PieceSeen, ...]]  # by part, those that can be trusted most first
    part_lines: tuple[str, ...]  # to pick from, when the label is blank
    instead: dict[int, InsteadOf]  # by part that is out: what fits in its place
    to_test: dict[int, int]  # by lot that waits to be tested: the check


def at_bin(bin_id: int, short_of: int | None = None) -> AtBin:
    """Gather what the person in front of a bin wants to see and choose from.

    *short_of* is a part of which there was too little (0: of the only one that is in the bin).
    """
    seen = look_at_bin(bin_id)
    blank = seen.bin.name is None
    return AtBin(
        seen,
        () if blank else tuple(jobs.jobs(status="not closed", limit=MOST_JOBS).items),
        {one.part.id: _elsewhere(one.part.id, bin_id) for one in seen.contents},
        _judged(seen),
        tuple(listed()) if blank else (),
        {one: instead_of(one) for one in _out_of(seen, short_of)},
        checks_of_lots([lot for inside in seen.contents for lot in _lots(inside)]),
    )


def _lots(inside: PartInBin) -> list[int]:
    return [*(one.lot.id for one in inside.holdings), *(one.lot_id for one in inside.pieces)]


def _out_of(seen: BinLook, short_of: int | None) -> list[int]:
    """Return the parts of a bin of which none is left anywhere, and the one that there was too little of."""
    inside = [one.part.id for one in seen.contents]
    if short_of is not None:
        return [part for part in inside if short_of in (0, part)][:1]
    return [one.part.id for one in seen.contents if not one.quantity and not stock_of(one.part.id).on_shelf]


def _judged(seen: BinLook) -> dict[int, tuple[PieceSeen, ...]]:
    """Return by part the pieces of a bin; all are judged in one go, as each lot's evidence is read but once."""
    found = see([piece.id for inside in seen.contents for piece in inside.pieces])
    found.sort(key=lambda one: (BEST_FIRST.index(one.standing.word), -one.standing.p_good))
    return {inside.part.id: tuple(one for one in found if one.part.id == inside.part.id) for inside in seen.contents}


def _elsewhere(part_id: int, bin_id: int) -> tuple[Elsewhere, ...]:
    found: dict[int, int] = {}
    for one in sources(part_id):
        if one.bin.id != bin_id:
            found[one.bin.id] = found.get(one.bin.id, 0) + one.quantity
    return tuple(Elsewhere(bins.bin_(other), quantity) for other, quantity in found.items())


def take(
    bin_id: int, amount: str, *, by: int, part_id: int | None = None, lot_id: int | None = None,
    job_id: int | None = None, take_in_hand: bool = False, reason: str = "", one_off: bool = False,
    past_date_ok: bool = False,
) -> Done:  # fmt: skip
    """Take an *amount* as typed ("2", "30 ml") from a bin for a job, or without one for a *reason*.

    *take_in_hand* makes the job the one that *by* works on, in the same breath. Raises as ``pull`` does.
    """
    with writing():
        if take_in_hand and job_id is not None:
            people.take_in_hand(by, job_id)
        return pull(
            _quantity(amount, part_id), bin_id=bin_id, part_id=part_id, lot_id=lot_id, job_id=job_id, by=by,
            reason=reason, one_off=one_off, past_date_ok=past_date_ok,
        )  # fmt: skip


def _quantity(amount: str, part_id: int | None) -> int:
    unit = "piece" if part_id is None else row(Part, part_id, "part").unit
    try:
        return parse_quantity(amount, unit)
    except BadQuantity as bad:
        raise Invalid(str(bad), reason="bad_quantity", errors={"amount": [str(bad)]}) from None


def put_to_use(
    bin_id: int, name: str, *, part: str | None = None, mixed: bool = False, note: str = "",
    version: int | None = None,
) -> BinRecord:  # fmt: skip
    """Give a blank label its name and say what goes in: a *part* (as typed), several, or what comes first."""
    with writing():
        if bins.bin_(bin_id).name is not None:
            raise Conflict("This label is in use already: see what is in the bin.", reason="in_use")
        meant = None if part is None else part_meant(part).id
        return bins.edit_bin(bin_id, version, name=name, part_id=meant, mixed=mixed, note=note)


def want_more(job_id: int, part_id: int, quantity: int) -> NeedRecord:
    """Say that a job wants *quantity* more of a part than it has now, so that it is ordered."""
    with writing():
        need = Need.get_or_none(Need.job == job_id, Need.part == part_id)
        missing = 0 if need is None or need.dropped else max(0, need.quantity - need.taken)
        taken = need.taken if need is not None else 0
        return jobs.set_need(job_id, part_id, taken + missing + quantity)


def parts_to_choose(refused: object) -> list[PartRecord]:
    """Return the parts that a ``which_part`` refusal offers to choose from."""
    more = getattr(refused, "more", {})
    found: list[PartRecord] = more.get("choices", [])
    return found
