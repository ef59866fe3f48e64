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
from inventory.domain.quality.incoming_draw import DrawFromBin
from inventory.pages import pages
from inventory.pages.catalogue.lots import lot
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import PercentField
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IdField,
    IntegerField,
    TextField,
    fields_by_id,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.quality import incoming_screen
from inventory.web.access import current_person, require_role
from shared.codes import format_code


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
    return render_template("quality/incoming_check_list.html", screen=incoming_screen.incoming_checks_screen())


# ---- one check -------------------------------------------------------------------------------------------


@pages.get("/incoming/<int:key>")
def incoming_check(key: int) -> str:
    """Show a check: what to take and test, how far it is, what it says."""
    screen = incoming_screen.incoming_check_screen(key, parse_id(request.values.get("procedure", "")))
    return render_template(
        "quality/incoming_check.html", screen=screen, check=screen.check, lot=screen.check.lot, part=screen.check.part
    )


@pages.post("/incoming/<int:key>/result")
@form_action(incoming_check)
def record_result(key: int) -> Response:
    """Note one that was tested."""
    data = load_form(IncomingResultForm)
    good = {"good": True, "bad": False}.get(data["result"])
    by_procedure = None if good is not None else data["procedure"]
    check = incoming_screen.record_result_from_form(
        key, fields_by_id("reading-"), procedure_id=by_procedure, good=good, piece_id=data["piece"],
        bin_id=data["bin"],
        **{name: data[name] for name in ("fate", "name", "note", "corrects")}, by=current_person().id,
    )  # fmt: skip
    _flash_result(check)
    return redirect(url_for("pages.incoming_check", key=key, procedure=by_procedure or 0), 303)


def _flash_result(check: IncomingCheckRecord) -> None:
    """Say what was noted last."""
    last = max((result for result in check.results if result.struck is None), key=lambda one: one.id)
    became = {"back": "goes back", "scrapped": "scrapped", "labelled": f"is now {last.piece_name}: print its label"}
    why = f" ({last.failed_reading})" if last.failed_reading else ""
    sentence = f"Number {last.number} {'is good' if last.good else 'is bad'}{why}, {became[last.fate]}."
    flash(sentence, "good" if last.good else "warn")


@pages.post("/incoming/<int:key>/take-back")
@form_action(incoming_check)
def retract_result(key: int) -> Response:
    """Let a result count no longer."""
    data = load_form(RetractResultForm)
    domain.take_back_result(key, data["test"], reason=data["reason"], by=current_person().id)
    flash("That result is taken back, and what it scrapped or labelled with it.", "good")
    return redirect_to("incoming check", key)


@pages.post("/incoming/<int:key>/close")
@form_action(incoming_check)
def close_check(key: int) -> Response:
    """End a check as its tests say."""
    return _finish_check(domain.close_as_tested(key, load_form(CloseCheckForm)["outcome"], by=current_person().id))


@pages.post("/incoming/<int:key>/override")
@require_role("owner")
@form_action(incoming_check)
def override_check(key: int) -> Response:
    """End a check as the owner decides."""
    data = load_form(OverrideCheckForm)
    return _finish_check(domain.override_verdict(key, data["outcome"], reason=data["reason"], by=current_person().id))


@pages.post("/incoming/<int:key>/call-off")
@require_role("owner")
@form_action(incoming_check)
def call_off_check(key: int) -> Response:
    """Drop a check without an answer."""
    return _finish_check(
        domain.call_off_check(
            key,
            reason=form_value("reason", TextField(needed="Say why: it is kept with the check.")),
            by=current_person().id,
        )
    )


def _finish_check(check: IncomingCheckRecord) -> Response:
    if check.lot.on_hold:
        flash(f"The check is {check.outcome}: nobody can take from the lot.", "warn")
    else:
        flash(f"The check is {check.outcome}: people can take from the lot.", "good")
    return redirect_to("incoming check", check.id)


