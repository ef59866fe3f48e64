"""Incoming checks: what to test of a delivery, testing it at the bench, what that says, and the plans behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import incoming_plans as planning
from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.common.errors import Invalid
from inventory.domain.common.records import PieceRecord
from inventory.domain.common.validation import parse_id
from inventory.domain.quality import incoming_testing as domain
from inventory.pages import pages
from inventory.pages.catalogue.lots import render_lot
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import PercentField
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IdField,
    IntegerField,
    TextField,
    fields_by_id,
    load_form,
    load_query,
)
from inventory.pages.quality import incoming_screen
from inventory.web.access import current_person, require_role
from shared.codes import format_code


class Choose(Form):
    """By which procedure it is tested: 0 for good or bad."""

    procedure = IntegerField()


class IncomingResultForm(Form):
    """One that was tested."""

    result = TextField()  # good, bad; empty: by the readings
    procedure = IdField()
    piece = IdField()
    bin = IdField()
    fate = TextField()
    name = TextField()
    note = TextField()
    corrects = IdField()


class RetractResultForm(Form):
    """A result that counts no longer."""

    test = IdField(required=True)
    reason = TextField(needed="Say why, such as: meter on the wrong range.")


class CloseCheckForm(Form):
    """How a check ends."""

    outcome = TextField(needed="Say whether the lot is accepted or rejected.")


class OverrideCheckForm(CloseCheckForm):
    """How the owner ends a check."""

    reason = TextField(needed="Say why: it is kept with the check.")


class CallOffCheckForm(Form):
    """Why a check is dropped."""

    reason = TextField(needed="Say why: it is kept with the check.")


class StartCheckForm(Form):
    """A check without a plan."""

    test = IntegerField(required=True)
    accept = IntegerField()
    hold = CheckboxField()


class IncomingPlanForm(Form):
    """How much is tested: so many, or by a question."""

    how = TextField()  # number, question, none
    test = IntegerField()
    accept = IntegerField()
    sure = PercentField()
    most_bad = PercentField()
    hold = CheckboxField()
    act = TextField()


@pages.get("/incoming")
def incoming_checks() -> str:
    """List the checks that wait, those that were closed, and the plans."""
    return render_template("quality/incoming_check_list.html", at=incoming_screen.incoming_checks_screen())


# ---- one check -------------------------------------------------------------------------------------------


def _render_check(key: int) -> str:
    chosen = request.values.get("procedure", "")
    at = incoming_screen.incoming_check_screen(key, parse_id(chosen))
    return render_template("quality/incoming_check.html", at=at, check=at.check, lot=at.check.lot, part=at.check.part)


@pages.get("/incoming/<int:key>")
def incoming_check(key: int) -> str:
    """Show a check: what to take and test, how far it is, what it says."""
    return _render_check(key)


@pages.post("/incoming/<int:key>/result")
@form_action(_render_check)
def record_result(key: int) -> Response:
    """Note one that was tested."""
    typed = load_form(IncomingResultForm)
    good = {"good": True, "bad": False}.get(typed["result"])
    by_procedure = None if good is not None else typed["procedure"]
    found = incoming_screen.record_typed_result(
        key,
        fields_by_id("reading-"),
        procedure_id=by_procedure,
        good=good,
        piece_id=typed["piece"],
        bin_id=typed["bin"],
        fate=typed["fate"],
        name=typed["name"],
        note=typed["note"],
        corrects=typed["corrects"],
        by=current_person().id,
    )
    _flash_result(found)
    return redirect(url_for("pages.incoming_check", key=key, procedure=by_procedure or 0), 303)


def _flash_result(found: IncomingCheckRecord) -> None:
    """Say what was noted last."""
    last = max((result for result in found.results if result.struck is None), key=lambda one: one.id)
    became = {"back": "goes back", "scrapped": "scrapped", "labelled": f"is now {last.piece_name}: print its label"}
    why = f" ({last.failed_reading})" if last.failed_reading else ""
    said = f"Number {last.number} {'is good' if last.good else 'is bad'}{why}, {became[last.fate]}."
    flash(said, "good" if last.good else "warn")


@pages.post("/incoming/<int:key>/take-back")
@form_action(_render_check)
def retract_result(key: int) -> Response:
    """Let a result count no longer."""
    typed = load_form(RetractResultForm)
    domain.take_back_result(key, typed["test"], reason=typed["reason"], by=current_person().id)
    flash("That result is taken back, and what it scrapped or labelled with it.", "good")
    return redirect_to("incoming check", key)


@pages.post("/incoming/<int:key>/close")
@form_action(_render_check)
def close_check(key: int) -> Response:
    """End a check as its tests say."""
    return _finish_check(domain.close_as_tested(key, load_form(CloseCheckForm)["outcome"], by=current_person().id))


@pages.post("/incoming/<int:key>/override")
@require_role("owner")
@form_action(_render_check)
def override_check(key: int) -> Response:
    """End a check as the owner decides."""
    typed = load_form(OverrideCheckForm)
    return _finish_check(
        domain.override_verdict(key, typed["outcome"], reason=typed["reason"], by=current_person().id)
    )


@pages.post("/incoming/<int:key>/call-off")
@require_role("owner")
@form_action(_render_check)
def call_off_check(key: int) -> Response:
    """Drop a check without an answer."""
    return _finish_check(
        domain.call_off_check(key, reason=load_form(CallOffCheckForm)["reason"], by=current_person().id)
    )


def _finish_check(found: IncomingCheckRecord) -> Response:
    if found.lot.on_hold:
        flash(f"The check is {found.outcome}: nobody can take from the lot.", "warn")
    else:
        flash(f"The check is {found.outcome}: people can take from the lot.", "good")
    return redirect_to("incoming check", found.id)


@pages.post("/incoming/<int:key>/sort")
@form_action(_render_check)
def sort_rest(key: int) -> Response:
    """Test every one that is left of a rejected lot."""
    return redirect_to("incoming check", domain.sort_rejected_lot(key, by=current_person().id).id)


@pages.app_template_global()
def piece_choices(found: Sequence[PieceRecord]) -> list[tuple[int, str]]:
    """Return pieces to choose from."""
    return [(one.id, one.shown_as if one.name == "" else f"{one.name} ({format_code(one.code)})") for one in found]


@pages.app_template_global()
def bin_choices(found: Sequence[incoming_screen.DrawFromBin]) -> list[tuple[int, str]]:
    """Return the bins of a lot to choose from."""
    return [(one.bin.id, f"{one.bin.shown_as}, {one.there} there") for one in found]


@pages.post("/lots/<int:key>/check")
@form_action(render_lot)
def start_check(key: int) -> Response:
    """Begin a check of what is here of a lot."""
    typed = load_form(StartCheckForm)
    made = domain.begin_check(
        key, test=typed["test"], accept=typed["accept"] or 0, hold=typed["hold"], by=current_person().id
    )  # fmt: skip
    return redirect_to("incoming check", made.id)


# ---- plans -----------------------------------------------------------------------------------------------


def _plan_terms(typed: dict[str, Any]) -> dict[str, Any]:
    """Return what a plan's form asks for, without the fields of the other way."""
    common = {"hold": typed["hold"]}
    if typed["how"] == "none":
        return {**common, "test": 0}
    if typed["how"] == "question":
        return {**common, "accept": typed["accept"] or 0, "sure": typed["sure"], "most_bad": typed["most_bad"]}
    if typed["test"] is None:
        sentence = "Say how many to test, such as 5."
        raise Invalid(sentence, errors={"test": [sentence]})
    return {**common, "accept": typed["accept"] or 0, "test": typed["test"]}


