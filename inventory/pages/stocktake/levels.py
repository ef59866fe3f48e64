"""Levels: how a bottle or reel is read, reading it, opening a new one in one tap."""

from __future__ import annotations

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from inventory.domain.catalogue import parts
from inventory.domain.common.quantity_text import parse_optional_quantity
from inventory.domain.stocktake import level_readings as domain
from inventory.pages import pages
from inventory.pages.catalogue.lots import lot
from inventory.pages.catalogue.parts import part
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import NumberField
from inventory.pages.forms import Form, IdField, TextField, load_form
from inventory.web.access import current_person


class LevelMethodForm(Form):
    """How a level is read."""

    read_by = TextField()
    full = TextField()
    tare = NumberField("Type a number, such as 31.5.")
    per_gram = NumberField("Type a number, such as 31.5.")


class LevelReadingForm(Form):
    """A level that was read."""

    bin = IdField(required=True, allow_none=False)
    value = TextField(needed="Type what you read.")


@pages.post("/parts/<int:key>/level-way")
@form_action(part)
def set_level_method(key: int) -> Response:
    """Say how a part's level is read."""
    set_level_method_from_form(key, **load_form(LevelMethodForm))
    flash("How its level is read is noted.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="level"), 303)


@pages.post("/lots/<int:key>/level")
@form_action(lot)
def record_level_reading(key: int) -> Response:
    """Note what a lot's level was read at."""
    data = load_form(LevelReadingForm)
    reading = domain.record_reading(key, data["bin"], data["value"], by=current_person().id)
    flash(reading.sentence, "good")
    return redirect_to("lot", key)


@pages.post("/parts/<int:key>/open-new")
@form_action(part)
def open_next_container(key: int) -> Response:
    """Note that the open one is empty, and open the next."""
    emptied = domain.open_next_container(key, by=current_person().id)
    flash("The old one is empty, a new one is open." if emptied else "The first one is open.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="level"), 303)


def set_level_method_from_form(
    part_id: int, read_by: str, full: str, tare: float | None, per_gram: float | None
) -> domain.LevelMethodRecord:
    """Say how a part's level is read; *full* is an amount as typed ("250 ml"), or blank."""
    holds = parse_optional_quantity(full, parts.part(part_id).unit, "full")
    return domain.set_level_method(part_id, read_by, full=holds, tare=tare, per_gram=per_gram)
