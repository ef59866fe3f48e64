"""Lots: where one came from, what is left of it, which jobs got some; holding one and letting it go."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.catalogue import lots as domain
from inventory.pages import pages
from inventory.pages.catalogue import lot_screen
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MoneyField
from inventory.pages.forms import (
    CheckboxField,
    DateField,
    Form,
    IdField,
    TextField,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.quality import flow_chart
from inventory.pages.reorder import demand_chart
from inventory.web.access import current_person, require_role


class LotFilter(Form):
    """What the list of lots is narrowed by."""

    part = IdField()
    on_hold = CheckboxField()
    maker_lot = TextField()
    after = TextField()


class LotForm(Form):
    """What is noted of a lot."""

    origin_note = TextField()
    maker_lot = TextField()
    date_code = TextField()
    best_before = DateField()
    cost_minor = MoneyField()
    note = TextField()
    version = IdField()


@pages.get("/lots")
def lots() -> str:
    """List lots, newest first."""
    query = load_query(LotFilter)
    page = lot_screen.lot_list(
        part_id=query["part"], on_hold=query["on_hold"], maker_lot=query["maker_lot"], after=query["after"]
    )
    return render_template("catalogue/lot_list.html", lot_list=page, query=query)


@pages.get("/lots/<int:key>")
def lot(key: int) -> str:
    """Show where a lot came from and where it went."""
    screen = lot_screen.lot_screen(key)
    sections = demand_chart.bar_sections([
        ("shelf", screen.overview.left), ("jobs", screen.in_jobs), ("returned", screen.sent_back),
        ("scrapped", screen.scrapped), ("otherwise", screen.otherwise),
    ])  # fmt: skip
    return render_template(
        "catalogue/lot.html", screen=screen, overview=screen.overview, lot=screen.overview.lot,
        part=screen.overview.part, sections=sections, flow=flow_chart.lot_flow_chart(screen.trace),
    )  # fmt: skip


@pages.post("/lots/<int:key>/hold")
@form_action(lot)
def hold_lot(key: int) -> Response:
    """Put a lot on hold."""
    domain.hold_lot(
        key,
        form_value("reason", TextField(needed="Say why, so that the next person knows: such as pins do not hold.")),
        by=current_person().id,
    )
    flash("On hold: nobody can take from this lot until it is released.", "warn")
    return redirect_to("lot", key)


@pages.post("/lots/<int:key>/release")
@require_role("owner")
@form_action(lot)
def release_lot(key: int) -> Response:
    """Release a lot from hold."""
    domain.release_lot(key, form_value("outcome", TextField()), by=current_person().id)
    flash("Released: people can take from this lot again.", "good")
    return redirect_to("lot", key)


@pages.post("/lots/<int:key>/edit")
@form_action(lot)
def edit_lot(key: int) -> Response:
    """Correct what is noted of a lot."""
    data = load_form(LotForm)
    domain.edit_lot(key, data.pop("version"), **data)
    flash("What is noted of this lot is changed.", "good")
    return redirect_to("lot", key)
