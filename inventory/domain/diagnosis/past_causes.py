"""What earlier jobs of the same model and symptom turned out to be: where the chances of a new job start.

Only jobs closed before this one was opened count, so that a chance once shown can be worked out again.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from inventory.domain.common.shop import ShopConfig, shop_config
from inventory.domain.common.validation import get_row
from inventory.domain.diagnosis.diagnosis_records import PriorCount, PriorJob, PriorsRecord
from inventory.domain.jobs.symptoms import normalize_words, significant_words
from inventory.reckoning.diagnosis.priors import SuspectPriors, suspect_priors
from inventory.reckoning.proof.standing import chance_text
from inventory.store.tables import Job, JobClosing, Part, Suspect

MAX_SUGGESTIONS = 8


@dataclass(frozen=True)
class NamedSuspect:
    """A suspect by its name and the part that it would be."""

    name: str
    part_id: int | None

    def is_like(self, other: NamedSuspect) -> bool:
        """Tell whether both mean the same thing: the same part, or the same name."""
        if self.part_id is not None and self.part_id == other.part_id:
            return True
        return normalize_words(self.name) == normalize_words(other.name)


@dataclass(frozen=True)
class SuspectSuggestion:
    """A suspect of earlier jobs that this one has not named yet."""

    name: Annotated[str, "What it is."]
    part_id: Annotated[int | None, "The part it is."]
    part_number: str
    times: Annotated[int, "How often it was at fault."]
    words: Annotated[str, "The same, for people."]


@dataclass(frozen=True)
class _PastJob:
    """One closed job: what was named on it, and what it turned out to be."""

    id: int
    number: str
    symptom: str
    named: tuple[NamedSuspect, ...]
    was: tuple[NamedSuspect, ...]
    something_else: bool

    @property
    def it_was(self) -> str:
        """Say what it turned out to be."""
        names = [one.name for one in self.was] + ["something not on its list"] * self.something_else
        return " and ".join(names)


def starting_priors(job: Job, suspects: Sequence[Suspect]) -> tuple[SuspectPriors, PriorsRecord]:
    """Return the chances that the suspects of a job start with, and where these come from in words."""
    own = shop_config()
    symptom = significant_words(job.symptom)
    alike = [one for one in _jobs_closed_before(job) if significant_words(one.symptom) == symptom]
    known = [one for one in alike if one.was or one.something_else]
    mine = [NamedSuspect(suspect.name, suspect.part_id) for suspect in suspects]
    times = [sum(any(one.is_like(cause) for cause in past.was) for past in known) for one in mine]
    elsewhere = sum(_was_not_listed(past, mine) for past in known)
    found = suspect_priors(times, elsewhere, own.smoothing)
    counts = tuple(
        PriorCount(one.name, number, share) for one, number, share in zip(mine, times, found.shares[:-1], strict=True)
    )
    rest = PriorCount("not on the list", elsewhere, found.shares[-1])
    counted = tuple(PriorJob(one.id, one.number, one.symptom, one.it_was) for one in reversed(known))
    words = _describe_priors(job, known, counts, rest, own)
    return found, PriorsRecord(words, len(known), counts, rest, own.prior_faults, counted)


def suggest_suspects(job_id: int) -> list[SuspectSuggestion]:
    """Return suspects of earlier jobs of the same model that this job has not named: same symptom first."""
    job = get_row(Job, job_id, "job")
    mine = [NamedSuspect(suspect.name, suspect.part_id) for suspect in job.suspects]
    past = _jobs_closed_before(job)
    symptom = significant_words(job.symptom)
    alike = [one for one in past if significant_words(one.symptom) == symptom]
    found = _count_suggestions(alike, mine, "with this symptom")
    found += _count_suggestions(
        past, [*mine, *(NamedSuspect(one.name, one.part_id) for one in found)], f"on a {_model_name(job)}"
    )
    return found[:MAX_SUGGESTIONS]


def _part_numbers(named: Iterable[NamedSuspect]) -> dict[int | None, str]:
    """Return the parts' numbers by id, with nothing for a suspect without a part."""
    wanted = [one.part_id for one in named if one.part_id is not None]
    return {None: "", **{part.id: part.number for part in Part.select().where(Part.id << wanted)}}


def _count_suggestions(
    past: Iterable[_PastJob], known: Sequence[NamedSuspect], where: str
) -> list[SuspectSuggestion]:
    kept: dict[str, NamedSuspect] = {}
    named: Counter[str] = Counter()
    times: Counter[str] = Counter()
    for job in past:
        for one in job.named:
            if not any(one.is_like(other) for other in known):
                kept[normalize_words(one.name)] = one
                named[normalize_words(one.name)] += 1
                times[normalize_words(one.name)] += one in job.was
    numbers = _part_numbers(kept.values())
    order = sorted(kept, key=lambda key: (-times[key], -named[key], key))
    return [
        SuspectSuggestion(
            one.name, one.part_id, numbers[one.part_id], times[key], f"at fault {_times_in_words(times[key])} {where}"
        )
        for key, one in ((key, kept[key]) for key in order)
    ]


def _times_in_words(number: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(number, f"{number} times")


def _model_name(job: Any) -> str:
    return job.unit_model.name if job.unit_model_id else "unit"


def _was_not_listed(past: _PastJob, mine: Sequence[NamedSuspect]) -> bool:
    return past.something_else or any(not any(one.is_like(cause) for one in mine) for cause in past.was)


def _jobs_closed_before(job: Any) -> list[_PastJob]:
    if job.unit_model_id is None:
        return []
    mine = (Job.unit_model == job.unit_model_id) & (Job.status == "closed") & (Job.closed <= job.opened)
    named: dict[int, list[Suspect]] = defaultdict(list)
    for suspect in Suspect.select(Suspect).join(Job).where(mine).order_by(Suspect.id):
        named[suspect.job_id].append(suspect)
    last = {
        job_closing.job_id: job_closing
        for job_closing in JobClosing.select(JobClosing).join(Job).where(mine).order_by(JobClosing.id)
    }
    return [_past_job(job, named[job.id], last.get(job.id)) for job in Job.select().where(mine).order_by(Job.id)]


def _past_job(job: Any, suspects: Iterable[Suspect], closing: Any) -> _PastJob:
    named = [(NamedSuspect(suspect.name, suspect.part_id), suspect.verdict == "bad") for suspect in suspects]
    return _PastJob(
        job.id, job.number, job.symptom, tuple(one for one, _ in named), tuple(one for one, bad in named if bad),
        bool(closing and closing.something_else),
    )  # fmt: skip


def _describe_priors(
    job: Any, known: Sequence[_PastJob], counts: Sequence[PriorCount], rest: PriorCount, own: ShopConfig
) -> str:
    if not known:
        where = f"{_model_name(job)} with this symptom" if job.unit_model_id else "known model"
        return (
            f"No closed job on a {where} says what it was yet, so all suspects start equal, with "
            f"{chance_text(own.prior_elsewhere)} for something not on the list (assumed)."
        )
    said = [f"{count.name} {_times_in_words(count.times)}" for count in counts if count.times]
    said += [f"something not on this list {_times_in_words(rest.times)}"] if rest.times else []
    jobs = "1 closed job" if len(known) == 1 else f"{len(known)} closed jobs"
    return (
        f"On {jobs} of this model with this symptom it was: {', '.join(said)}. "
        f"Smoothed by {own.prior_faults:g} faults more, spread evenly (assumed)."
    )
