"""Jobs: one customer's repair each, what it needs, and what might be wrong."""

from __future__ import annotations

from typing import Any

from peewee import IntegrityError, fn

from inventory.domain.catalogue.parts import get_or_create_unit_model
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import contains_words, paginate
from inventory.domain.common.records import (
    JOB_STATUSES,
    JobRecord,
    NeedRecord,
    PartRecord,
    ResultPage,
    SuspectRecord,
    from_row,
)
from inventory.domain.common.validation import (
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
    validated_quantity,
    validated_year,
)
from inventory.domain.jobs.fitted_substitutes import quantity_met
from inventory.store import ledger
from inventory.store.connection import transaction
from inventory.store.queries import filter_by
from inventory.store.tables import Job, Loan, Need, Part, Person, Suspect, UnitModel

MAX_MASK = 0.99  # a fault that always hides could never be found
TEXT_LIMITS = text_limits(JobRecord, leave_out=("number", "unit_model"))


def add_job(*, number: str = "", unit_model: str = "", promised: Any = None, **texts: str) -> JobRecord:
    """Open a job. Without a *number* it gets the next one; a *unit_model* not known yet is added."""
    with transaction():
        given = _validated_fields(
            {"number": number or _next_number(), "unit_model": unit_model, "promised": promised, **texts}
        )
        try:
            made = Job.create(code=unused_code(Job, "job"), opened=clock.now(), **given, search=_search_text(given))
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        return _record(made)


def edit_job(job_id: int, version: int | None = None, **changes: Any) -> JobRecord:
    """Change what is noted of a job (not its status: see ``close_job``, ``wait_for`` and ``reopen_job``)."""
    with transaction():
        found = get_row(Job, job_id, "job")
        now = {name: getattr(found, name) for name in (*TEXT_LIMITS, "number", "promised")}
        now["unit_model"] = found.unit_model.name if found.unit_model else ""
        given = _validated_fields({**now, **changes})
        try:
            update_versioned(found, "job", version, **given, search=_search_text(given))
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        return job(job_id)


