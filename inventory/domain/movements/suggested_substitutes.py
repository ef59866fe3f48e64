"""Substitutes for a part that is out: those that were declared, and those whose attributes fit."""

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
from inventory.domain.movements.pull import join_texts, pull, pull_piece
from inventory.domain.movements.substitute_records import (
    FittedSubstituteRecord,
    PartDifferenceRecord,
    PastUse,
    SubstituteSuggestions,
    SuggestedSubstitute,
    TakeableBin,
)
from inventory.domain.proof.loans import UNIT_WORKED, WORKS_WITH_IT
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.standings import is_fittable, piece_statuses, trust_order
from inventory.reckoning.stock.substitution import Difference, can_substitute, differences
from inventory.store.connection import transaction
from inventory.store.fields import from_micros
from inventory.store.tables import Loan, Part, Piece, Substitute, Substitution, Suspect

MAX_OPTIONS = 6


def suggest_substitutes(part_id: int, most: int = MAX_OPTIONS) -> SubstituteSuggestions:
    """Return the substitutes of a part: on the shelf first, then declared, then by how little they differ."""
    requested = get_row(Part, part_id, "part")
    declared = {
        substitute.instead_id: substitute.differs
        for substitute in Substitute.select().where(Substitute.part == part_id)
    }
    fitting = [part for part in _candidates(requested, declared) if part.id in declared or _fits(requested, part)]
    stock = stock_by_part([part.id for part in fitting])
    on_shelf = {part.id: stock[part.id].on_shelf if part.id in stock else 0 for part in fitting}
    differs = {part.id: _differences(requested, part) for part in fitting}
    fitting.sort(
        key=lambda part: (
            not on_shelf[part.id],
            part.id not in declared,
            _difference_weight(differs[part.id]),
            part.number,
        )
    )
    past = _past_uses(part_id, [part.id for part in fitting[:most]])
    options = [
        _suggestion_record(
            part, part.id in declared, declared.get(part.id, ""), differs[part.id], on_shelf[part.id], past[part.id]
        )
        for part in fitting[:most]
    ]
    return SubstituteSuggestions(from_row(PartRecord, requested), tuple(options), max(0, len(fitting) - most))


def _candidates(requested: Any, declared: Iterable[int]) -> list[Any]:
    alike = (Part.kind == requested.kind) & (Part.unit == requested.unit)
    return list(Part.select().where(Part.id != requested.id, ~Part.retired, alike | (Part.id << list(declared))))


def _fits(requested: Any, other: Any) -> bool:
    return other.unit == requested.unit and can_substitute(requested.kind, requested.attributes, other.attributes)


def _differences(requested: Any, other: Any) -> list[Difference]:
    if other.kind != requested.kind:
        return [Difference(f"it is of the kind {other.kind}, not {requested.kind}: check every rating", True)]
    return differences(requested.kind, requested.attributes, other.attributes)


def _difference_weight(found_differences: Sequence[Difference]) -> tuple[int, int]:
    return sum(differ.caution for differ in found_differences), len(found_differences)


def _suggestion_record(
    other: Any, declared: bool, differs_note: str, differs: Sequence[Difference], on_shelf: int, past: PastUse
) -> SuggestedSubstitute:  # fmt: skip
    return SuggestedSubstitute(
        from_row(PartRecord, other),
        declared,
        differs_note,
        tuple(PartDifferenceRecord(differ.words, differ.caution) for differ in differs),
        on_shelf,
        tuple(takeable_bins(other.id)),
        tuple(_fittable_pieces(other.id)),
        past,
    )


def takeable_bins(part_id: int) -> list[TakeableBin]:
    """Return the bins from which loose stock of a part can be taken, the one that the next pull takes from first."""
    bins_by_id: dict[int, TakeableBin] = {}
    for source in pick_sources(part_id):
        before = bins_by_id[source.bin.id].quantity if source.bin.id in bins_by_id else 0
        bins_by_id[source.bin.id] = TakeableBin(from_row(BinRecord, source.bin), before + source.quantity)
    return list(bins_by_id.values())


