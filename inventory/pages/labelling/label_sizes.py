"""Sheets and rolls of the shop's own, and how far off its printers print."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.labelling import label_sizes as stock
from inventory.domain.labelling import print_offsets
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Millimetres
from inventory.pages.forms import Form, Key, Text, Tick, Whole, read_form, read_query
from inventory.pages.labelling.labels import DPIS
from inventory.web.access import caller, for_role


class Paged(Form):
    """Which sizes, and where the list goes on."""

    gone = Tick()
    after = Text()


class Measured(Form):
    """A sheet or roll as somebody measured it, in millimetres."""

    name = Text()
    label_width = Millimetres()
    label_height = Millimetres()
    page_width = Millimetres()
    page_height = Millimetres()
    columns = Whole(load_default=1)
    rows = Whole(load_default=1)
    left = Millimetres()
    top = Millimetres()
    gap_x = Millimetres(blank=0.0)
    gap_y = Millimetres(blank=0.0)
    margin = Millimetres()
    dpi = Whole(load_default=stock.USUAL_DPI)


class Remeasured(Measured):
    """The same, of a size that is kept already."""

    active = Tick()
    version = Key()


class Off(Form):
    """How far off the print of a size, of a printer, or of a size in a printer came out."""

    size = Text()
    printer = Text()
    right = Millimetres(blank=0.0)
    down = Millimetres(blank=0.0)


def _list() -> str:
    asked = read_query(Paged)
    found = stock.sizes(active=not asked["gone"], after=asked["after"] or None)
    at = print_offsets.at_offsets(settings().printers)
    return render_template("labelling/label_size_list.html", found=found, asked=asked, at=at)


@pages.get("/labels/sizes")
def label_sizes() -> str:
    """List the shop's own sizes, and how far off its printers print."""
    return _list()


def _new() -> str:
    return render_template("labelling/label_size.html", size=None, dpis=DPIS)


@pages.get("/labels/sizes/new")
@for_role("tech")
def new_label_size() -> str:
    """Ask for the measures of a sheet or roll."""
    return _new()


@pages.post("/labels/sizes/new")
@acts(_new)
def add_label_size() -> Response:
    """Keep a sheet or roll of the shop's own."""
    made = stock.add_size(settings().label_url, **read_form(Measured))
    flash(f"{made.name} is kept: choose it wherever labels are printed.", "good")
    return to_thing("label size", made.id)


def _show(key: int) -> str:
    return render_template("labelling/label_size.html", size=stock.size(key), dpis=_dpis(stock.size(key).dpi))


def _dpis(own: int) -> list[tuple[int, str]]:
    """Return the resolutions to choose from, one that is not among the usual ones too."""
    return [*DPIS, *([] if own in dict(DPIS) else [(own, f"{own} dots an inch")])]


@pages.get("/labels/sizes/<int:key>")
def label_size(key: int) -> str:
    """Show a size of the shop's own: its sheet, its measures."""
    return _show(key)


@pages.post("/labels/sizes/<int:key>/edit")
@acts(_show)
def edit_label_size(key: int) -> Response:
    """Change a size of the shop's own."""
    typed: dict[str, Any] = read_form(Remeasured)
    changed = stock.edit_size(key, settings().label_url, typed.pop("version"), **typed)
    flash(f"{changed.name} is changed.", "good")
    return to_thing("label size", key)


@pages.post("/labels/offsets")
@acts(_list)
def add_print_offset() -> Response:
    """Keep how far off a print came out: of a size, of a printer whatever goes in, or of both."""
    kept = print_offsets.keep_offset(**read_form(Off), by=caller().id)
    by = print_offsets.moved((kept.right, kept.down)) or "by nothing"
    flash(f"From now on print moves {by}{f' on {kept.printer}' if kept.printer else ''}.", "good")
    return redirect(url_for("pages.label_sizes", _anchor="offsets"), 303)


def _list_again(key: int) -> str:
    return _list()


@pages.post("/labels/offsets/<int:key>/forget")
@acts(_list_again)
def forget_print_offset(key: int) -> Response:
    """Forget how far off a print came out."""
    print_offsets.forget_offset(key)
    flash("Forgotten: print is not moved for it any more.", "good")
    return redirect(url_for("pages.label_sizes"), 303)
