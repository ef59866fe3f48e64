"""Receiving: a bag from the post, a donor unit's parts, left-overs and finds become a lot in a bin."""

from __future__ import annotations

from typing import Any

from flask import g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import parse_id
from inventory.pages import pages
from inventory.pages.buying import receive_screen
from inventory.pages.form_actions import flash_warnings, form_action
from inventory.pages.form_fields import MoneyField
from inventory.pages.forms import CheckboxField, DateField, Form, IdField, TextField, load_form, load_query
from inventory.web.access import current_person, require_role


class ReceiveQuery(Form):
    """What is known when receiving starts."""

    part = IdField()
    bin = IdField()
    line = IdField()
    job = IdField()
    origin = TextField()
    q = TextField()
    bag = TextField()
    other = CheckboxField()  # the bag's code means another part than it was taken for


class ReceiveForm(Form):
    """What came, where it goes, and what is known of it."""

    part = IdField(required=True, allow_none=False)
    amount = TextField(needed="Say how many there are.")
    bin = TextField(needed="Say which bin it goes into: scan its label, or type its name.")
    new_bin = CheckboxField()
    origin = TextField()
    origin_note = TextField()
    supplier = IdField()
    line = IdField()
    job = IdField()
    donor_worked = TextField()
    cost_minor = MoneyField()
    best_before = DateField()
    maker_lot = TextField()
    date_code = TextField()
    raw_code = TextField()
    note = TextField()


def _render_receive() -> str:
    query = _known_so_far()
    known = {"bin_id": query["bin"], "bag_text": query["bag"]}
    try:
        screen = receive_screen.receive_screen(
            part_id=query["part"], line_id=query["line"], text=query["q"], ask=query["other"], **known
        )
    except Invalid as refused:
        g.refused = refused
        if refused.reason == "bad_bag_code":
            known["bag_text"] = ""
        screen = receive_screen.receive_screen(**known, ask=True)
    return render_template("buying/receive.html", screen=screen, known=query)


def _known_so_far() -> dict[str, Any]:
    """Return what is known so far: from the address, or from the form that was refused."""
    query = load_query(ReceiveQuery)
    if request.method == "POST":
        known = parse_id(request.form.get("part", ""))
        query = {**dict.fromkeys(query), "part": known, "q": "", "bag": request.form.get("raw_code", "")}
    return query


@pages.get("/receive")
@require_role("tech")
def receive() -> str | tuple[str, int]:
    """Ask which part it is, then what came of it."""
    page = _render_receive()
    return (page, 422) if g.get("refused") else page


@pages.post("/receive")
@form_action(_render_receive)
def record_receipt() -> Response:
    """Put what came into its bin as a new lot."""
    data = load_form(ReceiveForm)
    result = receive_screen.receive_from_form(
        data["part"],
        data["amount"],
        data["bin"],
        by=current_person().id,
        new_bin=data["new_bin"],
        **_origin_arguments(data),
        **{name: data[name] for name in _LOT_FIELDS},
    )
    flash_warnings(result.warnings)
    return redirect(url_for("pages.lot", key=result.lot_ids[0], done=result.entry, fresh=1), 303)


_LOT_FIELDS = ("cost_minor", "best_before", "maker_lot", "date_code", "raw_code", "note")


def _origin_arguments(data: dict[str, Any]) -> dict[str, Any]:
    """Return where it came from; what belongs to another origin and was left in the form is left out."""
    origin = data["origin"] or "delivery"
    arguments: dict[str, Any] = {"origin": origin, "origin_note": data["origin_note"]}
    if origin == "delivery":
        arguments |= {"supplier_id": data["supplier"], "order_line_id": data["line"]}
    if origin in ("donor", "left over"):
        arguments["job_id"] = data["job"]
    if origin == "donor" and data["donor_worked"]:
        arguments["donor_worked"] = data["donor_worked"] == "yes"
    return arguments
