"""Labels: choose what to label, see the sheet, print it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import Response, redirect, render_template, request, session, url_for
from marshmallow import fields as types
from werkzeug.wrappers import Response as AnyResponse

from inventory.pages import pages
from inventory.pages.acting import acts
from inventory.pages.common import settings
from inventory.pages.forms import Form, Keys, Text, Whole, read_form, read_query
from inventory.stock import labelling
from inventory.stock.refusals import Invalid
from labels import draw
from labels.errors import BadMedia, LabelError
from labels.media import MEDIA, RESOLUTIONS, Media, check_start, find_media

Drawn = TypeVar("Drawn")
USUAL_MEDIA, USUAL_DPI = "a4-3x8", 300


class Millimetres(types.Field[float]):
    """A correction of the printer in millimetres; left blank, it is none."""

    def __init__(self) -> None:
        """Ask for millimetres."""
        super().__init__(load_default=0.0)

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> float:
        try:
            return float(str(value).strip().replace(",", ".") or 0)
        except ValueError:
            raise Invalid("Type millimetres, such as 1.5 or -0.5.", errors={"right": ["millimetres"]}) from None


class Asked(Form):
    """What is to be labelled, on what."""

    bin = Keys()
    lot = Keys()
    piece = Keys()
    job = Keys()
    blank = Text()  # "12-35": the blank bin labels from 12 to 35
    copies = Whole(load_default=1)
    media = Text()
    start = Whole(load_default=1)
    dpi = Whole()
    right = Millimetres()
    down = Millimetres()
    page = Whole(load_default=1)
    nth = Whole(load_default=1)


class Blank(Form):
    """How many labels to print before there is anything to label."""

    number = Whole(required=True)


@dataclass(frozen=True)
class Sheet:
    """A job for the printer: the labels, and how they lie on the paper."""

    labels: tuple[labelling.Labelled, ...]
    key: str
    media: Media
    start: int
    dpi: int
    offset: tuple[float, float]
    copies: int
    page: int

    @property
    def pages(self) -> int:
        """How many sheets it takes."""
        return -(-(self.start - 1 + len(self.labels) * self.copies) // self.media.labels_a_page)

    @property
    def faces(self) -> list[Any]:
        """The faces of the labels in order, copies beside each other."""
        return [one.face for one in self.labels for _ in range(self.copies)]

    def drawn_page(self) -> str:
        """Draw the page that is looked at, and none of the others. Raises LabelError."""
        check_start(self.media, self.start)
        if not self.labels:
            raise LabelError("There is no label to draw: choose at least one.")
        if not 1 <= self.page <= self.pages:
            raise BadMedia(f"There is no page {self.page}: these labels fill {self.pages}.")
        end = self.page * self.media.labels_a_page - (self.start - 1)
        shown = self.faces[max(0, end - self.media.labels_a_page) : end]
        start = self.start if self.page == 1 else 1
        return draw.draw_page(shown, self.media, start, self.dpi, offset_mm=self.offset)


def _plain(draws: Callable[[], Drawn]) -> Drawn:
    """Draw, and say as a refusal of ours why it cannot be drawn."""
    try:
        return draws()
    except LabelError as bad:
        raise Invalid(str(bad), reason="label") from None


def _asked() -> Sheet:
    """Read from the address what is to be printed; what it leaves out is as it was last time."""
    asked = read_query(Asked)
    things = [(what, key) for what in labelling.KINDS for key in asked[what]] + _blank(asked["blank"])
    copies = min(max(asked["copies"] or 1, 1), 100)
    if len(things) * copies > labelling.MOST:
        raise Invalid(f"That makes {len(things) * copies} labels: print at most {labelling.MOST} at a time.")
    key = asked["media"] or session.get("media", USUAL_MEDIA)
    return Sheet(
        tuple(labelling.labelled(things, settings().label_url)), key, _plain(lambda: find_media(key)),
        asked["start"] or 1, asked["dpi"] or session.get("dpi", USUAL_DPI), (asked["right"], asked["down"]),
        copies, asked["page"] or 1,
    )  # fmt: skip


def _blank(text: str) -> list[tuple[str, int]]:
    first, _, last = text.partition("-")
    if not all(one.isascii() and one.isdigit() and len(one) < 10 for one in (first, last)):
        return []
    return labelling.blank_between(int(first), int(last))


def _show() -> str:
    sheet = _asked()
    if request.args.get("media"):
        session.update(media=sheet.key, dpi=sheet.dpi)
    asked = {name: request.args.getlist(name) for name in Asked().fields if name in request.args}
    return render_template(
        "labels.html", sheet=sheet, choose=labelling.to_choose(), asked=asked, media=_media(sheet.key),
        printers=[(dpi, f"{dpi} dots an inch") for dpi in RESOLUTIONS], problem=_problem(sheet),
    )  # fmt: skip


def _media(key: str) -> list[tuple[str, str]]:
    """Return the sheets and rolls to choose from; one of own size stays among them."""
    known = [(name, one.name) for name, one in MEDIA.items()]
    return known if key in MEDIA else [*known, (key, f"Roll of own size, {key}")]


def _problem(sheet: Sheet) -> str:
    """Say why the sheet cannot be drawn, before anybody prints it; empty when it can."""
    if not sheet.labels:
        return ""
    try:
        sheet.drawn_page()
    except LabelError as bad:
        return str(bad)
    return ""


@pages.get("/labels")
def labels() -> str:
    """Show the sheet that was asked for, or ask what is to be labelled."""
    return _show()


@pages.get("/labels/sheet.svg")
def label_sheet() -> Response:
    """Draw one page of the sheet, to look at before printing."""
    return Response(_plain(_asked().drawn_page), mimetype="image/svg+xml")


@pages.get("/labels/labels.pdf")
def label_pdf() -> Response:
    """Make the file that is printed."""
    sheet = _asked()
    drawn = _plain(
        lambda: draw.draw_pdf(sheet.faces, sheet.media, sheet.start, sheet.dpi, offset_mm=sheet.offset)
    )  # fmt: skip
    named = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(drawn, mimetype="application/pdf", headers=named)


@pages.get("/labels/label.png")
def label_png() -> Response:
    """Draw one label (``nth``, the first unless said) as a picture of one pixel a printer dot."""
    sheet, nth = _asked(), read_query(Asked)["nth"] or 1
    if not 1 <= nth <= len(sheet.labels):
        raise Invalid("There is no such label to draw: choose at least one.")
    drawn = _plain(lambda: draw.draw_png(sheet.labels[nth - 1].face, sheet.media, sheet.dpi))
    return Response(drawn, mimetype="image/png")


@pages.post("/labels/blank")
@acts(_show)
def blank_labels() -> AnyResponse:
    """Make bin labels that are stuck on first and put to use when they are scanned."""
    made = labelling.blank_labels(read_form(Blank)["number"])
    return redirect(url_for("pages.labels", blank=f"{made[0][1]}-{made[-1][1]}"), 303)
