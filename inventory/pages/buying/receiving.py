"""Receiving: a bag from the post, a donor unit's parts, left-overs and finds become a lot in a bin."""

from __future__ import annotations

from typing import Any

from flask import flash, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.pages import pages
from inventory.pages.buying import receive_screen
from inventory.pages.form_actions import acts
from inventory.pages.form_fields import Money
from inventory.pages.forms import Day, Form, Key, Text, Tick, read_form, read_query
from inventory.web.access import caller, for_role


class Begin(Form):
    """What is known when somebody starts to receive."""

    part = Key()
    bin = Key()
    line = Key()
    job = Key()
    origin = Text()
    q = Text()
    bag = Text()
    other = Tick()  # the bag's code means another part than it was taken for


class Receive(Form):
    """What came, where it goes, and what is known of it."""

    part = Key(required=True, allow_none=False)
    amount = Text(needed="Say how many there are.")
    bin = Text(needed="Say which bin it goes into: scan its label, or type its name.")
    new_bin = Tick()
    origin = Text()
    origin_note = Text()
    supplier = Key()
    line = Key()
    job = Key()
    donor_worked = Text()
    cost_minor = Money()
    best_before = Day()
    maker_lot = Text()
    date_code = Text()
    raw_code = Text()
    note = Text()


def _show() -> str:
    begun = _begun()
    known = {"bin_id": begun["bin"], "bag_text": begun["bag"]}
    try:
        at = receive_screen.at_door(
            part_id=begun["part"], line_id=begun["line"], typed=begun["q"], ask=begun["other"], **known
        )
    except Invalid as refused:
        g.refused = refused
        if refused.reason == "bad_bag_code":
            known["bag_text"] = ""
        at = receive_screen.at_door(**known, ask=True)
    return render_template("buying/receive.html", at=at, begun=begun)


def _begun() -> dict[str, Any]:
    """Return what is known so far: from the address, or from the form that was refused."""
    begun = read_query(Begin)
    if request.method == "POST":
        part = request.form.get("part", "")
        known = int(part) if part.isascii() and part.isdigit() and len(part) < 10 else None
        begun = {**dict.fromkeys(begun), "part": known, "q": "", "bag": request.form.get("raw_code", "")}
    return begun


@pages.get("/receive")
@for_role("tech")
def receive() -> str | tuple[str, int]:
    """Ask which part it is, then what came of it."""
    page = _show()
    return (page, 422) if g.get("refused") else page


@pages.post("/receive")
@acts(_show)
def receive_now() -> Response:
    """Put what came into its bin as a new lot."""
    typed = read_form(Receive)
    done = receive_screen.bring_in(
        typed["part"], typed["amount"], typed["bin"], by=caller().id, new_bin=typed["new_bin"], **_origin(typed),
        **{name: typed[name] for name in _NOTED},
    )  # fmt: skip
    for warning in done.warnings:
        flash(warning, "warn")
    return redirect(url_for("pages.lot", key=done.lot_ids[0], done=done.entry, fresh=1), 303)


_NOTED = ("cost_minor", "best_before", "maker_lot", "date_code", "raw_code", "note")


def _origin(typed: dict[str, Any]) -> dict[str, Any]:
    """Return where it came from; what belongs to another origin and was left in the form is left out."""
    origin = typed["origin"] or "delivery"
    given: dict[str, Any] = {"origin": origin, "origin_note": typed["origin_note"]}
    if origin == "delivery":
        given |= {"supplier_id": typed["supplier"], "order_line_id": typed["line"]}
    if origin in ("donor", "left over"):
        given["job_id"] = typed["job"]
    if origin == "donor" and typed["donor_worked"]:
        given["donor_worked"] = typed["donor_worked"] == "yes"
    return given
