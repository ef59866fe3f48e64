"""Lots: where one came from, what is left of it, which jobs got some; holding one and letting it go."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.catalogue import lots as stock
from inventory.pages import pages
from inventory.pages.catalogue import lot_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Money
from inventory.pages.forms import Day, Form, Key, Text, Tick, read_form, read_query
from inventory.pages.quality import flow_chart
from inventory.pages.reorder import demand_chart
from inventory.web.access import caller, for_role


class Narrowed(Form):
    """What the list of lots is narrowed by."""

    part = Key()
    on_hold = Tick()
    maker_lot = Text()
    after = Text()


class Hold(Form):
    """Why nobody may take from a lot."""

    reason = Text(needed="Say why, so that the next person knows: such as pins do not hold.")


class Release(Form):
    """What came of a hold."""

    outcome = Text()


class Edit(Form):
    """What is noted of a lot."""

    origin_note = Text()
    maker_lot = Text()
    date_code = Text()
    best_before = Day()
    cost_minor = Money()
    note = Text()
    version = Key()


@pages.get("/lots")
def lots() -> str:
    """List lots, newest first."""
    asked = read_query(Narrowed)
    found = lot_screen.lot_list(
        part_id=asked["part"], on_hold=asked["on_hold"], maker_lot=asked["maker_lot"], after=asked["after"]
    )
    return render_template("catalogue/lot_list.html", found=found, asked=asked)


def show_lot(key: int) -> str:
    """Render the page of a lot."""
    at = lot_screen.at_lot(key)
    went = demand_chart.shares([
        ("shelf", at.look.left), ("jobs", at.in_jobs), ("returned", at.sent_back), ("scrapped", at.scrapped),
        ("otherwise", at.otherwise),
    ])  # fmt: skip
    return render_template(
        "catalogue/lot.html",
        at=at,
        look=at.look,
        lot=at.look.lot,
        part=at.look.part,
        went=went,
        flow=flow_chart.of_lot(at.trace),
    )


@pages.get("/lots/<int:key>")
def lot(key: int) -> str:
    """Show where a lot came from and where it went."""
    return show_lot(key)


@pages.post("/lots/<int:key>/hold")
@acts(show_lot)
def hold_lot(key: int) -> Response:
    """Let nobody take from a lot."""
    stock.hold(key, read_form(Hold)["reason"], by=caller().id)
    flash("On hold: nobody can take from this lot until it is released.", "warn")
    return to_thing("lot", key)


@pages.post("/lots/<int:key>/release")
@for_role("owner")
@acts(show_lot)
def release_lot(key: int) -> Response:
    """Let people take from a lot again."""
    stock.release(key, read_form(Release)["outcome"], by=caller().id)
    flash("Released: people can take from this lot again.", "good")
    return to_thing("lot", key)


@pages.post("/lots/<int:key>/edit")
@acts(show_lot)
def edit_lot(key: int) -> Response:
    """Correct what is noted of a lot."""
    typed = read_form(Edit)
    stock.edit_lot(key, typed.pop("version"), **typed)
    flash("What is noted of this lot is changed.", "good")
    return to_thing("lot", key)
