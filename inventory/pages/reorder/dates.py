"""Dates: what will be past its date before it is used up, lots that are open, bags whose floor-life clock runs."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.reorder import stock_dates as stock
from inventory.pages import pages
from inventory.pages.catalogue.lots import show_lot
from inventory.pages.catalogue.parts import show_part
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Number
from inventory.pages.forms import Day, Form, Text, Whole, read_form
from inventory.web.access import caller


class Opened(Form):
    """The day on which a lot was opened."""

    day = Day()


class Baked(Form):
    """How a lot was baked."""

    note = Text()


class Keeping(Form):
    """How a part keeps."""

    days_opened = Whole()
    moisture_level = Text()
    label_hours = Number("Type hours as a number, such as 6.")


@pages.get("/dates")
def dates() -> str:
    """Show what time is about to spoil."""
    return render_template("reorder/dates.html", at=stock.at_dates())


@pages.post("/lots/<int:key>/open")
@acts(show_lot)
def open_lot(key: int) -> Response:
    """Note that a lot, or its bag, was opened."""
    found = stock.open_lot(key, read_form(Opened)["day"], by=caller().id)
    until = f": good until {found.until}" if found.until else ""
    flash(f"It is noted as open{until}." if found.floor is None else "Its bag is open: the clock runs.", "good")
    return to_thing("lot", key)


@pages.post("/lots/<int:key>/not-open")
@acts(show_lot)
def not_opened(key: int) -> Response:
    """Take back that a lot was opened."""
    stock.not_opened(key)
    flash("It is noted as not opened.", "good")
    return to_thing("lot", key)


@pages.post("/lots/<int:key>/close-bag")
@acts(show_lot)
def close_bag(key: int) -> Response:
    """Note that a lot is back in its bag or dry storage."""
    stock.close_bag(key, by=caller().id)
    flash("Back in the dry: its clock stands still.", "good")
    return to_thing("lot", key)


@pages.post("/lots/<int:key>/bake")
@acts(show_lot)
def bake(key: int) -> Response:
    """Note that a lot was baked dry."""
    stock.bake(key, note=read_form(Baked)["note"], by=caller().id)
    flash("Baked: its floor life begins anew.", "good")
    return to_thing("lot", key)


@pages.post("/parts/<int:key>/keeping")
@acts(show_part)
def set_keeping(key: int) -> Response:
    """Say how a part keeps."""
    stock.set_keeping(key, **read_form(Keeping))
    flash("How it keeps is noted.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="keeping"), 303)
