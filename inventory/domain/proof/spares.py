"""Which pieces could stand in for a suspect, the most trustworthy first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import KINDS, row
from inventory.domain.proof.proof_records import PieceSeen, SpareChoice, SpareOption
from inventory.domain.proof.standings import BEST_FIRST, see
from inventory.store.tables import Job, Part, PartFit, Piece, Substitute, Suspect

SAME = "the same part"
_NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
_PLURALS = {"supply": "supplies", "hardware": "pieces of hardware", "other": "spares"}


def spares_for(
    *, suspect_id: int | None = None, part_id: int | None = None, job_id: int | None = None
) -> SpareChoice:
    """Return the pieces that fit a suspect, a part, or the unit model of a job, best first.

    A suspect whose part is not known is looked for among the parts that fit its job's unit model. Those that can
    be taken now come first, then by standing, then the very part before what stands in for it.
    """
    if suspect_id is not None:
        return spares_of([row(Suspect, suspect_id, "suspect")])[suspect_id]
    if part_id is not None:
        wanted = _stand_ins([row(Part, part_id, "part").id])[part_id]
    elif job_id is not None:
        wanted = _fits_model(row(Job, job_id, "job"), "")
    else:
        raise Invalid("Say which suspect, part or job a spare is wanted for.")
    return _choice(wanted, _here(wanted))


def spares_of(suspects: Sequence[Any]) -> dict[int, SpareChoice]:
    """Return by suspect (rows, or records with the same names) what ``spares_for`` says of each, read at once."""
    stand_ins = _stand_ins([one.part_id for one in suspects if one.part_id is not None])
    wanted = {
        one.id: _fits_as_named(one) if one.part_id is None else stand_ins[one.part_id] for one in suspects
    }  # fmt: skip
    here = _here({part: how for parts in wanted.values() for part, how in parts.items()})
    return {key: _choice(parts, here) for key, parts in wanted.items()}


def _here(wanted: Iterable[int]) -> list[PieceSeen]:
    """Return the pieces of these parts that are in a bin or out of one."""
    rows = Piece.select(Piece.id).where(Piece.part << list(wanted), Piece.bin.is_null(False)).order_by(Piece.id)
    return see([piece.id for piece in rows])


def _choice(wanted: Mapping[int, str], here: Iterable[PieceSeen]) -> SpareChoice:
    options = [
        SpareOption(one, wanted[one.part.id], one.where.state == "in bin" and not one.lot.on_hold)
        for one in here
        if one.part.id in wanted
    ]
    options.sort(key=_turn)
    return SpareChoice(_in_a_sentence(options), tuple(options))


def _fits_as_named(suspect: Any) -> dict[int, str]:
    return _fits_model(Job.get_by_id(suspect.job_id), _kind_named(suspect.name))


def _stand_ins(part_ids: Sequence[int]) -> dict[int, dict[int, str]]:
    """Return by part what fits in its place, and how."""
    found: dict[int, dict[int, str]] = {part: {} for part in part_ids}
    for one in Substitute.select().where(Substitute.part << list(found)):
        found[one.part_id][one.instead_id] = f"stands in: {one.differs or 'no difference noted'}"
    return {part: {**others, part: SAME} for part, others in found.items()}


def _fits_model(job: Any, kind: str) -> dict[int, str]:
    if job.unit_model_id is None:
        return {}
    query = Part.select(Part.id).join(PartFit).where(PartFit.unit_model == job.unit_model_id, ~Part.retired)
    if kind:
        query = query.where(Part.kind == kind)
    return {one.id: f"fits the {job.unit_model.name}" for one in query}


def _kind_named(text: str) -> str:
    """Return the kind of part that a suspect's name says ("rear fan" is a fan), or nothing."""
    words = text.casefold().replace("-", " ").split()
    return next((kind for kind in KINDS if kind != "other" and (kind in words or _plural(kind) in words)), "")


def _turn(option: SpareOption) -> tuple[object, ...]:
    seen = option.seen
    return (
        not option.free, BEST_FIRST.index(seen.standing.word), option.how != SAME, not seen.piece.spare,
        -seen.standing.p_good, seen.standing.matings, seen.piece.id,
    )  # fmt: skip


def _in_a_sentence(options: Sequence[SpareOption]) -> str:
    """Say it as one tech to another: "Two proved fans fit, C-07 first."."""
    if not options:
        return "No spare fits: order one, or measure instead."
    free = [one.seen for one in options if one.free]
    if not free:
        first = options[0].seen
        return f"No spare that fits is free; {first.piece.shown_as} is {_why_not(first)}."
    proved = [one for one in free if one.standing.word == "proved"]
    if not proved:
        first = free[0]
        return f"No proved spare fits; {first.piece.shown_as} is {first.standing.word}. {first.standing.worth}"
    what = _noun(proved)
    if len(proved) == 1:
        return f"One proved {what} fits: {proved[0].piece.shown_as}."
    number = _NUMBERS[len(proved)] if len(proved) < len(_NUMBERS) else str(len(proved))
    return f"{number} proved {what} fit, {proved[0].piece.shown_as} first."


def _why_not(seen: PieceSeen) -> str:
    return seen.where.words if seen.where.state == "out" else f"{seen.where.words}, its lot on hold"


def _noun(found: Sequence[PieceSeen]) -> str:
    kinds = {one.part.kind for one in found}
    kind = kinds.pop() if len(kinds) == 1 else "other"
    if len(found) > 1:
        return _plural(kind)
    return {"hardware": "piece of hardware", "other": "spare"}.get(kind, kind)


def _plural(kind: str) -> str:
    return _PLURALS.get(kind, f"{kind}s")
