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
from inventory.pages.forms import CheckboxField, Form, IdListField, IntegerField, TextField, load_form, load_query
from inventory.pages.labelling.labels_screen import labels_screen
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


class BlankLabelsForm(Form):
    """How many labels to print before there is anything to label."""

    number = IntegerField(required=True)


class PrinterForm(Form):
    """Where labels are printed."""

    printer = TextField(needed="Choose the printer.")


class PrintOffsetForm(Form):
    """How far off a print came out."""

    right = MillimetresField(blank=0.0)
    down = MillimetresField(blank=0.0)
    printer = TextField()


def _labelled_things(asked: dict[str, Any]) -> list[tuple[str, int]]:
    return [(what, key) for what in label_content.LABEL_KINDS for key in asked[what]] + _blank_bins(asked["blank"])


def _blank_bins(text: str) -> list[tuple[str, int]]:
    first, _, last = map(parse_id, text.partition("-"))
    return [] if first is None or last is None else label_content.blank_labels_between(first, last)


def _print_settings(asked: dict[str, Any]) -> dict[str, Any]:
    """Return how it is to be printed; what the address leaves out is as it was last time on this phone."""
    size = label_sizes.resolve_size(asked["media"]) if asked["media"] else _last_size()
    dpi = size.dpi or asked["dpi"] or session.get("dpi", label_sizes.DEFAULT_DPI)
    return {"media": size.key, "start": asked["start"] or 1, "dpi": dpi, "copies": asked["copies"] or 1}


def _last_size() -> label_sizes.ResolvedSize:
    try:
        return label_sizes.resolve_size(session.get("media", label_sizes.DEFAULT_MEDIA))
    except Invalid:  # one of the shop's own that this database does not have
        return label_sizes.resolve_size(label_sizes.DEFAULT_MEDIA)


def _label_sheet(asked: dict[str, Any], printer: str = "") -> LabelSheet:
    return label_sheet(_labelled_things(asked), settings().label_url, printer=printer, **_print_settings(asked))


def _same_query() -> dict[str, Any]:
    """Return what the address asks for, to ask for it again."""
    return {
        name: request.args.getlist(name) for name in LabelsQuery().fields if name in request.args and name != "dots"
    }


def _render_labels() -> str:
    asked = load_query(LabelsQuery)
    page = asked["page"] or 1
    at = labels_screen(
        _labelled_things(asked), settings().label_url, settings().printers, page, **_print_settings(asked)
    )
    if asked["media"]:
        session["media"] = at.sheet.size.key
        if at.sheet.size.dpi is None:
            session["dpi"] = at.sheet.dpi
    return render_template(
        "labelling/labels.html",
        at=at,
        sheet=at.sheet,
        choose=at.choose,
        asked=_same_query(),
        page=page,
        dpis=RESOLUTION_CHOICES,
    )


@pages.get("/labels")
def labels() -> str:
    """Show the sheet that was asked for, or ask what is to be labelled."""
    return _render_labels()


@pages.get("/labels/sheet.svg")
def label_sheet_svg() -> Response:
    """Draw one page of the sheet, to look at before printing."""
    asked = load_query(LabelsQuery)
    return Response(_label_sheet(asked).page_svg(asked["page"] or 1), mimetype="image/svg+xml")


@pages.get("/labels/labels.pdf")
def label_pdf() -> Response:
    """Make the file that is printed."""
    asked = load_query(LabelsQuery)
    named = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(_label_sheet(asked).pdf(as_dots=asked["dots"]), mimetype="application/pdf", headers=named)


@pages.get("/labels/label.png")
def label_png() -> Response:
    """Draw one label (``nth``, the first unless said) as a picture of one pixel a printer dot."""
    asked = load_query(LabelsQuery)
    return Response(_label_sheet(asked).png(asked["nth"] or 1), mimetype="image/png")


@pages.post("/labels/blank")
@form_action(_render_labels)
def make_blank_labels() -> AnyResponse:
    """Make bin labels that are stuck on first and put to use when they are scanned."""
    made = label_content.create_blank_labels(load_form(BlankLabelsForm)["number"])
    return redirect(url_for("pages.labels", blank=f"{made[0][1]}-{made[-1][1]}"), 303)


@pages.post("/labels/print")
@form_action(_render_labels, external_effect=True)
def print_labels() -> AnyResponse:
    """Print the sheet on a CUPS queue."""
    printer = load_form(PrinterForm)["printer"]
    done = _label_sheet(load_query(LabelsQuery), printer).print_on(printer, settings().printers)
    flash(f"{done.printer} has the labels{f' ({done.request})' if done.request else ''}.", "good")
    return redirect(url_for("pages.labels", **_same_query()), 303)


@pages.post("/labels/offset")
@form_action(_render_labels)
def save_print_offset() -> AnyResponse:
    """Keep how far off the print came out, for this size from now on."""
    typed = load_form(PrintOffsetForm)
    kept = print_offsets.save_offset(
        _print_settings(load_query(LabelsQuery))["media"], **typed, by=current_person().id
    )
    flash(
        f"Print on this size moves {print_offsets.offset_text((kept.right, kept.down)) or 'by nothing'} from now on.",
        "good",
    )
    return redirect(url_for("pages.labels", **_same_query()), 303)