@pages.post("/incoming/<int:key>/sort")
@form_action(incoming_check)
def sort_rest(key: int) -> Response:
    """Test every one that is left of a rejected lot."""
    return redirect_to("incoming check", domain.sort_rejected_lot(key, by=current_person().id).id)


@pages.app_template_global()
def piece_choices(pieces: Sequence[PieceRecord]) -> list[tuple[int, str]]:
    """Return pieces to choose from."""
    return [
        (piece.id, piece.shown_as if piece.name == "" else f"{piece.name} ({format_code(piece.code)})")
        for piece in pieces
    ]


@pages.app_template_global()
def bin_choices(places: Sequence[DrawFromBin]) -> list[tuple[int, str]]:
    """Return the bins of a lot to choose from."""
    return [(place.bin.id, f"{place.bin.shown_as}, {place.there} there") for place in places]


@pages.post("/lots/<int:key>/check")
@form_action(lot)
def start_check(key: int) -> Response:
    """Begin a check of what is here of a lot."""
    data = load_form(StartCheckForm)
    check = domain.begin_check(
        key, test=data["test"], accept=data["accept"] or 0, hold=data["hold"], by=current_person().id
    )  # fmt: skip
    return redirect_to("incoming check", check.id)


# ---- plans -----------------------------------------------------------------------------------------------


def _plan_terms(data: dict[str, Any]) -> dict[str, Any]:
    """Return what a plan's form asks for, without the fields of the other way."""
    common = {"hold": data["hold"]}
    if data["how"] == "none":
        return {**common, "test": 0}
    if data["how"] == "question":
        return {**common, "accept": data["accept"] or 0, "sure": data["sure"], "most_bad": data["most_bad"]}
    if data["test"] is None:
        sentence = "Say how many to test, such as 5."
        raise Invalid(sentence, errors={"test": [sentence]})
    return {**common, "accept": data["accept"] or 0, "test": data["test"]}


def _render_plan(whose: str, key: int) -> str:
    query = load_query(IncomingPlanForm)
    proposed = _plan_terms(query) if query["how"] and request.method == "GET" else None
    screen = incoming_screen.incoming_plan_screen(**{f"{whose}_id": key}, proposed=proposed)
    return render_template("quality/incoming_plan.html", screen=screen, whose=whose, key=key, typed=query)


def _set_plan(whose: str, key: int) -> Response:
    """Preview a plan in words, save it, or drop it."""
    data = load_form(IncomingPlanForm)
    owner: dict[str, Any] = {f"{whose}_id": key}
    if data["act"] == "drop":
        planning.drop_plan(**owner)
        flash("The plan is taken away: later deliveries are not checked by it.", "good")
        return redirect_to(whose, key)
    terms = _plan_terms(data)
    if data["act"] != "save":
        planning.preview_plan(**terms)
        query: dict[str, Any] = _as_query()
        return redirect(url_for(f"pages.{whose}_plan", key=key, **query), 303)
    plan = planning.set_plan(**owner, **terms)
    flash(f"{plan.of}: {plan.words}", "good")
    return redirect_to(whose, key)


def _as_query() -> dict[str, str]:
    return {
        name: request.form[name] for name in IncomingPlanForm().fields if request.form.get(name) and name != "act"
    }


@pages.get("/parts/<int:key>/incoming-plan")
@require_role("tech")
def part_plan(key: int) -> str:
    """Ask how deliveries of a part are checked."""
    return _render_plan("part", key)


@pages.post("/parts/<int:key>/incoming-plan")
@require_role("owner")
@form_action(part_plan)
def set_part_plan(key: int) -> Response:
    """Say how deliveries of a part are checked."""
    return _set_plan("part", key)


@pages.get("/suppliers/<int:key>/incoming-plan")
@require_role("tech")
def supplier_plan(key: int) -> str:
    """Ask how deliveries of a supplier are checked."""
    return _render_plan("supplier", key)


@pages.post("/suppliers/<int:key>/incoming-plan")
@require_role("owner")
@form_action(supplier_plan)
def set_supplier_plan(key: int) -> Response:
    """Say how deliveries of a supplier are checked."""
    return _set_plan("supplier", key)
