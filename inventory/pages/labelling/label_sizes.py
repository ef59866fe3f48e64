"""Sheets and rolls of the shop's own, and print offsets."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.labelling import label_sizes as domain
from inventory.domain.labelling import print_offsets
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MillimetresField
from inventory.pages.forms import CheckboxField, Form, IdField, IntegerField, TextField, load_form, load_query
from inventory.pages.labelling.labels import RESOLUTION_CHOICES
from inventory.web.access import current_person, require_role


class LabelSizeFilter(Form):
    """Which sizes, and where the list goes on."""

    gone = CheckboxField()
    after = TextField()


class LabelSizeForm(Form):
    """The measures of a sheet or roll, in millimetres."""

    name = TextField()
    label_width = MillimetresField()
    label_height = MillimetresField()
    page_width = MillimetresField()
    page_height = MillimetresField()
    columns = IntegerField(load_default=1)
    rows = IntegerField(load_default=1)
    left = MillimetresField()
    top = MillimetresField()
    gap_x = MillimetresField(blank=0.0)
    gap_y = MillimetresField(blank=0.0)
    margin = MillimetresField()
    dpi = IntegerField(load_default=domain.DEFAULT_DPI)


class EditLabelSizeForm(LabelSizeForm):
    """The same, of a size that is kept already."""

    active = CheckboxField()
    version = IdField()


class LabelOffsetForm(Form):
    """The print offset of a size, of a printer, or of a size in a printer."""

    size = TextField()
    printer = TextField()
    right = MillimetresField(blank=0.0)
    down = MillimetresField(blank=0.0)


@pages.get("/labels/sizes")
def label_sizes() -> str:
    """List the shop's own sizes and print offsets."""
    query = load_query(LabelSizeFilter)
    page = domain.list_label_sizes(active=not query["gone"], after=query["after"] or None)
    screen = print_offsets.print_offsets_screen(settings().printers)
    return render_template("labelling/label_size_list.html", page=page, query=query, screen=screen)


@pages.get("/labels/sizes/new")
@require_role("tech")
def new_label_size() -> str:
    """Ask for the measures of a sheet or roll."""
    return render_template("labelling/label_size.html", size=None, dpis=RESOLUTION_CHOICES)


@pages.post("/labels/sizes/new")
@form_action(new_label_size)
def add_label_size() -> Response:
    """Keep a sheet or roll of the shop's own."""
    size = domain.add_label_size(settings().label_url, **load_form(LabelSizeForm))
    flash(f"{size.name} is kept: choose it wherever labels are printed.", "good")
    return redirect_to("label size", size.id)


def _resolution_choices(dpi: int) -> list[tuple[int, str]]:
    """Return the resolutions to choose from, one that is not among the usual ones too."""
    return [*RESOLUTION_CHOICES, *([] if dpi in dict(RESOLUTION_CHOICES) else [(dpi, f"{dpi} dots an inch")])]


@pages.get("/labels/sizes/<int:key>")
def label_size(key: int) -> str:
    """Show a size of the shop's own: its sheet, its measures."""
    return render_template(
        "labelling/label_size.html",
        size=domain.get_label_size(key),
        dpis=_resolution_choices(domain.get_label_size(key).dpi),
    )


@pages.post("/labels/sizes/<int:key>/edit")
@form_action(label_size)
def edit_label_size(key: int) -> Response:
    """Change a size of the shop's own."""
    data: dict[str, Any] = load_form(EditLabelSizeForm)
    changed = domain.edit_label_size(key, settings().label_url, data.pop("version"), **data)
    flash(f"{changed.name} is changed.", "good")
    return redirect_to("label size", key)


@pages.post("/labels/offsets")
@form_action(label_sizes)
def set_size_print_offset() -> Response:
    """Save the print offset of a size, of a printer for all sizes, or of both."""
    offset = print_offsets.save_offset(**load_form(LabelOffsetForm), by=current_person().id)
    by = print_offsets.offset_text((offset.right, offset.down)) or "by nothing"
    flash(f"From now on print moves {by}{f' on {offset.printer}' if offset.printer else ''}.", "good")
    return redirect(url_for("pages.label_sizes", _anchor="offsets"), 303)


def _render_refused_list(key: int) -> str:
    return label_sizes()


@pages.post("/labels/offsets/<int:key>/forget")
@form_action(_render_refused_list)
def delete_print_offset(key: int) -> Response:
    """Delete a print offset."""
    print_offsets.delete_offset(key)
    flash("Forgotten: print is not moved for it any more.", "good")
    return redirect(url_for("pages.label_sizes"), 303)
