"""Incoming checks: what to test of a delivery, testing it at the bench, what that says, and the plans behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import incoming_plans as planning
from inventory.domain.buying.incoming_records import IncomingRecord
from inventory.domain.common.errors import Invalid
from inventory.domain.common.records import PieceRecord
from inventory.domain.quality import incoming_testing as stock
from inventory.pages import pages
from inventory.pages.catalogue.lots import show_lot
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Percent
from inventory.pages.forms import Form, Key, Text, Tick, Whole, read_form, read_query
from inventory.pages.proof.reading_fields import typed_readings
from inventory.pages.quality import incoming_screen
from inventory.web.access import caller, for_role
from shared.codes import grouped


class Choose(Form):
    """By which procedure it is tested: 0 for good or bad."""

    procedure = Whole()


class Result(Form):
    """One that was tested."""

    result = Text()  # good, bad; empty: by the readings
    procedure = Key()
    piece = Key()
    bin = Key()
    fate = Text()
    name = Text()
    note = Text()
    corrects = Key()


class TakeBack(Form):
    """A result that counts no longer."""

    test = Key(required=True)
    reason = Text(needed="Say why, such as: meter on the wrong range.")


class Outcome(Form):
    """How a check ends."""

    outcome = Text(needed="Say whether the lot is accepted or rejected.")


class Decide(Outcome):
    """How the owner ends a check."""

    reason = Text(needed="Say why: it is kept with the check.")


class CallOff(Form):
    """Why a check is dropped."""

    reason = Text(needed="Say why: it is kept with the check.")


class Begin(Form):
    """A check without a plan."""

    test = Whole(required=True)
    accept = Whole()
    hold = Tick()


class Plan(Form):
    """How much is tested: so many, or by a question."""

    how = Text()  # number, question, none
    test = Whole()
    accept = Whole()
    sure = Percent()
    most_bad = Percent()
    hold = Tick()
    act = Text()


@pages.get("/incoming")
def incoming_checks() -> str:
    """List the checks that wait, those that were closed, and the plans."""
    return render_template("quality/incoming_check_list.html", at=incoming_screen.at_checks())


# ---- one check -------------------------------------------------------------------------------------------


def _show(key: int) -> str:
    chosen = request.values.get("procedure", "")
    known = int(chosen) if chosen.isascii() and chosen.isdigit() and len(chosen) < 10 else None
    at = incoming_screen.at_check(key, known)
    return render_template("quality/incoming_check.html", at=at, check=at.check, lot=at.check.lot, part=at.check.part)


@pages.get("/incoming/<int:key>")
def incoming_check(key: int) -> str:
    """Show a check: what to take and test, how far it is, what it says."""
    return _show(key)


@pages.post("/incoming/<int:key>/result")
@acts(_show)
def record_result(key: int) -> Response:
    """Note one that was tested."""
    typed = read_form(Result)
    good = {"good": True, "bad": False}.get(typed["result"])
    by_procedure = None if good is not None else typed["procedure"]
    found = incoming_screen.record_as_typed(
        key, typed_readings(), procedure_id=by_procedure, good=good, piece_id=typed["piece"], bin_id=typed["bin"],
        fate=typed["fate"], name=typed["name"], note=typed["note"], corrects=typed["corrects"], by=caller().id,
    )  # fmt: skip
    _tell(found)
    return redirect(url_for("pages.incoming_check", key=key, procedure=by_procedure or 0), 303)


def _tell(found: IncomingRecord) -> None:
    """Say what was noted last."""
    last = max((one for one in found.results if one.struck is None), key=lambda one: one.id)
    became = {"back": "goes back", "scrapped": "scrapped", "labelled": f"is now {last.piece_name}: print its label"}
    why = f" ({last.failed_reading})" if last.failed_reading else ""
    said = f"Number {last.number} {'is good' if last.good else 'is bad'}{why}, {became[last.fate]}."
    flash(said, "good" if last.good else "warn")


@pages.post("/incoming/<int:key>/take-back")
@acts(_show)
def take_back_test(key: int) -> Response:
    """Let a result count no longer."""
    typed = read_form(TakeBack)
    stock.take_back(key, typed["test"], reason=typed["reason"], by=caller().id)
    flash("That result is taken back, and what it scrapped or labelled with it.", "good")
    return to_thing("incoming check", key)


@pages.post("/incoming/<int:key>/close")
@acts(_show)
def close_check(key: int) -> Response:
    """End a check as its tests say."""
    return _ended(stock.close(key, read_form(Outcome)["outcome"], by=caller().id))


@pages.post("/incoming/<int:key>/override")
@for_role("owner")
@acts(_show)
def override_check(key: int) -> Response:
    """End a check as the owner decides."""
    typed = read_form(Decide)
    return _ended(stock.override(key, typed["outcome"], reason=typed["reason"], by=caller().id))


@pages.post("/incoming/<int:key>/call-off")
@for_role("owner")
@acts(_show)
def call_off_check(key: int) -> Response:
    """Drop a check without an answer."""
    return _ended(stock.call_off(key, reason=read_form(CallOff)["reason"], by=caller().id))


def _ended(found: IncomingRecord) -> Response:
    if found.lot.on_hold:
        flash(f"The check is {found.outcome}: nobody can take from the lot.", "warn")
    else:
        flash(f"The check is {found.outcome}: people can take from the lot.", "good")
    return to_thing("incoming check", found.id)


@pages.post("/incoming/<int:key>/sort")
@acts(_show)
def sort_rest(key: int) -> Response:
    """Test every one that is left of a rejected lot."""
    return to_thing("incoming check", stock.sort_rest(key, by=caller().id).id)


@pages.app_template_global()
def named_pieces(found: Sequence[PieceRecord]) -> list[tuple[int, str]]:
    """Return pieces to choose from."""
    return [(one.id, one.shown_as if one.name == "" else f"{one.name} ({grouped(one.code)})") for one in found]


@pages.app_template_global()
def bin_choices(found: Sequence[incoming_screen.TakeFrom]) -> list[tuple[int, str]]:
    """Return the bins of a lot to choose from."""
    return [(one.bin.id, f"{one.bin.shown_as}, {one.there} there") for one in found]


@pages.post("/lots/<int:key>/check")
@acts(show_lot)
def begin_check(key: int) -> Response:
    """Begin a check of what is here of a lot."""
    typed = read_form(Begin)
    made = stock.begin(
        key, test=typed["test"], accept=typed["accept"] or 0, hold=typed["hold"], by=caller().id
    )  # fmt: skip
    return to_thing("incoming check", made.id)


# ---- plans -----------------------------------------------------------------------------------------------


def _asked_for(typed: dict[str, Any]) -> dict[str, Any]:
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


def _plan_page(whose: str, key: int) -> str:
    typed = read_query(Plan)
    proposed = _asked_for(typed) if typed["how"] and request.method == "GET" else None
    at = incoming_screen.at_plan(**{f"{whose}_id": key}, proposed=proposed)
    return render_template("quality/incoming_plan.html", at=at, whose=whose, key=key, typed=typed)


def _set_plan(whose: str, key: int) -> Response:
    """Say a plan in words first; keep it when those were seen; or take it away."""
    typed = read_form(Plan)
    of: dict[str, Any] = {f"{whose}_id": key}
    if typed["act"] == "drop":
        planning.drop_plan(**of)
        flash("The plan is taken away: later deliveries are not checked by it.", "good")
        return to_thing(whose, key)
    asked = _asked_for(typed)
    if typed["act"] != "save":
        planning.said_before(**asked)
        again: dict[str, Any] = _as_query()
        return redirect(url_for(f"pages.{whose}_plan", key=key, **again), 303)
    kept = planning.set_plan(**of, **asked)
    flash(f"{kept.of}: {kept.words}", "good")
    return to_thing(whose, key)


def _as_query() -> dict[str, str]:
    return {name: request.form[name] for name in Plan().fields if request.form.get(name) and name != "act"}


def _part_plan(key: int) -> str:
    return _plan_page("part", key)


def _supplier_plan(key: int) -> str:
    return _plan_page("supplier", key)


@pages.get("/parts/<int:key>/incoming-plan")
@for_role("tech")
def part_plan(key: int) -> str:
    """Ask how deliveries of a part are checked."""
    return _part_plan(key)


@pages.post("/parts/<int:key>/incoming-plan")
@for_role("owner")
@acts(_part_plan)
def set_part_plan(key: int) -> Response:
    """Say how deliveries of a part are checked."""
    return _set_plan("part", key)


@pages.get("/suppliers/<int:key>/incoming-plan")
@for_role("tech")
def supplier_plan(key: int) -> str:
    """Ask how deliveries of a supplier are checked."""
    return _supplier_plan(key)


@pages.post("/suppliers/<int:key>/incoming-plan")
@for_role("owner")
@acts(_supplier_plan)
def set_supplier_plan(key: int) -> Response:
    """Say how deliveries of a supplier are checked."""
    return _set_plan("supplier", key)
