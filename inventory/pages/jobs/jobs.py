"""Jobs: the list, opening one, and everything done at a job's page."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.diagnosis import job_closing as learning
from inventory.domain.jobs import job_list, people, symptoms
from inventory.domain.jobs import jobs as domain
from inventory.domain.movements import pull
from inventory.pages import pages
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.forms import (
    CheckboxField,
    DateField,
    Form,
    IdField,
    IdListField,
    IntegerField,
    TextField,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.jobs import job_screen
from inventory.web.access import current_person, require_role


class JobFilter(Form):
    """What the list of jobs is narrowed by."""

    find = TextField()
    status = TextField()
    after = TextField()


class JobForm(Form):
    """What is noted of a job."""

    number = TextField()
    unit_model = TextField()
    unit_serial = TextField()
    customer = TextField()
    symptom = TextField(needed="Say what the unit does wrong, in a few words.")
    promised = DateField()
    note = TextField()


class NewJobForm(JobForm):
    """A job to be opened."""

    in_hand = CheckboxField()


class EditJobForm(JobForm):
    """A job whose notes are changed."""

    number = TextField(needed="A job needs a number.")
    symptom = TextField()
    found = TextField()
    version = IdField()


class CloseJobForm(Form):
    """What it was."""

    found = TextField()
    was = IdListField()
    something_else = CheckboxField()


class PutBackForm(Form):
    """What a job puts back."""

    lot = IdField()
    piece = IdField()
    amount = IntegerField(load_default=1)


class NeedForm(Form):
    """What a job wants of a part, in all."""

    part = TextField()
    amount = IntegerField(load_default=1)


class SuspectForm(Form):
    """What might be wrong."""

    name = TextField(needed="Name the suspect, such as rear fan.")
    part = TextField()


class JobLessonForm(Form):
    """What is worth knowing next time."""

    text = TextField(needed="Write the lesson in a sentence.")
    part = IdField()


# ---- the list, and opening one ---------------------------------------------------------------------------


@pages.get("/jobs")
def jobs() -> str:
    """List jobs: those to work on first."""
    query = load_query(JobFilter)
    groups = job_list.job_list(query["find"], query["status"], query["after"] or None)
    return render_template("jobs/job_list.html", groups=groups, **query)


@pages.get("/jobs/new")
@require_role("tech")
def new_job() -> str:
    """Ask what a new job is about."""
    return render_template("jobs/job_new.html", models=job_screen.known_models(), symptoms=symptoms.known_symptoms())


@pages.post("/jobs")
@form_action(new_job)
def open_job() -> Response:
    """Open a job."""
    opened = job_screen.open_new_job(by=current_person().id, **load_form(NewJobForm))
    flash(f"Job {opened.number} is open.", "good")
    return redirect_to("job", opened.id)


# ---- one job ---------------------------------------------------------------------------------------------


@pages.get("/jobs/<int:key>")
def job(key: int) -> str:
    """Show a job."""
    screen = job_screen.job_screen(key)
    return render_template("jobs/job.html", screen=screen, overview=screen.overview, job=screen.overview.job)


@pages.post("/jobs/<int:key>/in-hand")
@form_action(job)
def work_on_job(key: int) -> Response:
    """Make this the job that scans act on."""
    people.set_job_in_hand(current_person().id, key)
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/put-down")
@form_action(job)
def stop_work(key: int) -> Response:
    """Work on no job."""
    people.set_job_in_hand(current_person().id, None)
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/edit")
@form_action(job)
def edit_job(key: int) -> Response:
    """Change what is noted of a job."""
    domain.edit_job(key, **load_form(EditJobForm))
    flash("The job is changed.", "good")
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/wait")
@form_action(job)
def set_job_waiting(key: int) -> Response:
    """Note what the job waits for."""
    domain.mark_waiting(
        key, form_value("what", TextField(needed="Say what it waits for, such as a part in the post."))
    )
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/reopen")
@form_action(job)
def reopen_job(key: int) -> Response:
    """Work on the job again."""
    domain.reopen_job(key)
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/close")
@form_action(job)
def close_job(key: int) -> Response:
    """Close the job and note what it was."""
    closed = learning.close_with_causes(key, **load_form(CloseJobForm), by=current_person().id)
    flash(f"Job {closed.job.number} is closed.", "good")
    for carried in closed.carried:
        flash(carried.sentence, "good")
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/put-back")
@form_action(job)
def put_back_from_job(key: int) -> Response:
    """Put back what the job took and did not need."""
    data = load_form(PutBackForm)
    result = pull.put_back(
        data["amount"], job_id=key, lot_id=data["lot"], piece_id=data["piece"], by=current_person().id
    )
    return redirect_to("job", key, result.entry)


@pages.post("/jobs/<int:key>/needs")
@form_action(job)
def set_need(key: int) -> Response:
    """Note what the job wants of a part."""
    data = load_form(NeedForm)
    need = job_screen.set_need_from_form(key, data["part"], data["amount"])
    flash(f"Noted: {need.part.name}.", "good")
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/needs/<int:need>/drop")
@form_action(lambda key, need: job(key))
def drop_need(key: int, need: int) -> Response:
    """Remove a need from a job."""
    record = job_screen.drop_job_need(key, need)
    flash(f"No longer wanted: {record.part.name}.", "good")
    return redirect_to("job", key)


@pages.post("/jobs/<int:key>/suspects")
@form_action(job)
def add_suspect(key: int) -> Response:
    """Name something that might be wrong."""
    suspect = job_screen.add_suspect_from_form(key, **load_form(SuspectForm))
    return redirect(url_for("pages.job", key=key, _anchor=f"suspect-{suspect.id}"), 303)


@pages.post("/jobs/<int:key>/suspects/<int:suspect>/verdict")
@form_action(lambda key, suspect: job(key))
def set_verdict(key: int, suspect: int) -> Response:
    """Note what a suspect turned out to be."""
    job_screen.set_suspect_verdict(key, suspect, form_value("verdict", TextField()))
    return redirect(url_for("pages.job", key=key, _anchor=f"suspect-{suspect}"), 303)


@pages.post("/jobs/<int:key>/lessons")
@form_action(job)
def add_job_lesson(key: int) -> Response:
    """Keep a lesson that the job taught."""
    data = load_form(JobLessonForm)
    job_screen.add_job_lesson(key, data["text"], part_id=data["part"], by=current_person().id)
    flash("The lesson is kept.", "good")
    return redirect_to("job", key)
