"""What fits in place of a part that is out: what somebody said may stand in, and what its attributes say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.picking import sources
from inventory.domain.catalogue.stock_totals import stocks
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import BinRecord, Done, PartRecord, read
from inventory.domain.common.validation import row
from inventory.domain.jobs import jobs
from inventory.domain.jobs.fitted_substitutes import stood_in
from inventory.domain.movements.pull import pull, pull_piece
from inventory.domain.movements.substitute_records import (
    DiffersRecord,
    InsteadOf,
    InsteadRecord,
    PastUse,
    PlaceRecord,
    StoodInRecord,
)
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.standings import BEST_FIRST, see
from inventory.reckoning.stock.substitution import Difference, differences, fits
from inventory.store.connection import writing
from inventory.store.fields import from_micros
from inventory.store.tables import Loan, Part, Piece, StandIn, Substitute, Suspect

MOST = 6
WORKED = "works with it"
TOLD = ("works with it", "still fails")


def instead_of(part_id: int, most: int = MOST) -> InsteadOf:
    """Return what fits in place of a part: what can be had first, then what was declared, then what differs least."""
    asked = row(Part, part_id, "part")
    said = {one.instead_id: one.differs for one in Substitute.select().where(Substitute.part == part_id)}
    fitting = [one for one in _candidates(asked, said) if one.id in said or _fits(asked, one)]
    held = stocks([one.id for one in fitting])
    on_shelf = {one.id: held[one.id].on_shelf if one.id in held else 0 for one in fitting}
    differs = {one.id: _differences(asked, one) for one in fitting}
    fitting.sort(key=lambda one: (not on_shelf[one.id], one.id not in said, _weight(differs[one.id]), one.number))
    past = _past(part_id, [one.id for one in fitting[:most]])
    options = [
        _option(one, one.id in said, said.get(one.id, ""), differs[one.id], on_shelf[one.id], past[one.id])
        for one in fitting[:most]
    ]
    return InsteadOf(read(PartRecord, asked), tuple(options), max(0, len(fitting) - most))


def _candidates(asked: Any, said: Iterable[int]) -> list[Any]:
    alike = (Part.kind == asked.kind) & (Part.unit == asked.unit)
    return list(Part.select().where(Part.id != asked.id, ~Part.retired, alike | (Part.id << list(said))))


def _fits(asked: Any, other: Any) -> bool:
    return other.unit == asked.unit and fits(asked.kind, asked.attributes, other.attributes)


def _differences(asked: Any, other: Any) -> list[Difference]:
    if other.kind != asked.kind:
        return [Difference(f"it is of the kind {other.kind}, not {asked.kind}: check every rating", True)]
    return differences(asked.kind, asked.attributes, other.attributes)


def _weight(differs: Sequence[Difference]) -> tuple[int, int]:
    return sum(one.caution for one in differs), len(differs)


def _option(
    other: Any, declared: bool, said: str, differs: Sequence[Difference], on_shelf: int, past: PastUse
) -> InsteadRecord:  # fmt: skip
    return InsteadRecord(
        read(PartRecord, other), declared, said, tuple(DiffersRecord(one.words, one.caution) for one in differs),
        on_shelf, tuple(places_of(other.id)), tuple(_pieces(other.id)), past,
    )  # fmt: skip


def places_of(part_id: int) -> list[PlaceRecord]:
    """Return the bins from which loose stock of a part can be taken, that of the next pull first."""
    found: dict[int, PlaceRecord] = {}
    for one in sources(part_id):
        before = found[one.bin.id].quantity if one.bin.id in found else 0
        found[one.bin.id] = PlaceRecord(read(BinRecord, one.bin), before + one.quantity)
    return list(found.values())


def _pieces(part_id: int) -> list[PieceSeen]:
    """Return the pieces of a part that may be fitted, those that can be trusted most first."""
    free = [
        one
        for one in see([piece.id for piece in bins.pieces_in(part_id=part_id)])
        if one.where.state == "in bin" and not one.piece.spare and not one.lot.on_hold
    ]
    return sorted(free, key=lambda one: (BEST_FIRST.index(one.standing.word), -one.standing.p_good))[:3]


# ---- what happened before --------------------------------------------------------------------------------


def _past(asked_id: int, others: Sequence[int]) -> dict[int, PastUse]:
    used: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for one in stood_in(part_id=asked_id):
        if one.part_id == asked_id and one.kept:
            used[one.instead_id].append((one.at, one.job_id))
    tests: dict[int, list[str]] = defaultdict(list)
    rows: Any = (
        Loan.select(Loan.result, Piece.part).join(Piece).switch(Loan).join(Suspect)
        .where(Suspect.part == asked_id, Piece.part << list(others), Loan.result << TOLD)
    )  # fmt: skip
    for result, part in rows.tuples():
        tests[part].append(result)
    return {other: _past_use(used[other], tests[other]) for other in others}


def _past_use(used: Sequence[tuple[int, int]], tests: Sequence[str]) -> PastUse:
    at, job_id = max(used, default=(0, 0))
    number = len({job for _, job in used})
    job = jobs.job(job_id).number if used else ""
    last = from_micros(at) if used else None
    worked = tests.count(WORKED)
    said = []
    if last is not None:
        where = "1 job" if number == 1 else f"{number} jobs, last"
        said.append(f"Used in its place in {where} {job if number > 1 else f'({job})'} on {last:%d %b %Y}.")
    if tests:
        said.append(f"In {len(tests)} swap {'test' if len(tests) == 1 else 'tests'} in its place, {worked} worked.")
    sentence = " ".join(said) or "Nobody has used it in its place yet."
    return PastUse(number, last, job_id or None, job, len(tests), worked, sentence)


def stood_in_at(job_id: int) -> list[StoodInRecord]:
    """Return what a job got in place of what it had asked for, oldest first; what was undone is left out."""
    found = {one.entry: one for one in stood_in(job_id=job_id)}
    rows: Any = StandIn.select().where(StandIn.entry << list(found)).order_by(StandIn.entry)
    return [
        StoodInRecord(
            one.entry, read(PartRecord, one.part), read(PartRecord, one.instead), one.quantity, found[one.entry].kept,
            one.differed, one.at, one.person.shown_as if one.person_id else "",
        )
        for one in rows
    ]  # fmt: skip


# ---- taking it -------------------------------------------------------------------------------------------


def take_instead(
    part_id: int, instead_id: int, job_id: int, *, quantity: int = 1, piece_id: int | None = None,
    bin_id: int | None = None, by: int | None = None,
) -> Done:  # fmt: skip
    """Take some of *instead_id* (or a piece of it) for a job that asked for *part_id*.

    Raises as ``pull`` does, and Conflict when it is neither declared to stand in nor fits by its attributes.
    """
    with writing():
        asked, other = row(Part, part_id, "part"), row(Part, instead_id, "part")
        said = Substitute.get_or_none(Substitute.part == part_id, Substitute.instead == instead_id)
        if said is None and not _fits(asked, other):
            raise Conflict(
                f"Nothing says that {other.name} fits in place of {asked.name}: note it on its page first.",
                reason="does_not_fit",
            )
        differed = "; ".join(
            filter(
                None, (said.differs.rstrip(".") if said else "", *(one.words for one in _differences(asked, other)))
            )
        )[:300]
        if piece_id is not None:
            _insist_on(piece_id, other)
            return pull_piece(piece_id, job_id=job_id, by=by, instead_of=part_id, differed=differed)
        return pull(
            quantity, part_id=instead_id, bin_id=bin_id, job_id=job_id, by=by, instead_of=part_id, differed=differed
        )


def _insist_on(piece_id: int, other: Any) -> None:
    if row(Piece, piece_id, "piece").part_id != other.id:
        raise Conflict("That piece is of another part: look at its label again.", reason="other_part")
