"""Labels: choose what to label, see the sheet, print it."""

from __future__ import annotations

from typing import Any

from flask import Response, flash, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import parse_id
from inventory.domain.labelling import label_content, label_sizes, print_offsets
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action
from inventory.pages.form_fields import MillimetresField
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IdListField,
    IntegerField,
    TextField,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.labelling.labels_screen import LabelsScreen, labels_screen
from inventory.web.access import current_person
from labels.layout.media import RESOLUTIONS

RESOLUTION_CHOICES = tuple((dpi, f"{dpi} dots an inch") for dpi in RESOLUTIONS)


pages.add_app_template_filter(print_offsets.offset_text)


class LabelsQuery(Form):
    """What is to be labelled, on what; it stands in the address."""

    bin = IdListField()
    lot = IdListField()
    piece = IdListField()
    job = IdListField()
    shelf = IdListField()  # bins whose shelf end, or drawer front, gets a label
    blank = TextField()  # "12-35": the blank bin labels from 12 to 35
    copies = IntegerField(load_default=1)
    media = TextField()
    start = IntegerField(load_default=1)
    dpi = IntegerField()
    page = IntegerField(load_default=1)
    nth = IntegerField(load_default=1)
    dots = CheckboxField()


class PrintOffsetForm(Form):
    """A print offset, in millimetres."""

    right = MillimetresField(blank=0.0)
    down = MillimetresField(blank=0.0)
    printer = TextField()


def _labelled_things(query: dict[str, Any]) -> list[tuple[str, int]]:
    return [(what, key) for what in label_content.LABEL_KINDS for key in query[what]] + _blank_bins(query["blank"])


def _blank_bins(text: str) -> list[tuple[str, int]]:
    first, last = map(parse_id, text.partition("-")[::2])
    return [] if first is None or last is None else label_content.blank_labels_between(first, last)


def _print_settings(query: dict[str, Any]) -> dict[str, Any]:
    """Return how it is to be printed; what the address leaves out is as it was last time on this phone."""
    size = label_sizes.resolve_size(query["media"]) if query["media"] else _last_size()
    dpi = size.dpi or query["dpi"] or session.get("dpi", label_sizes.DEFAULT_DPI)
    return {"media": size.key, "start": query["start"] or 1, "dpi": dpi, "copies": query["copies"] or 1}


def _last_size() -> label_sizes.ResolvedSize:
    try:
        return label_sizes.resolve_size(session.get("media", label_sizes.DEFAULT_MEDIA))
    except Invalid:  # one of the shop's own that this database does not have
        return label_sizes.resolve_size(label_sizes.DEFAULT_MEDIA)


def _label_sheet(query: dict[str, Any], printer: str = "") -> LabelSheet:
    return label_sheet(_labelled_things(query), settings().label_url, printer=printer, **_print_settings(query))


def _same_query() -> dict[str, Any]:
    """Return what the address asks for, to ask for it again."""
    return {
        name: request.args.getlist(name) for name in LabelsQuery().fields if name in request.args and name != "dots"
    }


@pages.get("/labels")
def labels() -> str:
    """Show the sheet that was asked for, or ask what is to be labelled."""
    query = load_query(LabelsQuery)
    page = query["page"] or 1
    screen = labels_screen(
        _labelled_things(query), settings().label_url, settings().printers, page, **_print_settings(query)
    )
    if query["media"]:
        session["media"] = screen.sheet.size.key
        if screen.sheet.size.dpi is None:
            session["dpi"] = screen.sheet.dpi
    return _render_labels(screen, page)


def _render_labels(screen: LabelsScreen, page: int) -> str:
    return render_template(
        "labelling/labels.html", screen=screen, sheet=screen.sheet, choices=screen.choose, query=_same_query(),
        page=page, dpis=RESOLUTION_CHOICES,
    )  # fmt: skip


@pages.get("/labels/sheet.svg")
def label_sheet_svg() -> Response:
    """Draw one page of the sheet, to look at before printing."""
    query = load_query(LabelsQuery)
    return Response(_label_sheet(query).page_svg(query["page"] or 1), mimetype="image/svg+xml")


@pages.get("/labels/labels.pdf")
def label_pdf() -> Response:
    """Make the file that is printed."""
    query = load_query(LabelsQuery)
    headers = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(_label_sheet(query).pdf(as_dots=query["dots"]), mimetype="application/pdf", headers=headers)


@pages.get("/labels/label.png")
def label_png() -> Response:
    """Draw one label (``nth``, the first unless said) as a picture of one pixel a printer dot."""
    query = load_query(LabelsQuery)
    return Response(_label_sheet(query).png(query["nth"] or 1), mimetype="image/png")


@pages.post("/labels/blank")
@form_action(labels)
def make_blank_labels() -> AnyResponse:
    """Make bin labels that are stuck on first and put to use when they are scanned."""
    labels = label_content.create_blank_labels(form_value("number", IntegerField(required=True)))
    return redirect(url_for("pages.labels", blank=f"{labels[0][1]}-{labels[-1][1]}"), 303)


@pages.post("/labels/print")
@form_action(labels, external_effect=True)
def print_labels() -> AnyResponse:
    """Print the sheet on a CUPS queue."""
    printer = form_value("printer", TextField(needed="Choose the printer."))
    result = _label_sheet(load_query(LabelsQuery), printer).print_on(printer, settings().printers)
    flash(f"{result.printer} has the labels{f' ({result.request})' if result.request else ''}.", "good")
    return redirect(url_for("pages.labels", **_same_query()), 303)


@pages.post("/labels/offset")
@form_action(labels)
def save_print_offset() -> AnyResponse:
    """Save the print offset of this size."""
    data = load_form(PrintOffsetForm)
    offset = print_offsets.save_offset(
        _print_settings(load_query(LabelsQuery))["media"], **data, by=current_person().id
    )
    by = print_offsets.offset_text((offset.right, offset.down)) or "by nothing"
    flash(f"Print on this size moves {by} from now on.", "good")
    return redirect(url_for("pages.labels", **_same_query()), 303)
