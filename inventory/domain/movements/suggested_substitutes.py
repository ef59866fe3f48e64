"""What fits in place of a part that is out: what somebody said may stand in, and what its attributes say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import ActionResult, BinRecord, PartRecord, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.jobs import jobs
from inventory.domain.jobs.fitted_substitutes import fitted_substitutes
from inventory.domain.movements.pull import pull, pull_piece
from inventory.domain.movements.substitute_records import (
    FittedSubstituteRecord,
    PartDifferenceRecord,
    PastUse,
    SubstituteSuggestions,
    SuggestedSubstitute,
    TakeableBin,
)
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.standings import most_trusted_first, piece_statuses
from inventory.reckoning.stock.substitution import Difference, can_substitute, differences
from inventory.store.connection import transaction
from inventory.store.fields import from_micros
from inventory.store.tables import Loan, Part, Piece, Substitute, Substitution, Suspect

MAX_OPTIONS = 6
RESULT_WORKED = "works with it"
CONCLUSIVE_RESULTS = ("works with it", "still fails")


def suggest_substitutes(part_id: int, most: int = MAX_OPTIONS) -> SubstituteSuggestions:
    """Return what fits in place of a part: what can be had first, then what was declared, then what differs least."""
    asked = get_row(Part, part_id, "part")
    said = {
        substitute.instead_id: substitute.differs
        for substitute in Substitute.select().where(Substitute.part == part_id)
    }
    fitting = [candidate for candidate in _candidates(asked, said) if candidate.id in said or _fits(asked, candidate)]
    held = stock_by_part([one.id for one in fitting])
    on_shelf = {one.id: held[one.id].on_shelf if one.id in held else 0 for one in fitting}
    differs = {one.id: _differences(asked, one) for one in fitting}
    fitting.sort(
        key=lambda one: (not on_shelf[one.id], one.id not in said, _difference_weight(differs[one.id]), one.number)
    )
    past = _past_uses(part_id, [one.id for one in fitting[:most]])
    options = [
        _suggestion_record(one, one.id in said, said.get(one.id, ""), differs[one.id], on_shelf[one.id], past[one.id])
        for one in fitting[:most]
    ]
    return SubstituteSuggestions(from_row(PartRecord, asked), tuple(options), max(0, len(fitting) - most))


def _candidates(asked: Any, said: Iterable[int]) -> list[Any]:
    alike = (Part.kind == asked.kind) & (Part.unit == asked.unit)
    return list(Part.select().where(Part.id != asked.id, ~Part.retired, alike | (Part.id << list(said))))


def _fits(asked: Any, other: Any) -> bool:
    return other.unit == asked.unit and can_substitute(asked.kind, asked.attributes, other.attributes)


def _differences(asked: Any, other: Any) -> list[Difference]:
    if other.kind != asked.kind:
        return [Difference(f"it is of the kind {other.kind}, not {asked.kind}: check every rating", True)]
    return differences(asked.kind, asked.attributes, other.attributes)


def _difference_weight(differs: Sequence[Difference]) -> tuple[int, int]:
    return sum(differ.caution for differ in differs), len(differs)


def _suggestion_record(
    other: Any, declared: bool, said: str, differs: Sequence[Difference], on_shelf: int, past: PastUse
) -> SuggestedSubstitute:  # fmt: skip
    return SuggestedSubstitute(
        from_row(PartRecord, other),
        declared,
        said,
        tuple(PartDifferenceRecord(differ.words, differ.caution) for differ in differs),
        on_shelf,
        tuple(takeable_bins(other.id)),
        tuple(_fittable_pieces(other.id)),
        past,
    )


def takeable_bins(part_id: int) -> list[TakeableBin]:
    """Return the bins from which loose stock of a part can be taken, that of the next pull first."""
    found: dict[int, TakeableBin] = {}
    for source in pick_sources(part_id):
        before = found[source.bin.id].quantity if source.bin.id in found else 0
        found[source.bin.id] = TakeableBin(from_row(BinRecord, source.bin), before + source.quantity)
    return list(found.values())


def _fittable_pieces(part_id: int) -> list[PieceStatus]:
    """Return the pieces of a part that may be fitted, those that can be trusted most first."""
    free = [
        statuse
        for statuse in piece_statuses([piece.id for piece in bins.stocked_pieces(part_id=part_id)])
        if statuse.where.state == "in bin" and not statuse.piece.spare and not statuse.lot.on_hold
    ]
    return most_trusted_first(free)[:3]


# ---- what happened before --------------------------------------------------------------------------------


def _past_uses(asked_id: int, others: Sequence[int]) -> dict[int, PastUse]:
    used: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for substitute in fitted_substitutes(part_id=asked_id):
        if substitute.part_id == asked_id and substitute.kept:
            used[substitute.instead_id].append((substitute.at, substitute.job_id))
    tests: dict[int, list[str]] = defaultdict(list)
    rows: Any = (
        Loan.select(Loan.result, Piece.part).join(Piece).switch(Loan).join(Suspect)
        .where(Suspect.part == asked_id, Piece.part << list(others), Loan.result << CONCLUSIVE_RESULTS)
    )  # fmt: skip
    for result, part in rows.tuples():
        tests[part].append(result)
    return {other: _past_use(used[other], tests[other]) for other in others}


def _past_use(used: Sequence[tuple[int, int]], tests: Sequence[str]) -> PastUse:
    at, job_id = max(used, default=(0, 0))
    number = len({job for _, job in used})
    job = jobs.job(job_id).number if used else ""
    last = from_micros(at) if used else None
    worked = tests.count(RESULT_WORKED)
    said = []
    if last is not None:
        where = "1 job" if number == 1 else f"{number} jobs, last"
        said.append(f"Used in its place in {where} {job if number > 1 else f'({job})'} on {last:%d %b %Y}.")
    if tests:
        said.append(f"In {len(tests)} swap {'test' if len(tests) == 1 else 'tests'} in its place, {worked} worked.")
    sentence = " ".join(said) or "Nobody has used it in its place yet."
    return PastUse(number, last, job_id or None, job, len(tests), worked, sentence)


def substitutes_in_job(job_id: int) -> list[FittedSubstituteRecord]:
    """Return what a job got in place of what it had asked for, oldest first; what was undone is left out."""
    found = {substitute.entry: substitute for substitute in fitted_substitutes(job_id=job_id)}
    rows: Any = Substitution.select().where(Substitution.entry << list(found)).order_by(Substitution.entry)
    return [
        FittedSubstituteRecord(
            row.entry,
            from_row(PartRecord, row.part),
            from_row(PartRecord, row.instead),
            row.quantity,
            found[row.entry].kept,
            row.differed,
            row.at,
            row.person.shown_as if row.person_id else "",
        )
        for row in rows
    ]


# ---- taking it -------------------------------------------------------------------------------------------


def pull_substitute(
    part_id: int, instead_id: int, job_id: int, *, quantity: int = 1, piece_id: int | None = None,
    bin_id: int | None = None, by: int | None = None,
) -> ActionResult:  # fmt: skip
    """Take some of *instead_id* (or a piece of it) for a job that asked for *part_id*.

    Raises as ``pull`` does, and Conflict when it is neither declared to stand in nor fits by its attributes.
    """
    with transaction():
        asked, other = get_row(Part, part_id, "part"), get_row(Part, instead_id, "part")
        said = Substitute.get_or_none(Substitute.part == part_id, Substitute.instead == instead_id)
        if said is None and not _fits(asked, other):
            raise Conflict(
                f"Nothing says that {other.name} fits in place of {asked.name}: note it on its page first.",
                reason="does_not_fit",
            )
        differed = "; ".join(
            filter(
                None,
                (
                    said.differs.rstrip(".") if said else "",
                    *(difference.words for difference in _differences(asked, other)),
                ),
            )
        )[:300]
        if piece_id is not None:
            _check_piece_part(piece_id, other)
            return pull_piece(piece_id, job_id=job_id, by=by, instead_of=part_id, differed=differed)
        return pull(
            quantity, part_id=instead_id, bin_id=bin_id, job_id=job_id, by=by, instead_of=part_id, differed=differed
        )


def _check_piece_part(piece_id: int, other: Any) -> None:
    if get_row(Piece, piece_id, "piece").part_id != other.id:
        raise Conflict("That piece is of another part: look at its label again.", reason="other_part")