def _validated_fields(given: dict[str, Any]) -> dict[str, Any]:
    unknown = set(given) - {*TEXT_LIMITS, "number", "unit_model", "promised"}
    if unknown:
        raise Invalid(f"A job has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
    kept: dict[str, Any] = {
        n: clean_text(given.get(n, ""), n.replace("_", " "), most) for n, most in TEXT_LIMITS.items()
    }
    kept["number"] = clean_text(given["number"], "number", 30, required=True)
    kept["unit_model"] = (
        get_or_create_unit_model(given["unit_model"]).id if str(given["unit_model"] or "").strip() else None
    )
    kept["promised"] = validated_year(given["promised"], "promised")
    return kept


def _next_number() -> str:
    return str(1000 + (Job.select(fn.MAX(Job.id)).scalar() or 0) + 1)


def _number_taken(number: str) -> Conflict:
    return Conflict(f"There is a job {number} already: choose another number.", reason="taken")


def _search_text(given: dict[str, Any]) -> str:
    model = UnitModel.get_or_none(UnitModel.id == given["unit_model"])
    texts = [given[n] for n in ("number", "unit_serial", "customer", "symptom", "found")]
    return " ".join([*texts, model.name if model else ""]).casefold()


def _record(found: Any) -> JobRecord:
    return from_row(JobRecord, found, unit_model=found.unit_model.name if found.unit_model_id else "")


def job(job_id: int) -> JobRecord:
    """Return one job."""
    return _record(get_row(Job, job_id, "job"))


def jobs(*, find: str = "", status: str | None = None, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return jobs, newest first; *status* may also be "not closed"."""
    query = Job.select()
    if find.strip():
        query = query.where(contains_words(Job.search, find))
    if status == "not closed":
        query = query.where(Job.status != "closed")
    elif status:
        query = query.where(Job.status == validated_choice(status, "status", JOB_STATUSES))
    return paginate(query, Job.id, after, limit, _record, descending=True)


def jobs_of_model(unit_model_id: int, limit: int) -> tuple[list[JobRecord], int]:
    """Return the newest jobs of a unit model, at most *limit*, and how many there are in all."""
    query = Job.select().where(Job.unit_model == unit_model_id)
    return [_record(row) for row in query.order_by(Job.id.desc()).limit(limit)], query.count()


def mark_waiting(job_id: int, what: str, version: int | None = None) -> JobRecord:
    """Note that an open job waits for something, such as a part in the post."""
    with transaction():
        get_open_job(job_id)
        return _change_status(job_id, version, "waiting", waiting_for=clean_text(what, "reason", 300, required=True))


def reopen_job(job_id: int, version: int | None = None) -> JobRecord:
    """Work on a waiting or closed job again."""
    return _change_status(job_id, version, "open", waiting_for="", closed=None)


def close_job(job_id: int, found: str = "", version: int | None = None) -> JobRecord:
    """Close a job and note what it was. Refused while a piece is out to it."""
    with ledger.ledger_transaction():  # a piece may be going out to it at this moment
        out = Loan.select().where(Loan.job == job_id, Loan.ended.is_null()).count()
        if out:
            raise Conflict(f"{out} lent to this job: bring back or leave fitted first.", reason="pieces_out")
        closed = _change_status(
            job_id, version, "closed", closed=clock.now(), waiting_for="", found=clean_text(found, "finding", 2000)
        )
        Person.update(job_in_hand_id=None).where(Person.job_in_hand_id == job_id).execute()
        return closed


def _change_status(job_id: int, version: int | None, status: str, **more: Any) -> JobRecord:
    with transaction():
        found = get_row(Job, job_id, "job")
        texts = {n: getattr(found, n) for n in ("number", "unit_serial", "customer", "symptom", "found")}
        search = _search_text({**texts, **more, "unit_model": found.unit_model_id})
        update_versioned(found, "job", version, status=status, **more, search=search)
        return job(job_id)


def get_open_job(job_id: int) -> Job:
    """Return the row of a job that may still use parts; raise Conflict for a closed one."""
    found = get_row(Job, job_id, "job")
    if found.status == "closed":
        raise Conflict(
            f"Job {found.number} is closed: take another job in hand, or reopen this one.",
            reason="job_closed",
        )
    return found


# ---- needs and suspects ----------------------------------------------------------------------------------


def set_need(job_id: int, part_id: int, quantity: int) -> NeedRecord:
    """Say how many of a part a job wants in all, those already taken included."""
    with ledger.ledger_transaction():  # a pull that is under way counts towards it, or is counted here
        get_open_job(job_id)
        get_row(Part, part_id, "part")
        wanted = validated_quantity(quantity)
        need, _ = Need.get_or_create(job=job_id, part=part_id, defaults={"quantity": wanted, "at": clock.now()})
        now = {"quantity": wanted, "taken": quantity_met(job_id, part_id), "dropped": False}
        Need.update(**now).where(Need.id == need.id).execute()
    return next(need for need in needs(job_id) if need.part.id == part_id)


def raise_need(job_id: int, part_id: int, quantity: int) -> NeedRecord:
    """Say that a job wants *quantity* more of a part than it has now, so that it is ordered."""
    with ledger.ledger_transaction():
        need = Need.get_or_none(Need.job == job_id, Need.part == part_id)
        missing = 0 if need is None or need.dropped else max(0, need.quantity - need.taken)
        return set_need(job_id, part_id, (need.taken if need is not None else 0) + missing + quantity)


def need_of_job(job_id: int, need_id: int) -> NeedRecord:
    """Return a need of a job; raise Conflict for that of another job."""
    _require_of_job(get_row(Need, need_id, "need"), job_id, "need")
    return next(need for need in needs(job_id) if need.id == need_id)


def suspect_of_job(job_id: int, suspect_id: int) -> SuspectRecord:
    """Return a suspect of a job; raise Conflict for that of another job."""
    row = get_row(Suspect, suspect_id, "suspect")
    _require_of_job(row, job_id, "suspect")
    return from_row(SuspectRecord, row)


def _require_of_job(row: Any, job_id: int, what: str) -> None:
    if row.job_id != job_id:
        raise Conflict(f"That {what} is another job's: open that job first.", reason="other_job")


def drop_need(need_id: int) -> None:
    """Note that the job does not want it after all."""
    with transaction():
        Need.update(dropped=True).where(Need.id == get_row(Need, need_id, "need").id).execute()


def needs(job_id: int) -> list[NeedRecord]:
    """Return what a job wants, with what is on the shelf of each."""
    rows = list(Need.select(Need, Part).join(Part).where(Need.job == job_id).order_by(Need.id))
    shelf = stock_by_part([row.part_id for row in rows])
    return [
        from_row(
            NeedRecord, row, part=from_row(PartRecord, row.part),
            on_shelf=shelf[row.part_id].on_shelf if row.part_id in shelf else 0,
        )
        for row in rows
    ]  # fmt: skip


def add_suspect(job_id: int, name: str, part_id: int | None = None) -> SuspectRecord:
    """Name something that might be wrong in a job; naming it twice changes nothing."""
    with transaction():
        get_open_job(job_id)
        if part_id is not None:
            get_row(Part, part_id, "part")
        kept = clean_text(name, "suspect", 120, required=True)
        found, _ = Suspect.get_or_create(job=job_id, name=kept, defaults={"part": part_id, "at": clock.now()})
    return from_row(SuspectRecord, found)


def set_verdict(suspect_id: int, verdict: str) -> SuspectRecord:
    """Note that a suspect turned out bad or good (empty: not known)."""
    with transaction():
        found = get_row(Suspect, suspect_id, "suspect")
        found.verdict = validated_choice(verdict, "verdict", ("", "bad", "good"))
        found.save()
    return from_row(SuspectRecord, found)


def set_mask(suspect_id: int, mask: float | None) -> SuspectRecord:
    """Note that a suspect's fault comes and goes: *mask* is P(unit seen working | it is bad); None: it does not.

    Raises Invalid for what is no chance from 0 to 0.99, Conflict for a closed job.
    """
    with transaction():
        found = get_row(Suspect, suspect_id, "suspect")
        get_open_job(found.job_id)
        number = isinstance(mask, int | float) and not isinstance(mask, bool)
        if mask is not None and not (number and 0.0 <= mask <= MAX_MASK):
            sentence = f"The mask is the chance that a fault hides during a run: a number from 0 to {MAX_MASK}."
            raise Invalid(sentence, errors={"mask": [sentence]})
        found.mask = None if mask is None else float(mask)
        found.save()
    return from_row(SuspectRecord, found)


def suspects(job_id: int) -> list[SuspectRecord]:
    """Return what might be wrong in a job, in the order named."""
    return [from_row(SuspectRecord, one) for one in filter_by(Suspect, job=job_id)]
