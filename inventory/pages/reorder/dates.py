"""Dates: what will be past its date before it is used up, lots that are open, bags whose floor-life clock runs."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.reorder import stock_dates as domain
from inventory.pages import pages
from inventory.pages.catalogue.lots import lot
from inventory.pages.catalogue.parts import part
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import NumberField
from inventory.pages.forms import DateField, Form, IntegerField, TextField, form_value, load_form
from inventory.web.access import current_person


class PartStorageForm(Form):
    """How a part keeps."""

    days_opened = IntegerField()
    moisture_level = TextField()
    label_hours = NumberField("Type hours as a number, such as 6.")


@pages.get("/dates")
def dates() -> str:
    """Show what time is about to spoil."""
    return render_template("reorder/dates.html", screen=domain.dates_screen())


@pages.post("/lots/<int:key>/open")
@form_action(lot)
def open_lot(key: int) -> Response:
    """Note that a lot, or its bag, was opened."""
    opened = domain.open_lot(key, form_value("day", DateField()), by=current_person().id)
    until = f": good until {opened.until}" if opened.until else ""
    flash(f"It is noted as open{until}." if opened.floor is None else "Its bag is open: the clock runs.", "good")
    return redirect_to("lot", key)


@pages.post("/lots/<int:key>/not-open")
@form_action(lot)
def mark_lot_unopened(key: int) -> Response:
    """Take back that a lot was opened."""
    domain.undo_open_lot(key)
    flash("It is noted as not opened.", "good")
    return redirect_to("lot", key)


@pages.post("/lots/<int:key>/close-bag")
@form_action(lot)
def close_bag(key: int) -> Response:
    """Note that a lot is back in its bag or dry storage."""
    domain.close_bag(key, by=current_person().id)
    flash("Back in the dry: its clock stands still.", "good")
    return redirect_to("lot", key)


@pages.post("/lots/<int:key>/bake")
@form_action(lot)
def record_bake(key: int) -> Response:
    """Note that a lot was baked dry."""
    domain.record_bake(key, note=form_value("note", TextField()), by=current_person().id)
    flash("Baked: its floor life begins anew.", "good")
    return redirect_to("lot", key)


@pages.post("/parts/<int:key>/keeping")
@form_action(part)
def set_part_storage(key: int) -> Response:
    """Say how a part keeps."""
    domain.set_part_storage(key, **load_form(PartStorageForm))
    flash("How it keeps is noted.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="keeping"), 303)
