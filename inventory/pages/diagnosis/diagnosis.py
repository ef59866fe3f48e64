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
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import PercentField
from inventory.pages.forms import CheckboxField, Form, IdField, IdListField, TextField, form_value, load_form
from inventory.pages.jobs.jobs import job
from inventory.web.access import current_person

OBSERVATIONS: dict[str, tuple[str, dict[str, Any]]] = {
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


class ButtonField(fields.String):
    """One of several buttons."""

    def __init__(self, buttons: Iterable[str], ask: str) -> None:
        """Take the value of a button, or *ask* for a tap."""
        known = validate.OneOf(list(buttons), error=ask)
        super().__init__(required=True, validate=known, error_messages={"required": ask})


class ObservationForm(Form):
    """What was seen of a suspect, in one tap; how sure a measurement is, if it is not as usual."""

    suspect = IdField(required=True)
    seen = ButtonField(OBSERVATIONS, "Tap what you saw.")
    finds = PercentField()
    passes = PercentField()
    note = TextField()


class UnitRunForm(Form):
    """How the unit ran with pieces in it that are out to the job."""

    loans = IdListField()
    works = ButtonField(("yes", "no"), "Tap how the unit ran.")
    note = TextField()


class NewSpareForm(Form):
    """What becomes a spare."""

    lot = IdField()
    piece = IdField()
    name = TextField()
    ran = CheckboxField()


def _redirect_to_diagnosis(key: int) -> Response:
    return redirect(url_for("pages.job", key=key, _anchor="wrong"), 303)


@pages.post("/jobs/<int:key>/evidence")
@form_action(job)
def log_observation(key: int) -> Response:
    """Log what was seen of a suspect."""
    data = load_form(ObservationForm)
    kind, details = OBSERVATIONS[data["seen"]]
    if kind == "measured":
        details = {**details, "sensitivity": data["finds"], "specificity": data["passes"]}
    noted = evidence.record_observation(
        key, kind, suspect_id=data["suspect"], note=data["note"], by=current_person().id, **details
    )
    flash(noted.sentence, "good")
    return _redirect_to_diagnosis(key)


@pages.post("/jobs/<int:key>/runs")
@form_action(job)
def log_unit_run(key: int) -> Response:
    """Log a run of the unit with pieces in it that are out to the job."""
    data = load_form(UnitRunForm)
    noted = evidence.record_observation(
        key,
        "swapped",
        loan_ids=data["loans"],
        works=data["works"] == "yes",
        note=data["note"],
        by=current_person().id,
    )
    flash(noted.sentence, "good")
    return _redirect_to_diagnosis(key)


@pages.post("/jobs/<int:key>/evidence/<int:seen>/strike")
@form_action(lambda key, seen: job(key))
def strike_evidence(key: int, seen: int) -> Response:
    """Let an observation that was logged by mistake count no longer."""
    struck = evidence.strike_observation(
        seen, reason=form_value("reason", TextField(needed="Say why it was wrong.")), by=current_person().id
    )
    flash(f"Struck out: {struck.words}", "good")
    return _redirect_to_diagnosis(key)


@pages.post("/jobs/<int:key>/suspects/<int:suspect>/intermittent")
@form_action(lambda key, suspect: job(key))
def set_intermittent(key: int, suspect: int) -> Response:
    """Note that a suspect's fault comes and goes, or that it does not."""
    yes = form_value("goes", ButtonField(("yes", "no"), "Tap whether the fault comes and goes.")) == "yes"
    noted = diagnosis_screen.set_intermittent(key, suspect, yes)
    flash(f"{noted.name}: {'its fault comes and goes' if yes else 'its fault is there all the time'}.", "good")
    return _redirect_to_diagnosis(key)


@pages.post("/jobs/<int:key>/symptom")
@form_action(job)
def set_known_symptom(key: int) -> Response:
    """Call the symptom by words that the shop knows, so that earlier jobs count."""
    record = diagnosis_screen.set_known_symptom(
        key, form_value("symptom", TextField(needed="Choose the words that the shop knows it by."))
    )
    flash(f"Job {record.number} is a “{record.symptom}” now; the customer's words are in its note.", "good")
    return _redirect_to_diagnosis(key)


@pages.post("/jobs/<int:key>/kept-spares")
@form_action(job)
def make_spare(key: int) -> Response:
    """Make a part that the job did not need a spare."""
    data = load_form(NewSpareForm)
    spare = surplus.keep_as_spare(
        key, lot_id=data["lot"], piece_id=data["piece"], name=data["name"], ran=data["ran"], by=current_person().id
    )
    flash(spare.sentence, "good")
    return redirect_to("piece", spare.piece.id)


@pages.get("/keep-list")
def spare_values() -> str:
    """Show which spares are worth proving and keeping."""
    return render_template("diagnosis/spare_values.html", report=spare_value.spare_values())
