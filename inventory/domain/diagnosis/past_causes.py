"""The causes of earlier jobs of the same model and symptom, from which the priors of a new job are worked out.

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
    suspects: tuple[NamedSuspect, ...]
    causes: tuple[NamedSuspect, ...]
    something_else: bool

    @property
    def causes_text(self) -> str:
        """Return its causes in words."""
        names = [cause.name for cause in self.causes] + ["something not on its list"] * self.something_else
        return " and ".join(names)


def starting_priors(job: Job, suspects: Sequence[Suspect]) -> tuple[SuspectPriors, PriorsRecord]:
    """Return the chances that the suspects of a job start with, and where these come from in words."""
    config = shop_config()
    same_symptom = _with_symptom(_jobs_closed_before(job), job)
    past = [other for other in same_symptom if other.causes or other.something_else]
    named = _named(suspects)
    times = [sum(any(suspect.is_like(cause) for cause in other.causes) for other in past) for suspect in named]
    elsewhere = sum(_was_not_listed(other, named) for other in past)
    priors = suspect_priors(times, elsewhere, config.smoothing)
    *shares, rest_share = priors.shares
    counts = tuple(
        PriorCount(suspect.name, count, share) for suspect, count, share in zip(named, times, shares, strict=True)
    )
    rest = PriorCount("not on the list", elsewhere, rest_share)
    counted = tuple(PriorJob(other.id, other.number, other.symptom, other.causes_text) for other in reversed(past))
    words = _describe_priors(job, past, counts, rest, config)
    return priors, PriorsRecord(words, len(past), counts, rest, config.prior_faults, counted)


def suggest_suspects(job_id: int) -> list[SuspectSuggestion]:
    """Return suspects of earlier jobs of the same model that this job has not named: same symptom first."""
    job = get_row(Job, job_id, "job")
    named, past = _named(job.suspects), _jobs_closed_before(job)
    suggestions = _count_suggestions(_with_symptom(past, job), named, "with this symptom")
    suggestions += _count_suggestions(past, named + _named(suggestions), f"on a {_model_name(job)}")
    return suggestions[:MAX_SUGGESTIONS]


def _named(suspects: Iterable[Any]) -> list[NamedSuspect]:
    return [NamedSuspect(suspect.name, suspect.part_id) for suspect in suspects]


def _with_symptom(past: Iterable[_PastJob], job: Job) -> list[_PastJob]:
    """Return the past jobs with the symptom of a job, in the words that matter."""
    symptom = significant_words(job.symptom)
    return [other for other in past if significant_words(other.symptom) == symptom]


def _part_numbers(suspects: Iterable[NamedSuspect]) -> dict[int | None, str]:
    """Return the parts' numbers by id, with nothing for a suspect without a part."""
    part_ids = [suspect.part_id for suspect in suspects if suspect.part_id is not None]
    return {None: "", **{part.id: part.number for part in Part.select().where(Part.id << part_ids)}}


def _count_suggestions(
    past: Iterable[_PastJob], excluded: Sequence[NamedSuspect], where: str
) -> list[SuspectSuggestion]:
    suspects: dict[str, NamedSuspect] = {}
    named_times: Counter[str] = Counter()
    times: Counter[str] = Counter()
    for job in past:
        for suspect in job.suspects:
            if not any(suspect.is_like(other) for other in excluded):
                key = normalize_words(suspect.name)
                suspects[key] = suspect
                named_times[key] += 1
                times[key] += suspect in job.causes
    numbers = _part_numbers(suspects.values())
    return [
        SuspectSuggestion(
            suspects[key].name, suspects[key].part_id, numbers[suspects[key].part_id], times[key],
            f"at fault {_times_in_words(times[key])} {where}",
        )
        for key in sorted(suspects, key=lambda key: (-times[key], -named_times[key], key))
    ]  # fmt: skip


def _times_in_words(number: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(number, f"{number} times")


def _model_name(job: Any) -> str:
    return job.unit_model.name if job.unit_model_id else "unit"


def _was_not_listed(past: _PastJob, suspects: Sequence[NamedSuspect]) -> bool:
    return past.something_else or any(
        not any(suspect.is_like(cause) for suspect in suspects) for cause in past.causes
    )


def _jobs_closed_before(job: Any) -> list[_PastJob]:
    if job.unit_model_id is None:
        return []
    same_model = (Job.unit_model == job.unit_model_id) & (Job.status == "closed") & (Job.closed <= job.opened)
    suspects: dict[int, list[Suspect]] = defaultdict(list)
    for suspect in Suspect.select(Suspect).join(Job).where(same_model).order_by(Suspect.id):
        suspects[suspect.job_id].append(suspect)
    closings = JobClosing.select(JobClosing).join(Job).where(same_model).order_by(JobClosing.id)
    last = {closing.job_id: closing for closing in closings}
    return [
        _past_job(job, suspects[job.id], last.get(job.id)) for job in Job.select().where(same_model).order_by(Job.id)
    ]


def _past_job(job: Any, suspects: Sequence[Suspect], closing: Any) -> _PastJob:
    causes = [suspect for suspect in suspects if suspect.verdict == "bad"]
    return _PastJob(
        job.id, job.number, job.symptom, tuple(_named(suspects)), tuple(_named(causes)),
        bool(closing and closing.something_else),
    )  # fmt: skip


def _describe_priors(
    job: Any, past_jobs: Sequence[_PastJob], counts: Sequence[PriorCount], not_listed: PriorCount, config: ShopConfig
) -> str:
    if not past_jobs:
        where = f"{_model_name(job)} with this symptom" if job.unit_model_id else "known model"
        return (
            f"No closed job on a {where} says what it was yet, so all suspects start equal, with "
            f"{chance_text(config.prior_elsewhere)} for something not on the list (assumed)."
        )
    phrases = [f"{count.name} {_times_in_words(count.times)}" for count in counts if count.times]
    phrases += [f"something not on this list {_times_in_words(not_listed.times)}"] if not_listed.times else []
    jobs = "1 closed job" if len(past_jobs) == 1 else f"{len(past_jobs)} closed jobs"
    return (
        f"On {jobs} of this model with this symptom it was: {', '.join(phrases)}. "
        f"Smoothed by {config.prior_faults:g} faults more, spread evenly (assumed)."
    )
