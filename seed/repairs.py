"""The ordinary jobs: a unit comes in, what was wrong is found, parts are taken or waited for, it goes out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from inventory.domain.common import clock
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import job_closing
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive, undo
from seed.data_files import Cause
from seed.demand import JOBS
from seed.demo_bench import FIRST_DAY, Bench
from seed.purchasing import wait_for

NOTHING_FOUND = 0.05
NOT_WORTH_IT = 0.015
ALL_SUSPECTS = 0.3  # share of jobs on which every suspect was written down, not only the culprit
ONE_TOO_MANY = 0.05
TAPPED_TWICE = 0.015
LAST_ORDINARY = 4  # the days after that are told one by one


@dataclass(frozen=True)
class Repair:
    """A job in work: what is wrong, how many pieces it takes, and who does it."""

    job: JobRecord
    cause: Cause
    pieces: int
    by: int

    def uses(self) -> list[tuple[str, int]]:
        """Return every part the repair takes, with how many."""
        return [(self.cause.part, self.pieces), *self.cause.also]


def take_in_jobs(bench: Bench) -> None:
    """Write the ordinary jobs of eighteen months into the diary, spread evenly with some luck."""
    span = FIRST_DAY - 4 - LAST_ORDINARY
    for number in range(JOBS):
        days = FIRST_DAY - 4 - int(span * (number + bench.rng.random()) / JOBS)
        bench.on(days, bench.hour(8, 15), lambda: _take_in(bench))


def _take_in(bench: Bench) -> None:
    cause = some_cause(bench)
    job = open_job(bench, cause.model, cause.symptom)
    luck = bench.rng.random()
    looks_after = bench.rng.choice((0, 0, 1, 1, 2, 3))
    if luck < NOTHING_FOUND:
        bench.diary.later(looks_after, bench.hour(), lambda: _nothing_found(bench, job))
    elif luck < NOTHING_FOUND + NOT_WORTH_IT:
        bench.diary.later(looks_after, bench.hour(), lambda: _not_worth_it(bench, job, cause))
    else:
        repair = Repair(job, cause, bench.rng.choice(cause.pieces), bench.someone())
        bench.diary.later(looks_after, bench.hour(), lambda: look_inside(bench, repair))


def some_cause(bench: Bench) -> Cause:
    """Draw a model by its share of the jobs, then what is wrong with it."""
    models = bench.sheets.models
    key = bench.rng.choices(list(models), [one.share for one in models.values()])[0]
    causes = [one for one in bench.sheets.causes if one.model == key]
    return bench.rng.choices(causes, [one.weight for one in causes])[0]


def the_cause(bench: Bench, model: str, suspect: str, symptom: str = "") -> Cause:
    """Return the cause that a story names."""
    return next(
        one for one in bench.sheets.causes
        if one.model == model and one.suspect == suspect and symptom in ("", one.symptom)
    )  # fmt: skip


def open_job(bench: Bench, model: str, symptom: str, customer: str = "") -> JobRecord:
    """Book in a unit now."""
    promised = clock.today() + timedelta(days=bench.rng.randint(7, 16)) if bench.rng.random() < 0.7 else None
    return jobs.add_job(
        unit_model=bench.sheets.models[model].name, symptom=symptom, promised=promised,
        unit_serial=f"{model}-{bench.rng.randint(1000, 29999):05}",
        customer=customer or bench.rng.choice(bench.sheets.customers),
    )  # fmt: skip


def name_suspects(bench: Bench, job: JobRecord, model: str, symptom: str) -> dict[str, int]:
    """Write down everything that is behind such a symptom; return the suspects' ids by name."""
    causes = [one for one in bench.sheets.causes if (one.model, one.symptom) == (model, symptom)]
    return {one.suspect: jobs.add_suspect(job.id, one.suspect, bench.id(one.part)).id for one in causes}


