"""Labels: choose what to label, see the sheet, print it."""

from __future__ import annotations

from typing import Any

from flask import Response, flash, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.common.errors import Invalid
from inventory.domain.labelling import label_content, label_sizes, print_offsets
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import acts
from inventory.pages.form_fields import Millimetres
from inventory.pages.forms import Form, Keys, Text, Tick, Whole, read_form, read_query
from inventory.pages.labelling.labels_screen import at_labels
from inventory.web.access import caller
from labels.layout.media import RESOLUTIONS

DPIS = tuple((dpi, f"{dpi} dots an inch") for dpi in RESOLUTIONS)


pages.add_app_template_filter(print_offsets.moved)


class Asked(Form):
    """What is to be labelled, on what; it stands in the address."""

    bin = Keys()
    lot = Keys()
    piece = Keys()
    job = Keys()
    shelf = Keys()  # bins whose shelf end, or drawer front, gets a label
    blank = Text()  # "12-35": the blank bin labels from 12 to 35
    copies = Whole(load_default=1)
    media = Text()
    start = Whole(load_default=1)
    dpi = Whole()
    page = Whole(load_default=1)
    nth = Whole(load_default=1)
    dots = Tick()


class Blank(Form):
    """How many labels to print before there is anything to label."""

    number = Whole(required=True)


class Queue(Form):
    """Where labels are printed."""

    printer = Text(needed="Choose the printer.")


class Offset(Form):
    """How far off a print came out."""

    right = Millimetres(blank=0.0)
    down = Millimetres(blank=0.0)
    printer = Text()


def _things(asked: dict[str, Any]) -> list[tuple[str, int]]:
    return [(what, key) for what in label_content.KINDS for key in asked[what]] + _blank(asked["blank"])


def _blank(text: str) -> list[tuple[str, int]]:
    first, _, last = text.partition("-")
    if not all(one.isascii() and one.isdigit() and len(one) < 10 for one in (first, last)):
        return []
    return label_content.blank_between(int(first), int(last))


def _how(asked: dict[str, Any]) -> dict[str, Any]:
    """Return how it is to be printed; what the address leaves out is as it was last time on this phone."""
    size = label_sizes.chosen(asked["media"]) if asked["media"] else _size_before()
    dpi = size.dpi or asked["dpi"] or session.get("dpi", label_sizes.USUAL_DPI)
    return {"media": size.key, "start": asked["start"] or 1, "dpi": dpi, "copies": asked["copies"] or 1}


def _size_before() -> label_sizes.ChosenSize:
    try:
        return label_sizes.chosen(session.get("media", label_sizes.USUAL_MEDIA))
    except Invalid:  # one of the shop's own that this database does not have
        return label_sizes.chosen(label_sizes.USUAL_MEDIA)


def _sheet(asked: dict[str, Any], printer: str = "") -> LabelSheet:
    return label_sheet(_things(asked), settings().label_url, printer=printer, **_how(asked))


def _same() -> dict[str, Any]:
    """Return what the address asks for, to ask for it again."""
    return {name: request.args.getlist(name) for name in Asked().fields if name in request.args and name != "dots"}


def _show() -> str:
    asked = read_query(Asked)
    page = asked["page"] or 1
    at = at_labels(_things(asked), settings().label_url, settings().printers, page, **_how(asked))
    if asked["media"]:
        session["media"] = at.sheet.size.key
        if at.sheet.size.dpi is None:
            session["dpi"] = at.sheet.dpi
    return render_template(
        "labelling/labels.html", at=at, sheet=at.sheet, choose=at.choose, asked=_same(), page=page, dpis=DPIS
    )  # fmt: skip


@pages.get("/labels")
def labels() -> str:
    """Show the sheet that was asked for, or ask what is to be labelled."""
    return _show()


@pages.get("/labels/sheet.svg")
def label_page() -> Response:
    """Draw one page of the sheet, to look at before printing."""
    asked = read_query(Asked)
    return Response(_sheet(asked).page_svg(asked["page"] or 1), mimetype="image/svg+xml")


@pages.get("/labels/labels.pdf")
def label_pdf() -> Response:
    """Make the file that is printed."""
    asked = read_query(Asked)
    named = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(_sheet(asked).pdf(as_dots=asked["dots"]), mimetype="application/pdf", headers=named)


@pages.get("/labels/label.png")
def label_png() -> Response:
    """Draw one label (``nth``, the first unless said) as a picture of one pixel a printer dot."""
    asked = read_query(Asked)
    return Response(_sheet(asked).png(asked["nth"] or 1), mimetype="image/png")


@pages.post("/labels/blank")
@acts(_show)
def blank_labels() -> AnyResponse:
    """Make bin labels that are stuck on first and put to use when they are scanned."""
    made = label_content.blank_labels(read_form(Blank)["number"])
    return redirect(url_for("pages.labels", blank=f"{made[0][1]}-{made[-1][1]}"), 303)


@pages.post("/labels/print")
@acts(_show, outside=True)
def print_labels() -> AnyResponse:
    """Print the sheet on a CUPS queue."""
    printer = read_form(Queue)["printer"]
    done = _sheet(read_query(Asked), printer).print_on(printer, settings().printers)
    flash(f"{done.printer} has the labels{f' ({done.request})' if done.request else ''}.", "good")
    return redirect(url_for("pages.labels", **_same()), 303)


@pages.post("/labels/offset")
@acts(_show)
def keep_print_offset() -> AnyResponse:
    """Keep how far off the print came out, for this size from now on."""
    typed = read_form(Offset)
    kept = print_offsets.keep_offset(_how(read_query(Asked))["media"], **typed, by=caller().id)
    flash(
        f"Print on this size moves {print_offsets.moved((kept.right, kept.down)) or 'by nothing'} from now on.",
        "good",
    )
    return redirect(url_for("pages.labels", **_same()), 303)