def _render_plan(whose: str, key: int) -> str:
    typed = load_query(IncomingPlanForm)
    proposed = _plan_terms(typed) if typed["how"] and request.method == "GET" else None
    at = incoming_screen.incoming_plan_screen(**{f"{whose}_id": key}, proposed=proposed)
    return render_template("quality/incoming_plan.html", at=at, whose=whose, key=key, typed=typed)


def _set_plan(whose: str, key: int) -> Response:
    """Say a plan in words first; keep it when those were seen; or take it away."""
    typed = load_form(IncomingPlanForm)
    of: dict[str, Any] = {f"{whose}_id": key}
    if typed["act"] == "drop":
        planning.drop_plan(**of)
        flash("The plan is taken away: later deliveries are not checked by it.", "good")
        return redirect_to(whose, key)
    asked = _plan_terms(typed)
    if typed["act"] != "save":
        planning.preview_plan(**asked)
        again: dict[str, Any] = _as_query()
        return redirect(url_for(f"pages.{whose}_plan", key=key, **again), 303)
    kept = planning.set_plan(**of, **asked)
    flash(f"{kept.of}: {kept.words}", "good")
    return redirect_to(whose, key)


def _as_query() -> dict[str, str]:
    return {
        name: request.form[name] for name in IncomingPlanForm().fields if request.form.get(name) and name != "act"
    }


def _render_part_plan(key: int) -> str:
    return _render_plan("part", key)


def _render_supplier_plan(key: int) -> str:
    return _render_plan("supplier", key)


@pages.get("/parts/<int:key>/incoming-plan")
@require_role("tech")
def part_plan(key: int) -> str:
    """Ask how deliveries of a part are checked."""
    return _render_part_plan(key)


@pages.post("/parts/<int:key>/incoming-plan")
@require_role("owner")
@form_action(_render_part_plan)
def set_part_plan(key: int) -> Response:
    """Say how deliveries of a part are checked."""
    return _set_plan("part", key)


@pages.get("/suppliers/<int:key>/incoming-plan")
@require_role("tech")
def supplier_plan(key: int) -> str:
    """Ask how deliveries of a supplier are checked."""
    return _render_supplier_plan(key)


@pages.post("/suppliers/<int:key>/incoming-plan")
@require_role("owner")
@form_action(_render_supplier_plan)
def set_supplier_plan(key: int) -> Response:
    """Say how deliveries of a supplier are checked."""
    return _set_plan("supplier", key)
