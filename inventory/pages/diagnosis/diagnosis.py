"""What might be wrong in a job: logging what was seen, striking out a slip, keeping what was not needed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from flask import flash, redirect, render_template, url_for
from marshmallow import fields, validate
from werkzeug.wrappers import Response

from inventory.domain.diagnosis import evidence, spare_value, surplus
from inventory.pages import pages
from inventory.pages.diagnosis import diagnosis_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Percent
from inventory.pages.forms import Form, Key, Keys, Text, Tick, read_form
from inventory.pages.jobs import job_screen
from inventory.web.access import caller

SEEN: dict[str, tuple[str, dict[str, Any]]] = {
    "measured bad": ("measured", {"says_bad": True}),
    "measured good": ("measured", {"says_bad": False}),
    "mended works": ("repaired", {"works": True}),
    "mended fails": ("repaired", {"works": False}),
    "mended": ("repaired", {}),
    "new works": ("new part", {"works": True}),
    "new fails": ("new part", {"works": False}),
    "new": ("new part", {}),
    "back works": ("put back", {"works": True}),
    "back fails": ("put back", {"works": False}),
}
"""What a button of the log says: the kind of evidence, and what was seen."""


class Tapped(fields.String):
    """One of several buttons."""

    def __init__(self, buttons: Iterable[str], ask: str) -> None:
        """Take the value of a button, or *ask* for a tap."""
        known = validate.OneOf(list(buttons), error=ask)
        super().__init__(required=True, validate=known, error_messages={"required": ask})


class Observed(Form):
    """What was seen of a suspect, in one tap; how sure a measurement is, if it is not as usual."""

    suspect = Key(required=True)
    seen = Tapped(SEEN, "Tap what you saw.")
    finds = Percent()
    passes = Percent()
    note = Text()


class Ran(Form):
    """How the unit ran with pieces in it that are out to the job."""

    loans = Keys()
    works = Tapped(("yes", "no"), "Tap how the unit ran.")
    note = Text()


class Intermittent(Form):
    """Whether a suspect's fault comes and goes."""

    goes = Tapped(("yes", "no"), "Tap whether the fault comes and goes.")


class Symptom(Form):
    """Words by which the shop knows a symptom."""

    symptom = Text(needed="Choose the words that the shop knows it by.")


class Strike(Form):
    """Why an observation is struck out."""

    reason = Text(needed="Say why it was wrong.")


class Keep(Form):
    """What becomes a spare."""

    lot = Key()
    piece = Key()
    name = Text()
    ran = Tick()


def _show(key: int) -> str:
    desk = job_screen.at_job(key)
    return render_template("jobs/job.html", desk=desk, look=desk.look, job=desk.look.job)


def _to_chances(key: int) -> Response:
    return redirect(url_for("pages.job", key=key, _anchor="wrong"), 303)


@pages.post("/jobs/<int:key>/evidence")
@acts(_show)
def observe(key: int) -> Response:
    """Log what was seen of a suspect."""
    asked = read_form(Observed)
    kind, seen = SEEN[asked["seen"]]
    if kind == "measured":
        seen = {**seen, "sensitivity": asked["finds"], "specificity": asked["passes"]}
    noted = evidence.observe(key, kind, suspect_id=asked["suspect"], note=asked["note"], by=caller().id, **seen)
    flash(noted.sentence, "good")
    return _to_chances(key)


@pages.post("/jobs/<int:key>/runs")
@acts(_show)
def ran_with(key: int) -> Response:
    """Log a run of the unit with pieces in it that are out to the job."""
    asked = read_form(Ran)
    noted = evidence.observe(
        key, "swapped", loan_ids=asked["loans"], works=asked["works"] == "yes", note=asked["note"], by=caller().id
    )
    flash(noted.sentence, "good")
    return _to_chances(key)


@pages.post("/jobs/<int:key>/evidence/<int:seen>/strike")
@acts(lambda key, seen: _show(key))
def strike(key: int, seen: int) -> Response:
    """Let an observation that was logged by mistake count no longer."""
    struck = evidence.strike(seen, reason=read_form(Strike)["reason"], by=caller().id)
    flash(f"Struck out: {struck.words}", "good")
    return _to_chances(key)


@pages.post("/jobs/<int:key>/suspects/<int:suspect>/intermittent")
@acts(lambda key, suspect: _show(key))
def intermittent(key: int, suspect: int) -> Response:
    """Note that a suspect's fault comes and goes, or that it does not."""
    yes = read_form(Intermittent)["goes"] == "yes"
    noted = diagnosis_screen.comes_and_goes(key, suspect, yes)
    flash(f"{noted.name}: {'its fault comes and goes' if yes else 'its fault is there all the time'}.", "good")
    return _to_chances(key)


@pages.post("/jobs/<int:key>/symptom")
@acts(_show)
def known_as(key: int) -> Response:
    """Call the symptom by words that the shop knows, so that earlier jobs count."""
    named = diagnosis_screen.known_as(key, read_form(Symptom)["symptom"])
    flash(f"Job {named.number} is a “{named.symptom}” now; the customer's words are in its note.", "good")
    return _to_chances(key)


@pages.post("/jobs/<int:key>/kept-spares")
@acts(_show)
def keep_as_spare(key: int) -> Response:
    """Make a part that the job did not need a spare."""
    asked = read_form(Keep)
    kept = surplus.keep_as_spare(
        key, lot_id=asked["lot"], piece_id=asked["piece"], name=asked["name"], ran=asked["ran"], by=caller().id
    )
    flash(kept.sentence, "good")
    return to_thing("piece", kept.piece.id)


@pages.get("/keep-list")
def keep_list() -> str:
    """Show which spares are worth proving and keeping."""
    return render_template("diagnosis/spare_values.html", kept=spare_value.keep_list())
