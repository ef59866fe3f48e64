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
from inventory.pages.forms import IdField, form_value, query_value
from inventory.web.access import max_body, require_role


@pages.post("/scan/photo")
@require_role("viewer")
@max_body(lambda settings: settings.max_photo)
def scan_photo() -> Response | tuple[str, int]:
    """Read the codes on a photo, and go on to what they stand for."""
    try:
        symbols = photo_codes.read_photo(_uploaded_photo())
        bin_id = form_value("bin", IdField())
    except DomainError as refused:
        return render_scan(refused.sentence), refused.status
    return redirect(_next_url(symbols, bin_id), 303)


def _uploaded_photo() -> bytes:
    upload = request.files.get("photo")
    if upload is None or not upload.filename:
        raise Invalid("Choose a photo first.", errors={"photo": ["Choose a photo first."]})
    with upload.stream as stream:
        return stream.read()


def _next_url(symbols: Sequence[ScannedSymbol], bin_id: int | None) -> str:
    """Return where to go: to the only code there is, or the only one of use; else to where one is picked."""
    useful = [symbol for symbol in symbols if symbol.what != "other"]
    only = symbols if len(symbols) == 1 else useful
    if len(only) == 1 and (only[0].place or len(symbols) == 1):
        return _symbol_url(only[0], bin_id)
    labels = [", ".join(filter(None, (symbol.kind, symbol.place))) for symbol in symbols]
    return url_for("pages.pick_code", code=[symbol.text for symbol in symbols], at=labels, bin=bin_id)


@pages.get("/scan/pick")
def pick_code() -> str | tuple[str, int]:
    """Let one of several codes that were read be picked."""
    texts, bin_id = request.args.getlist("code"), query_value("bin", IdField())
    symbols = photo_codes.symbols_from_texts(texts)
    if not symbols:
        return render_scan("Nothing was read: scan again."), 422
    where = dict(zip(texts, request.args.getlist("at"), strict=False))
    choices = [(symbol, where.get(symbol.text, ""), _symbol_url(symbol, bin_id)) for symbol in symbols]
    return render_template("labelling/pick_code.html", ways=choices)


def _symbol_url(symbol: ScannedSymbol, bin_id: int | None) -> str:
    if symbol.scan is not None:
        return url_for("pages.open_code", code=symbol.scan.code)
    if symbol.what == "bag":
        return url_for("pages.receive", bag=symbol.text, bin=bin_id)
    return url_for("pages.search", q=symbol.text)
