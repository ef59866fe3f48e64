"""The ordinary jobs: a unit comes in, what was wrong is found, parts are taken or waited for, it goes out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from inventory.domain.common import clock
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import job_closing
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive, undo
from seed.data_files import CauseRow
from seed.demand import JOBS_IN_HISTORY
from seed.demo_bench import FIRST_DAY, DemoBench
from seed.purchasing import run_when_received

NO_FAULT_SHARE = 0.05
BEYOND_REPAIR_SHARE = 0.015
ALL_SUSPECTS_SHARE = 0.3  # share of jobs on which every suspect was written down, not only the culprit
PUT_BACK_SHARE = 0.05
DOUBLE_TAP_SHARE = 0.015
LAST_ORDINARY_DAY = 4  # the days after that are told one by one


@dataclass(frozen=True)
class Repair:
    """A job in work: what is wrong, how many pieces it takes, and who does it."""

    job: JobRecord
    cause: CauseRow
    pieces: int
    by: int

    def uses(self) -> list[tuple[str, int]]:
        """Return every part the repair takes, with how many."""
        return [(self.cause.part, self.pieces), *self.cause.also]


def schedule_jobs(bench: DemoBench) -> None:
    """Write the ordinary jobs of eighteen months into the diary, spread evenly with some luck."""
    span = FIRST_DAY - 4 - LAST_ORDINARY_DAY
    for number in range(JOBS_IN_HISTORY):
        days = FIRST_DAY - 4 - int(span * (number + bench.rng.random()) / JOBS_IN_HISTORY)
        bench.on(days, bench.hour(8, 15), lambda: _open_random_job(bench))


def _open_random_job(bench: DemoBench) -> None:
    cause = random_cause(bench)
    job = open_job(bench, cause.model, cause.symptom)
    luck = bench.rng.random()
    looks_after = bench.rng.choice((0, 0, 1, 1, 2, 3))
    if luck < NO_FAULT_SHARE:
        bench.diary.later(looks_after, bench.hour(), lambda: _close_without_fault(bench, job))
    elif luck < NO_FAULT_SHARE + BEYOND_REPAIR_SHARE:
        bench.diary.later(looks_after, bench.hour(), lambda: _close_beyond_repair(bench, job, cause))
    else:
        repair = Repair(job, cause, bench.rng.choice(cause.pieces), bench.someone())
        bench.diary.later(looks_after, bench.hour(), lambda: start_repair(bench, repair))


def random_cause(bench: DemoBench) -> CauseRow:
    """Draw a model by its share of the jobs, then what is wrong with it."""
    models = bench.sheets.models
    key = bench.rng.choices(list(models), [model.share for model in models.values()])[0]
    causes = [cause for cause in bench.sheets.causes if cause.model == key]
    return bench.rng.choices(causes, [cause.weight for cause in causes])[0]


def find_cause(bench: DemoBench, model: str, suspect: str, symptom: str = "") -> CauseRow:
    """Return the cause that a story names."""
    return next(
        cause for cause in bench.sheets.causes
        if cause.model == model and cause.suspect == suspect and symptom in ("", cause.symptom)
    )  # fmt: skip


def open_job(bench: DemoBench, model: str, symptom: str, customer: str = "") -> JobRecord:
    """Book in a unit now."""
    promised = clock.today() + timedelta(days=bench.rng.randint(7, 16)) if bench.rng.random() < 0.7 else None
    return jobs.add_job(
        unit_model=bench.sheets.models[model].name, symptom=symptom, promised=promised,
        unit_serial=f"{model}-{bench.rng.randint(1000, 29999):05}",
        customer=customer or bench.rng.choice(bench.sheets.customers),
    )  # fmt: skip


def name_suspects(bench: DemoBench, job: JobRecord, model: str, symptom: str) -> dict[str, int]:
    """Write down everything that is behind such a symptom; return the suspects' ids by name."""
    causes = [cause for cause in bench.sheets.causes if (cause.model, cause.symptom) == (model, symptom)]
    return {cause.suspect: jobs.add_suspect(job.id, cause.suspect, bench.id(cause.part)).id for cause in causes}


