"""Photos of labels and bags: one useful code is followed at once, of several one is picked."""

from __future__ import annotations

from collections.abc import Sequence

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.labelling import photo_codes
from inventory.domain.labelling.photo_codes import ScannedSymbol
from inventory.pages import pages
from inventory.pages.catalogue.search import render_scan
from inventory.pages.forms import Form, IdField, load_form, load_query
from inventory.web.access import max_body, require_role


class TargetBinForm(Form):
    """Which bin the bag on the photo goes into, when that is known."""

    bin = IdField()


@pages.post("/scan/photo")
@require_role("viewer")
@max_body(lambda settings: settings.max_photo)
def scan_photo() -> Response | tuple[str, int]:
    """Read the codes on a photo, and go on to what they stand for."""
    try:
        found = photo_codes.read_photo(_uploaded_photo())
        bin_id = load_form(TargetBinForm)["bin"]
    except DomainError as refused:
        return render_scan(refused.sentence), refused.status
    return redirect(_next_url(found, bin_id), 303)


def _uploaded_photo() -> bytes:
    sent = request.files.get("photo")
    if sent is None or not sent.filename:
        raise Invalid("Choose a photo first.", errors={"photo": ["Choose a photo first."]})
    with sent.stream as stream:
        return stream.read()


def _next_url(found: Sequence[ScannedSymbol], bin_id: int | None) -> str:
    """Return where to go: to the only code there is, or the only one of use; else to where one is picked."""
    useful = [one for one in found if one.what != "other"]
    only = found if len(found) == 1 else useful
    if len(only) == 1 and (only[0].place or len(found) == 1):
        return _symbol_url(only[0], bin_id)
    seen = [", ".join(filter(None, (one.kind, one.place))) for one in found]
    return url_for("pages.pick_code", code=[one.text for one in found], at=seen, bin=bin_id)


@pages.get("/scan/pick")
def pick_code() -> str | tuple[str, int]:
    """Let one of several codes that were read be picked."""
    texts, bin_id = request.args.getlist("code"), load_query(TargetBinForm)["bin"]
    symbols = photo_codes.symbols_from_texts(texts)
    if not symbols:
        return render_scan("Nothing was read: scan again."), 422
    where = dict(zip(texts, request.args.getlist("at"), strict=False))
    ways = [(symbol, where.get(symbol.text, ""), _symbol_url(symbol, bin_id)) for symbol in symbols]
    return render_template("labelling/pick_code.html", ways=ways)


def _symbol_url(one: ScannedSymbol, bin_id: int | None) -> str:
    if one.scan is not None:
        return url_for("pages.open_code", code=one.scan.code)
    if one.what == "bag":
        return url_for("pages.receive", bag=one.text, bin=bin_id)
    return url_for("pages.search", q=one.text)
