"""Which pieces could be swapped in for a suspect, the most trustworthy first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import PART_KINDS, get_row
from inventory.domain.proof.proof_records import STANDINGS_BEST_FIRST, PieceStatus, SpareChoice, SpareOption
from inventory.domain.proof.standings import is_available, piece_statuses
from inventory.store.tables import Job, Part, PartFit, Piece, Substitute, Suspect

SAME_PART = "the same part"
_NUMBER_WORDS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
_PLURALS = {"supply": "supplies", "hardware": "pieces of hardware", "other": "spares"}


def spares_for(
    *, suspect_id: int | None = None, part_id: int | None = None, job_id: int | None = None
) -> SpareChoice:
    """Return the pieces that fit a suspect, a part, or the unit model of a job, best first.

    A suspect whose part is not known is looked for among the parts that fit its job's unit model. Those that can
    be taken now come first, then by standing, then the very part before its substitutes.
    """
    if suspect_id is not None:
        return spares_for_suspects([get_row(Suspect, suspect_id, "suspect")])[suspect_id]
    if part_id is not None:
        fitting_parts = _substitutes_by_part([get_row(Part, part_id, "part").id])[part_id]
    elif job_id is not None:
        fitting_parts = _parts_fitting_model(get_row(Job, job_id, "job"), "")
    else:
        raise Invalid("Say which suspect, part or job a spare is wanted for.")
    return _spare_choice(fitting_parts, _pieces_present(fitting_parts))


def spares_for_suspects(suspects: Sequence[Any]) -> dict[int, SpareChoice]:
    """Return by suspect (rows, or records with the same names) what ``spares_for`` says of each, read at once."""
    substitutes = _substitutes_by_part([suspect.part_id for suspect in suspects if suspect.part_id is not None])
    fitting = {
        suspect.id: _parts_fitting_by_name(suspect) if suspect.part_id is None else substitutes[suspect.part_id]
        for suspect in suspects
    }
    present = _pieces_present({part: how for parts in fitting.values() for part, how in parts.items()})
    return {key: _spare_choice(parts, present) for key, parts in fitting.items()}


def _pieces_present(part_ids: Iterable[int]) -> list[PieceStatus]:
    """Return the pieces of these parts that are in a bin or out of one."""
    rows = Piece.select(Piece.id).where(Piece.part << list(part_ids), Piece.bin.is_null(False)).order_by(Piece.id)
    return piece_statuses([piece.id for piece in rows])


def _spare_choice(fitting_parts: Mapping[int, str], present: Iterable[PieceStatus]) -> SpareChoice:
    options = [
        SpareOption(status, fitting_parts[status.part.id], is_available(status))
        for status in present
        if status.part.id in fitting_parts
    ]
    options.sort(key=_sort_key)
    return SpareChoice(_summary(options), tuple(options))


def _parts_fitting_by_name(suspect: Any) -> dict[int, str]:
    return _parts_fitting_model(Job.get_by_id(suspect.job_id), _kind_from_name(suspect.name))


def _substitutes_by_part(part_ids: Sequence[int]) -> dict[int, dict[int, str]]:
    """Return by part what fits in its place, and why: the same part, or a substitute."""
    substitutes: dict[int, dict[int, str]] = {part: {} for part in part_ids}
    for substitute in Substitute.select().where(Substitute.part << list(substitutes)):
        substitutes[substitute.part_id][substitute.instead_id] = (
            f"stands in: {substitute.differs or 'no difference noted'}"
        )
    return {part: {**others, part: SAME_PART} for part, others in substitutes.items()}


def _parts_fitting_model(job: Any, kind: str) -> dict[int, str]:
    if job.unit_model_id is None:
        return {}
    query = Part.select(Part.id).join(PartFit).where(PartFit.unit_model == job.unit_model_id, ~Part.retired)
    if kind:
        query = query.where(Part.kind == kind)
    return {part.id: f"fits the {job.unit_model.name}" for part in query}


def _kind_from_name(text: str) -> str:
    """Return the kind of part that a suspect's name says ("rear fan" is a fan), or nothing."""
    words = text.casefold().replace("-", " ").split()
    return next((kind for kind in PART_KINDS if kind != "other" and (kind in words or _plural(kind) in words)), "")


def _sort_key(option: SpareOption) -> tuple[object, ...]:
    status = option.seen
    return (
        not option.free,
        STANDINGS_BEST_FIRST.index(status.standing.word),
        option.how != SAME_PART,
        not status.piece.spare,
        -status.standing.p_good,
        status.standing.matings,
        status.piece.id,
    )


def _summary(options: Sequence[SpareOption]) -> str:
    """Return the choice in a sentence: "Two proved fans fit, C-07 first."."""
    if not options:
        return "No spare fits: order one, or measure instead."
    free = [option.seen for option in options if option.free]
    if not free:
        first = options[0].seen
        return f"No spare that fits is free; {first.piece.shown_as} is {_why_unavailable(first)}."
    proved = [status for status in free if status.standing.word == "proved"]
    if not proved:
        first = free[0]
        return f"No proved spare fits; {first.piece.shown_as} is {first.standing.word}. {first.standing.worth}"
    what = _noun(proved)
    if len(proved) == 1:
        return f"One proved {what} fits: {proved[0].piece.shown_as}."
    number = _NUMBER_WORDS[len(proved)] if len(proved) < len(_NUMBER_WORDS) else str(len(proved))
    return f"{number} proved {what} fit, {proved[0].piece.shown_as} first."


def _why_unavailable(status: PieceStatus) -> str:
    return status.where.words if status.where.state == "out" else f"{status.where.words}, its lot on hold"


def _noun(statuses: Sequence[PieceStatus]) -> str:
    kinds = {status.part.kind for status in statuses}
    kind = kinds.pop() if len(kinds) == 1 else "other"
    if len(statuses) > 1:
        return _plural(kind)
    return {"hardware": "piece of hardware", "other": "spare"}.get(kind, kind)


def _plural(kind: str) -> str:
    return _PLURALS.get(kind, f"{kind}s")