def start_repair(bench: DemoBench, repair: Repair) -> None:
    """Find what is wrong, and take the parts or wait for them."""
    job, cause = repair.job, repair.cause
    if bench.rng.random() < ALL_SUSPECTS_SHARE:
        name_suspects(bench, job, cause.model, cause.symptom)
    if bench.rng.random() < 0.25:
        jobs.set_need(job.id, bench.id(cause.part), repair.pieces)
    repair_or_wait(bench, repair)


def repair_or_wait(bench: DemoBench, repair: Repair) -> None:
    """Take the parts if all are there; else note the need and go on when it has come in."""
    short = [(number, quantity) for number, quantity in repair.uses() if bench.on_shelf(number) < quantity]
    if not short:
        _repair(bench, repair)
        return
    for number, quantity in short:
        jobs.set_need(repair.job.id, bench.id(number), quantity)
    number, _ = short[0]
    jobs.mark_waiting(repair.job.id, bench.parts[number].name)
    run_when_received(bench, number, lambda: repair_or_wait(bench, repair))


def _repair(bench: DemoBench, repair: Repair) -> None:
    job, main = repair.job, repair.cause.part
    if jobs.job(job.id).status == "waiting":
        jobs.reopen_job(job.id)
    if bench.rng.random() < DOUBLE_TAP_SHARE:
        _double_tap(bench, repair)
        return
    for number, quantity in repair.uses():
        bench.pull(number, quantity, job.id, repair.by)
    if repair.pieces > 1 and bench.rng.random() < PUT_BACK_SHARE and bench.parts[main].kept == "counted":
        bench.diary.write(clock.now() + timedelta(minutes=25), lambda: _put_one_back(bench, repair))
    days = bench.rng.choice((0, 1, 1, 2, 3, 5, 8))
    bench.diary.later(days, bench.hour(14, 17), lambda: close_job(bench, job, repair.cause))


def _double_tap(bench: DemoBench, repair: Repair) -> None:
    """Tap once too often, undo it, and do it right."""
    result = bench.pull(repair.cause.part, 1, repair.job.id, repair.by)[0]
    now = clock.now()
    bench.diary.write(
        now + timedelta(seconds=20), lambda: undo.undo(result.entry, by=repair.by, reason="tapped twice")
    )
    bench.diary.write(now + timedelta(seconds=50), lambda: repair_or_wait(bench, repair))


def _put_one_back(bench: DemoBench, repair: Repair) -> None:
    pull.put_back(1, job_id=repair.job.id, part_id=bench.id(repair.cause.part), by=repair.by, reason="one not needed")


def close_job(bench: DemoBench, job: JobRecord, cause: CauseRow, found: str = "") -> None:
    """Close a job: the culprit bad, the other suspects cleared, and its spares judged by all that it saw."""
    named = {suspect.name: suspect for suspect in jobs.suspects(job.id)}
    culprit = named.get(cause.suspect) or jobs.add_suspect(job.id, cause.suspect, bench.id(cause.part))
    job_closing.close_with_causes(job.id, was=[culprit.id], found=found or cause.found)


def _close_without_fault(bench: DemoBench, job: JobRecord) -> None:
    jobs.close_job(job.id, bench.rng.choice((
        "Nothing found in two hours' run, cover on. Cable at the venue suspected.",
        "Nothing found; connectors cleaned and reseated.",
    )))  # fmt: skip


DONOR_PARTS = {
    "C7": ("MD-503", 1), "C4": ("MD-507", 1), "J3": ("FN-302", 1), "T12": ("MD-512", 1), "S16": ("MD-515", 2),
    "S24": ("FN-305", 1), "B2": ("OT-804", 1), "B4": ("FN-304", 1),
}  # fmt: skip
"""What is worth taking out of a unit that is scrapped for parts."""


def _close_beyond_repair(bench: DemoBench, job: JobRecord, cause: CauseRow) -> None:
    number, quantity = DONOR_PARTS.get(cause.model, ("", 0))
    if number:
        receive.receive(
            bench.id(number), quantity, bench.bin_of(number), origin="donor", job_id=job.id, by=bench.someone(),
            donor_worked=False, origin_note=f"{job.unit_model}, {cause.symptom.lower()}; left here by its owner",
        )  # fmt: skip
    jobs.close_job(job.id, "Not worth repairing; the customer left it here for parts.")