def look_inside(bench: Bench, repair: Repair) -> None:
    """Find what is wrong, and take the parts or wait for them."""
    job, cause = repair.job, repair.cause
    if bench.rng.random() < ALL_SUSPECTS:
        name_suspects(bench, job, cause.model, cause.symptom)
    if bench.rng.random() < 0.25:
        jobs.set_need(job.id, bench.id(cause.part), repair.pieces)
    repair_or_wait(bench, repair)


def repair_or_wait(bench: Bench, repair: Repair) -> None:
    """Take the parts if all are there; else note the need and go on when it has come in."""
    short = [(number, wanted) for number, wanted in repair.uses() if bench.on_shelf(number) < wanted]
    if not short:
        _repair(bench, repair)
        return
    for number, wanted in short:
        jobs.set_need(repair.job.id, bench.id(number), wanted)
    number, _ = short[0]
    jobs.wait_for(repair.job.id, bench.parts[number].name)
    wait_for(bench, number, lambda: repair_or_wait(bench, repair))


def _repair(bench: Bench, repair: Repair) -> None:
    job, main = repair.job, repair.cause.part
    if jobs.job(job.id).status == "waiting":
        jobs.reopen_job(job.id)
    if bench.rng.random() < TAPPED_TWICE:
        _slip(bench, repair)
        return
    for number, wanted in repair.uses():
        bench.pull(number, wanted, job.id, repair.by)
    if repair.pieces > 1 and bench.rng.random() < ONE_TOO_MANY and bench.parts[main].kept == "counted":
        bench.diary.write(clock.now() + timedelta(minutes=25), lambda: _put_one_back(bench, repair))
    days = bench.rng.choice((0, 1, 1, 2, 3, 5, 8))
    bench.diary.later(days, bench.hour(14, 17), lambda: close(bench, job, repair.cause))


def _slip(bench: Bench, repair: Repair) -> None:
    """Tap once too often, undo it, and do it right."""
    done = bench.pull(repair.cause.part, 1, repair.job.id, repair.by)[0]
    now = clock.now()
    bench.diary.write(now + timedelta(seconds=20), lambda: undo.undo(done.entry, by=repair.by, reason="tapped twice"))
    bench.diary.write(now + timedelta(seconds=50), lambda: repair_or_wait(bench, repair))


def _put_one_back(bench: Bench, repair: Repair) -> None:
    pull.put_back(1, job_id=repair.job.id, part_id=bench.id(repair.cause.part), by=repair.by, reason="one not needed")


def close(bench: Bench, job: JobRecord, cause: Cause, found: str = "") -> None:
    """Close a job: the culprit bad, the other suspects cleared, and its spares judged by all that it saw."""
    named = {one.name: one for one in jobs.suspects(job.id)}
    culprit = named.get(cause.suspect) or jobs.add_suspect(job.id, cause.suspect, bench.id(cause.part))
    job_closing.close(job.id, was=[culprit.id], found=found or cause.found)


def _nothing_found(bench: Bench, job: JobRecord) -> None:
    jobs.close_job(job.id, bench.rng.choice((
        "Nothing found in two hours' run, cover on. Cable at the venue suspected.",
        "Nothing found; connectors cleaned and reseated.",
    )))  # fmt: skip


HARVEST = {
    "C7": ("MD-503", 1), "C4": ("MD-507", 1), "J3": ("FN-302", 1), "T12": ("MD-512", 1), "S16": ("MD-515", 2),
    "S24": ("FN-305", 1), "B2": ("OT-804", 1), "B4": ("FN-304", 1),
}  # fmt: skip
"""What is worth taking out of a unit that is scrapped for parts."""


def _not_worth_it(bench: Bench, job: JobRecord, cause: Cause) -> None:
    number, quantity = HARVEST.get(cause.model, ("", 0))
    if number:
        receive.receive(
            bench.id(number), quantity, bench.bin_of(number), origin="donor", job_id=job.id, by=bench.someone(),
            donor_worked=False, origin_note=f"{job.unit_model}, {cause.symptom.lower()}; left here by its owner",
        )  # fmt: skip
    jobs.close_job(job.id, "Not worth repairing; the customer left it here for parts.")
