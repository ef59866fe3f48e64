"""What earlier jobs of the same model and symptom turned out to be: where the chances of a new job start.

Only jobs closed before this one was opened count, so that a chance once shown can be worked out again.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.common.shop import Shop, shop
from inventory.domain.common.validation import row
from inventory.domain.diagnosis.diagnosis_records import CountedJob, PriorCount, PriorsRecord
from inventory.domain.jobs.symptoms import folded, meant
from inventory.reckoning.diagnosis.priors import Priors, priors
from inventory.reckoning.proof.standing import percent
from inventory.store.tables import Closing, Job, Part, Suspect

MOST_SUGGESTED = 8


@dataclass(frozen=True)
class Named:
    """A suspect by its name and the part that it would be."""

    name: str
    part_id: int | None

    def is_like(self, other: Named) -> bool:
        """Tell whether both mean the same thing: the same part, or the same name."""
        if self.part_id is not None and self.part_id == other.part_id:
            return True
        return folded(self.name) == folded(other.name)


@dataclass(frozen=True)
class Suggestion:
    """A suspect of earlier jobs that this one has not named yet."""

    name: str
    part_id: int | None
    part_number: str
    times: int  # that it was at fault
    words: str


@dataclass(frozen=True)
class _Past:
    """One closed job: what was named on it, and what it turned out to be."""

    id: int
    number: str
    symptom: str
    named: tuple[Named, ...]
    was: tuple[Named, ...]
    something_else: bool

    @property
    def it_was(self) -> str:
        """Say what it turned out to be."""
        names = [one.name for one in self.was] + ["something not on its list"] * self.something_else
        return " and ".join(names)


def start(job: Job, suspects: Sequence[Suspect]) -> tuple[Priors, PriorsRecord]:
    """Return the chances that the suspects of a job start with, and where these come from in words."""
    own = shop()
    symptom = meant(job.symptom)
    alike = [one for one in _closed_before(job) if meant(one.symptom) == symptom]
    known = [one for one in alike if one.was or one.something_else]
    mine = [Named(one.name, one.part_id) for one in suspects]
    times = [sum(any(one.is_like(cause) for cause in past.was) for past in known) for one in mine]
    elsewhere = sum(_elsewhere(past, mine) for past in known)
    found = priors(times, elsewhere, own.smoothing)
    counts = tuple(
        PriorCount(one.name, number, share) for one, number, share in zip(mine, times, found.shares[:-1], strict=True)
    )
    rest = PriorCount("not on the list", elsewhere, found.shares[-1])
    counted = tuple(CountedJob(one.id, one.number, one.symptom, one.it_was) for one in reversed(known))
    words = _in_words(job, known, counts, rest, own)
    return found, PriorsRecord(words, len(known), counts, rest, own.prior_faults, counted)


def suggested(job_id: int) -> list[Suggestion]:
    """Return suspects of earlier jobs of the same model that this job has not named: same symptom first."""
    job = row(Job, job_id, "job")
    mine = [Named(one.name, one.part_id) for one in job.suspects]
    past = _closed_before(job)
    symptom = meant(job.symptom)
    alike = [one for one in past if meant(one.symptom) == symptom]
    found = _tally(alike, mine, "with this symptom")
    found += _tally(past, [*mine, *(Named(one.name, one.part_id) for one in found)], f"on a {_model(job)}")
    return found[:MOST_SUGGESTED]


def _numbers(named: Iterable[Named]) -> dict[int | None, str]:
    """Return the parts' numbers by id, with nothing for a suspect without a part."""
    wanted = [one.part_id for one in named if one.part_id is not None]
    return {None: "", **{one.id: one.number for one in Part.select().where(Part.id << wanted)}}


def _tally(past: Iterable[_Past], known: Sequence[Named], where: str) -> list[Suggestion]:
    kept: dict[str, Named] = {}
    named: Counter[str] = Counter()
    times: Counter[str] = Counter()
    for job in past:
        for one in job.named:
            if not any(one.is_like(other) for other in known):
                kept[folded(one.name)] = one
                named[folded(one.name)] += 1
                times[folded(one.name)] += one in job.was
    numbers = _numbers(kept.values())
    order = sorted(kept, key=lambda key: (-times[key], -named[key], key))
    return [
        Suggestion(one.name, one.part_id, numbers[one.part_id], times[key], f"at fault {_times(times[key])} {where}")
        for key, one in ((key, kept[key]) for key in order)
    ]


def _times(number: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(number, f"{number} times")


def _model(job: Any) -> str:
    return job.unit_model.name if job.unit_model_id else "unit"


def _elsewhere(past: _Past, mine: Sequence[Named]) -> bool:
    return past.something_else or any(not any(one.is_like(cause) for one in mine) for cause in past.was)


def _closed_before(job: Any) -> list[_Past]:
    if job.unit_model_id is None:
        return []
    mine = (Job.unit_model == job.unit_model_id) & (Job.status == "closed") & (Job.closed <= job.opened)
    named: dict[int, list[Suspect]] = defaultdict(list)
    for one in Suspect.select(Suspect).join(Job).where(mine).order_by(Suspect.id):
        named[one.job_id].append(one)
    last = {one.job_id: one for one in Closing.select(Closing).join(Job).where(mine).order_by(Closing.id)}
    return [_past(one, named[one.id], last.get(one.id)) for one in Job.select().where(mine).order_by(Job.id)]


def _past(job: Any, suspects: Iterable[Suspect], closing: Any) -> _Past:
    named = [(Named(one.name, one.part_id), one.verdict == "bad") for one in suspects]
    return _Past(
        job.id, job.number, job.symptom, tuple(one for one, _ in named), tuple(one for one, bad in named if bad),
        bool(closing and closing.something_else),
    )  # fmt: skip


def _in_words(job: Any, known: Sequence[_Past], counts: Sequence[PriorCount], rest: PriorCount, own: Shop) -> str:
    if not known:
        where = f"{_model(job)} with this symptom" if job.unit_model_id else "known model"
        return (
            f"No closed job on a {where} says what it was yet, so all suspects start equal, with "
            f"{percent(own.prior_elsewhere)} for something not on the list (assumed)."
        )
    said = [f"{one.name} {_times(one.times)}" for one in counts if one.times]
    said += [f"something not on this list {_times(rest.times)}"] if rest.times else []
    jobs = "1 closed job" if len(known) == 1 else f"{len(known)} closed jobs"
    return (
        f"On {jobs} of this model with this symptom it was: {', '.join(said)}. "
        f"Smoothed by {own.prior_faults:g} faults more, spread evenly (assumed)."
    )
