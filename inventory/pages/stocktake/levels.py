"""Levels: how a bottle or reel is read, reading it, opening a new one in one tap."""

from __future__ import annotations

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from inventory.pages import pages
from inventory.pages.catalogue.lots import show_lot
from inventory.pages.catalogue.parts import show_part
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Number
from inventory.pages.forms import Form, Key, Text, read_form
from inventory.pages.stocktake import level_form as stock
from inventory.web.access import caller


class Way(Form):
    """How a level is read."""

    read_by = Text()
    full = Text()
    tare = Number("Type a number, such as 31.5.")
    per_gram = Number("Type a number, such as 31.5.")


class Read(Form):
    """A level that was read."""

    bin = Key(required=True, allow_none=False)
    value = Text(needed="Type what you read.")


@pages.post("/parts/<int:key>/level-way")
@acts(show_part)
def set_way(key: int) -> Response:
    """Say how a part's level is read."""
    stock.set_way_as_typed(key, **read_form(Way))
    flash("How its level is read is noted.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="level"), 303)


@pages.post("/lots/<int:key>/level")
@acts(show_lot)
def read_level(key: int) -> Response:
    """Note what a lot's level was read at."""
    typed = read_form(Read)
    found = stock.read_level(key, typed["bin"], typed["value"], by=caller().id)
    flash(found.sentence, "good")
    return to_thing("lot", key)


@pages.post("/parts/<int:key>/open-new")
@acts(show_part)
def open_new(key: int) -> Response:
    """Note that the open one is empty, and open the next."""
    emptied = stock.open_new(key, by=caller().id)
    flash("The old one is empty, a new one is open." if emptied else "The first one is open.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="level"), 303)
