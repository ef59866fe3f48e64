"""At a job: what it used, needs and suspects, and where to get what comes next, gathered for its page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import add_lesson, unit_models
from inventory.domain.catalogue.picking import sources
from inventory.domain.catalogue.resolve import listed, part_meant
from inventory.domain.catalogue.unit_model_parts import parts_of_model
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import (
    BinRecord,
    JobRecord,
    LessonRecord,
    NeedRecord,
    SuspectRecord,
    UnitModelRecord,
    read,
)
from inventory.domain.common.validation import row
from inventory.domain.jobs import jobs, people
from inventory.domain.money.notice_records import NoticeRecord
from inventory.domain.money.notices import notices
from inventory.domain.movements.overview import JobLook, look_at_job
from inventory.domain.movements.substitute_records import ModelPart, StoodInRecord
from inventory.domain.movements.suggested_substitutes import stood_in_at
from inventory.domain.proof.loans import loans
from inventory.domain.proof.proof_records import LoanRecord, PieceSeen, SpareChoice
from inventory.domain.proof.spares import spares_of
from inventory.domain.proof.standings import see
from inventory.pages.diagnosis.diagnosis_screen import AtDiagnosis, at_diagnosis
from inventory.store.connection import writing
from inventory.store.tables import Need, Suspect

MOST_USUAL = 8


@dataclass(frozen=True)
class Suspected:
    """A suspect with the pieces that could stand in for it, and the swap tests made of it."""

    suspect: SuspectRecord
    spares: SpareChoice
    tests: tuple[LoanRecord, ...]


@dataclass(frozen=True)
class AtJob:
    """A job as the person who works on it wants to see it."""

    look: JobLook
    out: tuple[LoanRecord, ...]
    suspected: tuple[Suspected, ...]
    places: dict[int, BinRecord]  # by part that is still missing: the bin to take it from
    part_lines: tuple[str, ...]
    mind: AtDiagnosis  # what might be wrong, and what to do next
    usual: tuple[ModelPart, ...]  # what jobs of the model used most, while this one is open
    stood_in: tuple[StoodInRecord, ...]  # what it got in place of what it had asked for, and keeps
    notice: NoticeRecord | None  # what the customer was told last


def at_job(job_id: int) -> AtJob:
    """Gather everything about a job."""
    seen = look_at_job(job_id)
    lent = list(loans(job_id=job_id, limit=200).items)
    closed = seen.job.status == "closed"
    fits = spares_of(seen.suspects)
    return AtJob(
        seen,
        tuple(one for one in lent if one.ended is None),
        tuple(_suspected(one, fits[one.id], lent) for one in seen.suspects),
        {} if closed else _places(seen.needs),
        () if closed else tuple(listed()),
        at_diagnosis(seen.job, fits),
        () if closed or seen.job.unit_model_id is None else tuple(_usual(seen.job.unit_model_id)),
        tuple(one for one in stood_in_at(job_id) if one.kept),
        next(iter(notices(job_id)), None),
    )


def _usual(unit_model_id: int) -> list[ModelPart]:
    """Return the parts that more than one job of the model used, or that are noted to fit."""
    return [one for one in parts_of_model(unit_model_id) if one.jobs > 1 or one.noted][:MOST_USUAL]


def _suspected(suspect: SuspectRecord, fits: SpareChoice, lent: Iterable[LoanRecord]) -> Suspected:
    tests = tuple(one for one in lent if one.suspect_id == suspect.id and one.result != "cancelled")
    return Suspected(suspect, fits, tests)


def _places(needs: Iterable[NeedRecord]) -> dict[int, BinRecord]:
    found = {one.part.id: _place(one.part.id) for one in needs if one.missing}
    return {part: place for part, place in found.items() if place is not None}


def _place(part_id: int) -> BinRecord | None:
    """Return the bin to take a part from: of what a pull would take, else of a piece kept to be fitted."""
    loose = sources(part_id)
    if loose:
        return read(BinRecord, loose[0].bin)
    free = [one for one in see([piece.id for piece in bins.pieces_in(part_id=part_id)]) if _may_be_fitted(one)]
    return bins.bin_(free[0].where.bin_id or 0) if free else None


def _may_be_fitted(seen: PieceSeen) -> bool:
    return seen.where.state == "in bin" and not seen.piece.spare and not seen.lot.on_hold


def known_models() -> list[UnitModelRecord]:
    """Return the unit models to pick from when a job is opened."""
    return unit_models()


def open_job(*, in_hand: bool, by: int, **given: str) -> JobRecord:
    """Open a job as ``jobs.add_job`` does, and take it in hand in the same breath."""
    with writing():
        made = jobs.add_job(**given)
        if in_hand:
            people.take_in_hand(by, made.id)
        return made


def want(job_id: int, part: str, quantity: int) -> NeedRecord:
    """Say how many of a *part* (as typed) a job wants in all, those already taken included."""
    with writing():
        return jobs.set_need(job_id, part_meant(part).id, quantity)


def drop_need(job_id: int, need_id: int) -> NeedRecord:
    """Note that a job does not want something after all."""
    with writing():
        found = row(Need, need_id, "need")
        _belongs(found.job_id, job_id, "need")
        jobs.drop_need(need_id)
        return next(one for one in jobs.needs(job_id) if one.id == need_id)


def suspect(job_id: int, name: str, part: str = "") -> SuspectRecord:
    """Name a suspect of a job, with the *part* (as typed) that it would be, if that is known."""
    with writing():
        return jobs.add_suspect(job_id, name, part_meant(part).id if part.strip() else None)


def judge(job_id: int, suspect_id: int, verdict: str) -> SuspectRecord:
    """Note that a suspect of a job was bad or good (empty: not known)."""
    with writing():
        _belongs(row(Suspect, suspect_id, "suspect").job_id, job_id, "suspect")
        return jobs.set_verdict(suspect_id, verdict)


def learn(job_id: int, text: str, *, part_id: int | None = None, by: int | None = None) -> LessonRecord:
    """Keep a lesson that a job taught, about its unit model or about one part."""
    model = None if part_id is not None else jobs.job(job_id).unit_model_id
    return add_lesson(text, part_id=part_id, unit_model_id=model, job_id=job_id, by=by)


def _belongs(found: int, job_id: int, what: str) -> None:
    if found != job_id:
        raise Conflict(f"That {what} is another job's: open that job first.", reason="other_job")
