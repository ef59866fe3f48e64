"""Jobs: the list, opening one, and everything done at a job's page."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.diagnosis import job_closing as learning
from inventory.domain.jobs import job_list, people, symptoms
from inventory.domain.jobs import jobs as stock
from inventory.domain.movements import pull
from inventory.pages import pages
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Day, Form, Key, Keys, Text, Tick, Whole, read_form, read_query
from inventory.pages.jobs import job_screen
from inventory.web.access import caller, for_role


class Search(Form):
    """What the list of jobs is narrowed by."""

    find = Text()
    status = Text()
    after = Text()


class JobForm(Form):
    """What is noted of a job."""

    number = Text()
    unit_model = Text()
    unit_serial = Text()
    customer = Text()
    symptom = Text(needed="Say what the unit does wrong, in a few words.")
    promised = Day()
    note = Text()


class NewJob(JobForm):
    """A job to be opened."""

    in_hand = Tick()


class EditJob(JobForm):
    """A job whose notes are changed."""

    number = Text(needed="A job needs a number.")
    symptom = Text()
    found = Text()
    version = Key()


class Wait(Form):
    """What a job waits for."""

    what = Text(needed="Say what it waits for, such as a part in the post.")


class Close(Form):
    """What it was."""

    found = Text()
    was = Keys()
    something_else = Tick()


class Back(Form):
    """What a job puts back."""

    lot = Key()
    piece = Key()
    amount = Whole(load_default=1)


class Want(Form):
    """What a job wants of a part, in all."""

    part = Text()
    amount = Whole(load_default=1)


class Suspect(Form):
    """What might be wrong."""

    name = Text(needed="Name the suspect, such as rear fan.")
    part = Text()


class Verdict(Form):
    """What a suspect turned out to be."""

    verdict = Text()


class Lesson(Form):
    """What is worth knowing next time."""

    text = Text(needed="Write the lesson in a sentence.")
    part = Key()


# ---- the list, and opening one ---------------------------------------------------------------------------


@pages.get("/jobs")
def jobs() -> str:
    """List jobs: those to work on first."""
    asked = read_query(Search)
    groups = job_list.job_list(asked["find"], asked["status"], asked["after"] or None)
    return render_template("jobs/job_list.html", groups=groups, **asked)


def _show_new() -> str:
    return render_template("jobs/job_new.html", models=job_screen.known_models(), symptoms=symptoms.known_symptoms())


@pages.get("/jobs/new")
@for_role("tech")
def new_job() -> str:
    """Ask what a new job is about."""
    return _show_new()


@pages.post("/jobs")
@acts(_show_new)
def open_job() -> Response:
    """Open a job."""
    made = job_screen.open_job(by=caller().id, **read_form(NewJob))
    flash(f"Job {made.number} is open.", "good")
    return to_thing("job", made.id)


# ---- one job ---------------------------------------------------------------------------------------------


def show_job(key: int) -> str:
    """Render the page of a job."""
    desk = job_screen.at_job(key)
    return render_template("jobs/job.html", desk=desk, look=desk.look, job=desk.look.job)


@pages.get("/jobs/<int:key>")
def job(key: int) -> str:
    """Show a job."""
    return show_job(key)


@pages.post("/jobs/<int:key>/in-hand")
@acts(show_job)
def take_in_hand(key: int) -> Response:
    """Make this the job that scans act on."""
    people.take_in_hand(caller().id, key)
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/put-down")
@acts(show_job)
def put_down(key: int) -> Response:
    """Work on no job."""
    people.take_in_hand(caller().id, None)
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/edit")
@acts(show_job)
def edit_job(key: int) -> Response:
    """Change what is noted of a job."""
    stock.edit_job(key, **read_form(EditJob))
    flash("The job is changed.", "good")
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/wait")
@acts(show_job)
def wait(key: int) -> Response:
    """Note what the job waits for."""
    stock.wait_for(key, read_form(Wait)["what"])
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/reopen")
@acts(show_job)
def reopen(key: int) -> Response:
    """Work on the job again."""
    stock.reopen_job(key)
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/close")
@acts(show_job)
def close(key: int) -> Response:
    """Close the job and note what it was."""
    closed = learning.close(key, **read_form(Close), by=caller().id)
    flash(f"Job {closed.job.number} is closed.", "good")
    for one in closed.carried:
        flash(one.sentence, "good")
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/put-back")
@acts(show_job)
def put_back(key: int) -> Response:
    """Put back what the job took and did not need."""
    asked = read_form(Back)
    done = pull.put_back(asked["amount"], job_id=key, lot_id=asked["lot"], piece_id=asked["piece"], by=caller().id)
    return to_thing("job", key, done.entry)


@pages.post("/jobs/<int:key>/needs")
@acts(show_job)
def want_part(key: int) -> Response:
    """Note what the job wants of a part."""
    asked = read_form(Want)
    need = job_screen.want(key, asked["part"], asked["amount"])
    flash(f"Noted: {need.part.name}.", "good")
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/needs/<int:need>/drop")
@acts(lambda key, need: show_job(key))
def drop_need(key: int, need: int) -> Response:
    """Note that the job does not want it after all."""
    dropped = job_screen.drop_need(key, need)
    flash(f"No longer wanted: {dropped.part.name}.", "good")
    return to_thing("job", key)


@pages.post("/jobs/<int:key>/suspects")
@acts(show_job)
def suspect(key: int) -> Response:
    """Name something that might be wrong."""
    named = job_screen.suspect(key, **read_form(Suspect))
    return redirect(url_for("pages.job", key=key, _anchor=f"suspect-{named.id}"), 303)


@pages.post("/jobs/<int:key>/suspects/<int:suspect>/verdict")
@acts(lambda key, suspect: show_job(key))
def verdict(key: int, suspect: int) -> Response:
    """Note what a suspect turned out to be."""
    job_screen.judge(key, suspect, read_form(Verdict)["verdict"])
    return redirect(url_for("pages.job", key=key, _anchor=f"suspect-{suspect}"), 303)


@pages.post("/jobs/<int:key>/lessons")
@acts(show_job)
def learn(key: int) -> Response:
    """Keep a lesson that the job taught."""
    asked = read_form(Lesson)
    job_screen.learn(key, asked["text"], part_id=asked["part"], by=caller().id)
    flash("The lesson is kept.", "good")
    return to_thing("job", key)
