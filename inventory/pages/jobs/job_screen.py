"""At a job: what it used, needs and suspects, and where to get what comes next, gathered for its page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import add_lesson, unit_models
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.resolve import part_choices, resolve_part
from inventory.domain.catalogue.unit_model_parts import ModelPart, parts_of_model
from inventory.domain.common.atomic import atomic
from inventory.domain.common.records import (
    BinRecord,
    JobRecord,
    LessonRecord,
    NeedRecord,
    SuspectRecord,
    UnitModelRecord,
    from_row,
)
from inventory.domain.jobs import jobs, people
from inventory.domain.money.notice_records import NoticeRecord
from inventory.domain.money.notices import notices
from inventory.domain.movements.overview import JobOverview, job_overview
from inventory.domain.movements.substitute_records import FittedSubstituteRecord
from inventory.domain.movements.suggested_substitutes import substitutes_in_job
from inventory.domain.proof.loans import loans
from inventory.domain.proof.proof_records import LoanRecord, SpareChoice
from inventory.domain.proof.spares import spares_for_suspects
from inventory.domain.proof.standings import is_fittable, piece_statuses
from inventory.pages.diagnosis.diagnosis_screen import DiagnosisScreen, diagnosis_screen

MAX_USUAL = 8


@dataclass(frozen=True)
class SuspectView:
    """A suspect with the pieces that could stand in for it, and the swap tests made of it."""

    suspect: SuspectRecord
    spares: SpareChoice
    tests: tuple[LoanRecord, ...]


@dataclass(frozen=True)
class JobScreen:
    """A job as the person who works on it wants to see it."""

    overview: JobOverview
    out: tuple[LoanRecord, ...]
    suspected: tuple[SuspectView, ...]
    places: dict[int, BinRecord]  # by part that is still missing: the bin to take it from
    part_lines: tuple[str, ...]
    diagnosis: DiagnosisScreen  # what might be wrong, and what to do next
    usual: tuple[ModelPart, ...]  # what jobs of the model used most, while this one is open
    stood_in: tuple[FittedSubstituteRecord, ...]  # what it got in place of what it had asked for, and keeps
    notice: NoticeRecord | None  # what the customer was told last


def job_screen(job_id: int) -> JobScreen:
    """Gather everything about a job."""
    overview = job_overview(job_id)
    all_loans = list(loans(job_id=job_id, limit=200).items)
    closed = overview.job.status == "closed"
    fits = spares_for_suspects(overview.suspects)
    return JobScreen(
        overview,
        tuple(item for item in all_loans if item.ended is None),
        tuple(_suspect_view(suspect, fits[suspect.id], all_loans) for suspect in overview.suspects),
        {} if closed else _bin_by_part(overview.needs),
        () if closed else tuple(part_choices()),
        diagnosis_screen(overview.job, fits),
        () if closed or overview.job.unit_model_id is None else tuple(_usual_parts(overview.job.unit_model_id)),
        tuple(item for item in substitutes_in_job(job_id) if item.kept),
        next(iter(notices(job_id)), None),
    )


def _usual_parts(unit_model_id: int) -> list[ModelPart]:
    """Return the parts that more than one job of the model used, or that are noted to fit."""
    return [part for part in parts_of_model(unit_model_id) if part.jobs > 1 or part.noted][:MAX_USUAL]


def _suspect_view(suspect: SuspectRecord, fits: SpareChoice, all_loans: Iterable[LoanRecord]) -> SuspectView:
    tests = tuple(loan for loan in all_loans if loan.suspect_id == suspect.id and loan.result != "cancelled")
    return SuspectView(suspect, fits, tests)


def _bin_by_part(needs: Iterable[NeedRecord]) -> dict[int, BinRecord]:
    bins_by_part = {need.part.id: _bin_to_take_from(need.part.id) for need in needs if need.missing}
    return {part: place for part, place in bins_by_part.items() if place is not None}


def _bin_to_take_from(part_id: int) -> BinRecord | None:
    """Return the bin to take a part from: of what a pull would take, else of a piece kept to be fitted."""
    loose = pick_sources(part_id)
    if loose:
        return from_row(BinRecord, loose[0].bin)
    statuses = piece_statuses([piece.id for piece in bins.stocked_pieces(part_id=part_id)])
    free = next(filter(is_fittable, statuses), None)
    return bins.get_bin(free.where.bin_id or 0) if free else None


def known_models() -> list[UnitModelRecord]:
    """Return the unit models to pick from when a job is opened."""
    return unit_models()


def open_new_job(*, in_hand: bool, by: int, **given: str) -> JobRecord:
    """Open a job as ``jobs.add_job`` does, and work on it (*in_hand*), in one transaction."""
    with atomic():
        job = jobs.add_job(**given)
        if in_hand:
            people.set_job_in_hand(by, job.id)
        return job


def set_need_from_form(job_id: int, part: str, quantity: int) -> NeedRecord:
    """Say how many of a *part* (as typed) a job wants in all, those already taken included."""
    with atomic():
        return jobs.set_need(job_id, resolve_part(part).id, quantity)


def drop_job_need(job_id: int, need_id: int) -> NeedRecord:
    """Drop a need of a job; raise Conflict for that of another job."""
    with atomic():
        jobs.drop_need(jobs.need_of_job(job_id, need_id).id)
        return jobs.need_of_job(job_id, need_id)


def add_suspect_from_form(job_id: int, name: str, part: str = "") -> SuspectRecord:
    """Name a suspect of a job, with the *part* (as typed) that it would be, if that is known."""
    with atomic():
        return jobs.add_suspect(job_id, name, resolve_part(part).id if part.strip() else None)


def set_suspect_verdict(job_id: int, suspect_id: int, verdict: str) -> SuspectRecord:
    """Note that a suspect of a job was bad or good (empty: not known)."""
    with atomic():
        return jobs.set_verdict(jobs.suspect_of_job(job_id, suspect_id).id, verdict)


def add_job_lesson(job_id: int, text: str, *, part_id: int | None = None, by: int | None = None) -> LessonRecord:
    """Keep a lesson that a job taught, about its unit model or about one part."""
    model = None if part_id is not None else jobs.job(job_id).unit_model_id
    return add_lesson(text, part_id=part_id, unit_model_id=model, job_id=job_id, by=by)
