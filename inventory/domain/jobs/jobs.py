"""Jobs, each a customer's repair: its needs and its suspects."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any

from peewee import fn

from inventory.domain.catalogue.parts import get_or_create_unit_model
from inventory.domain.catalogue.stock_totals import stock_by_part
from inventory.domain.common import clock
from inventory.domain.common.code_factory import unused_code
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict
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
    check_field_names,
    clean_text,
    clean_texts,
    conflict_if_taken,
    get_row,
    update_versioned,
    validated_choice,
    validated_number,
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
        values = _validated_fields(
            {"number": number or _next_number(), "unit_model": unit_model, "promised": promised, **texts}
        )
        with _conflict_if_number_taken(values["number"]):
            row = Job.create(code=unused_code(Job, "job"), opened=clock.now(), **values, search=_search_text(values))
        return _record(row)


def edit_job(job_id: int, version: int | None = None, **changes: Any) -> JobRecord:
    """Edit a job, but not its status: see ``close_job``, ``mark_waiting`` and ``reopen_job``."""
    with transaction():
        row = get_row(Job, job_id, "job")
        current = {name: getattr(row, name) for name in (*TEXT_LIMITS, "number", "promised")}
        current["unit_model"] = row.unit_model.name if row.unit_model else ""
        values = _validated_fields({**current, **changes})
        with _conflict_if_number_taken(values["number"]):
            update_versioned(row, "job", version, **values, search=_search_text(values))
        return job(job_id)


def _validated_fields(fields: dict[str, Any]) -> dict[str, Any]:
    check_field_names(fields, (*TEXT_LIMITS, "number", "unit_model", "promised"), "A job has no {}.")
    model = fields["unit_model"]
    return {
        **clean_texts(fields, TEXT_LIMITS),
        "number": clean_text(fields["number"], "number", 30, required=True),
        "unit_model": get_or_create_unit_model(model).id if str(model or "").strip() else None,
        "promised": validated_year(fields["promised"], "promised"),
    }


def _next_number() -> str:
    return str(1000 + (Job.select(fn.MAX(Job.id)).scalar() or 0) + 1)


def _conflict_if_number_taken(number: str) -> AbstractContextManager[None]:
    return conflict_if_taken(f"a job {number}", "choose another number")


_SEARCHED = ("number", "unit_serial", "customer", "symptom", "found")


def _search_text(values: dict[str, Any]) -> str:
    model = UnitModel.get_or_none(UnitModel.id == values["unit_model"])
    texts = [values[name] for name in _SEARCHED]
    return " ".join([*texts, model.name if model else ""]).casefold()


def _record(row: Any) -> JobRecord:
    return from_row(JobRecord, row, unit_model=row.unit_model.name if row.unit_model_id else "")


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
    """Mark an open job as waiting for something, such as a part in the post."""
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
        row = get_row(Job, job_id, "job")
        texts = {name: getattr(row, name) for name in _SEARCHED}
        search = _search_text({**texts, **more, "unit_model": row.unit_model_id})
        update_versioned(row, "job", version, status=status, **more, search=search)
        return job(job_id)


def get_open_job(job_id: int) -> Job:
    """Return the row of a job that is not closed; raise Conflict for a closed one."""
    row = get_row(Job, job_id, "job")
    if row.status == "closed":
        raise Conflict(
            f"Job {row.number} is closed: take another job in hand, or reopen this one.", reason="job_closed"
        )
    return row


# ---- needs and suspects ----------------------------------------------------------------------------------


def set_need(job_id: int, part_id: int, quantity: int) -> NeedRecord:
    """Set how many of a part a job needs in all, those already taken included."""
    with ledger.ledger_transaction():  # a pull that is under way counts towards it, or is counted here
        get_open_job(job_id)
        get_row(Part, part_id, "part")
        quantity = validated_quantity(quantity)
        need, _ = Need.get_or_create(job=job_id, part=part_id, defaults={"quantity": quantity, "at": clock.now()})
        changes = {"quantity": quantity, "taken": quantity_met(job_id, part_id), "dropped": False}
        Need.update(**changes).where(Need.id == need.id).execute()
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
    """Drop a need of a job."""
    with transaction():
        Need.update(dropped=True).where(Need.id == get_row(Need, need_id, "need").id).execute()


def needs(job_id: int) -> list[NeedRecord]:
    """Return the needs of a job, each with the stock on the shelf."""
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
    """Add a suspect to a job; adding it again changes nothing."""
    with transaction():
        get_open_job(job_id)
        if part_id is not None:
            get_row(Part, part_id, "part")
        name = clean_text(name, "suspect", 120, required=True)
        row, _ = Suspect.get_or_create(job=job_id, name=name, defaults={"part": part_id, "at": clock.now()})
    return from_row(SuspectRecord, row)


def set_verdict(suspect_id: int, verdict: str) -> SuspectRecord:
    """Set whether a suspect turned out bad or good (empty: not known)."""
    with transaction():
        row = get_row(Suspect, suspect_id, "suspect")
        row.verdict = validated_choice(verdict, "verdict", ("", "bad", "good"))
        row.save()
    return from_row(SuspectRecord, row)


def set_mask(suspect_id: int, mask: float | None) -> SuspectRecord:
    """Set that a suspect's fault is intermittent: *mask* is P(unit seen working | it is bad); None: it is not.

    Raises Invalid unless it is a chance from 0 to 0.99, Conflict for a closed job.
    """
    with transaction():
        row = get_row(Suspect, suspect_id, "suspect")
        get_open_job(row.job_id)
        sentence = f"The mask is the chance that a fault hides during a run: a number from 0 to {MAX_MASK}."
        row.mask = validated_number(mask, "mask", 0.0, MAX_MASK, sentence, whole=False, optional=True)
        row.save()
    return from_row(SuspectRecord, row)


def suspects(job_id: int) -> list[SuspectRecord]:
    """Return the suspects of a job, in the order added."""
    return [from_row(SuspectRecord, row) for row in filter_by(Suspect, job=job_id)]