def _fittable_pieces(part_id: int) -> list[PieceStatus]:
    """Return the pieces of a part that may be fitted, the most trustworthy three first."""
    statuses = piece_statuses([piece.id for piece in bins.stocked_pieces(part_id=part_id)])
    return sorted(filter(is_fittable, statuses), key=trust_order)[:3]


# ---- past use --------------------------------------------------------------------------------------------


def _past_uses(asked_id: int, others: Sequence[int]) -> dict[int, PastUse]:
    used: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for substitute in fitted_substitutes(part_id=asked_id):
        if substitute.part_id == asked_id and substitute.kept:
            used[substitute.instead_id].append((substitute.at, substitute.job_id))
    tests: dict[int, list[str]] = defaultdict(list)
    rows: Any = (
        Loan.select(Loan.result, Piece.part).join(Piece).switch(Loan).join(Suspect)
        .where(Suspect.part == asked_id, Piece.part << list(others), Loan.result << list(UNIT_WORKED))
    )  # fmt: skip
    for result, part in rows.tuples():
        tests[part].append(result)
    return {other: _past_use(used[other], tests[other]) for other in others}


def _past_use(uses: Sequence[tuple[int, int]], tests: Sequence[str]) -> PastUse:
    last_micros, job_id = max(uses, default=(0, 0))
    number = len({job for _, job in uses})
    job = jobs.job(job_id).number if uses else ""
    last = from_micros(last_micros) if uses else None
    worked = tests.count(WORKS_WITH_IT)
    sentences = []
    if last is not None:
        where = "1 job" if number == 1 else f"{number} jobs, last"
        sentences.append(f"Used in its place in {where} {job if number > 1 else f'({job})'} on {last:%d %b %Y}.")
    if tests:
        sentences.append(
            f"In {len(tests)} swap {'test' if len(tests) == 1 else 'tests'} in its place, {worked} worked."
        )
    sentence = " ".join(sentences) or "Nobody has used it in its place yet."
    return PastUse(number, last, job_id or None, job, len(tests), worked, sentence)


def substitutes_in_job(job_id: int) -> list[FittedSubstituteRecord]:
    """Return the substitutes that a job got for parts that it asked for, oldest first, without those undone."""
    fitted = {substitute.entry: substitute for substitute in fitted_substitutes(job_id=job_id)}
    rows: Any = Substitution.select().where(Substitution.entry << list(fitted)).order_by(Substitution.entry)
    return [
        FittedSubstituteRecord(
            row.entry,
            from_row(PartRecord, row.part),
            from_row(PartRecord, row.instead),
            row.quantity,
            fitted[row.entry].kept,
            row.differed,
            row.at,
            row.person.shown_as if row.person_id else "",
        )
        for row in rows
    ]


# ---- pulling a substitute --------------------------------------------------------------------------------


def pull_substitute(
    part_id: int, instead_id: int, job_id: int, *, quantity: int = 1, piece_id: int | None = None,
    bin_id: int | None = None, by: int | None = None,
) -> ActionResult:  # fmt: skip
    """Pull *instead_id* (or a piece of it) for a job that asked for *part_id*.

    Raises as ``pull`` does, and Conflict when it is neither a declared substitute nor fits by its attributes.
    """
    with transaction():
        requested, other = get_row(Part, part_id, "part"), get_row(Part, instead_id, "part")
        substitute = Substitute.get_or_none(Substitute.part == part_id, Substitute.instead == instead_id)
        if substitute is None and not _fits(requested, other):
            raise Conflict(
                f"Nothing says that {other.name} fits in place of {requested.name}: note it on its page first.",
                reason="does_not_fit",
            )
        texts = [substitute.differs.rstrip(".") if substitute else ""]
        texts += [difference.words for difference in _differences(requested, other)]
        differed = join_texts(*texts)
        if piece_id is not None:
            _check_piece_part(piece_id, other)
            return pull_piece(piece_id, job_id=job_id, by=by, instead_of=part_id, differed=differed)
        return pull(
            quantity, part_id=instead_id, bin_id=bin_id, job_id=job_id, by=by, instead_of=part_id, differed=differed
        )


def _check_piece_part(piece_id: int, other: Any) -> None:
    if get_row(Piece, piece_id, "piece").part_id != other.id:
        raise Conflict("That piece is of another part: look at its label again.", reason="other_part")
