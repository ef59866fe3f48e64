"""Photos of labels and bags: one useful code is followed at once, of several one is picked."""

from __future__ import annotations

from collections.abc import Sequence

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid, Refused
from inventory.domain.labelling import photo_codes
from inventory.domain.labelling.photo_codes import Symbol
from inventory.pages import pages
from inventory.pages.catalogue.search import scan_page
from inventory.pages.context import settings
from inventory.pages.forms import Form, Key, read_form, read_query
from inventory.web.access import for_role


class Goes(Form):
    """Which bin the bag on the photo goes into, when that is known."""

    bin = Key()


@pages.url_value_preprocessor
def make_room(endpoint: str | None, _: dict[str, object] | None) -> None:
    """Let a photo be as large as the setting for photos says; everywhere else the one for bodies holds."""
    if endpoint == "pages.scan_photo":
        request.max_content_length = settings().max_photo


@pages.post("/scan/photo")
@for_role("viewer")
def scan_photo() -> Response | tuple[str, int]:
    """Read the codes on a photo, and go on to what they stand for."""
    try:
        found = photo_codes.symbols_on(_sent())
        bin_id = read_form(Goes)["bin"]
    except Refused as refused:
        return scan_page(refused.sentence), refused.status
    return redirect(_on(found, bin_id), 303)


def _sent() -> bytes:
    sent = request.files.get("photo")
    if sent is None or not sent.filename:
        raise Invalid("Choose a photo first.", errors={"photo": ["Choose a photo first."]})
    with sent.stream as stream:
        return stream.read()


def _on(found: Sequence[Symbol], bin_id: int | None) -> str:
    """Return where to go: to the only code there is, or the only one of use; else to where one is picked."""
    useful = [one for one in found if one.what != "other"]
    only = found if len(found) == 1 else useful
    if len(only) == 1 and (only[0].place or len(found) == 1):
        return _way_of(only[0], bin_id)
    seen = [", ".join(filter(None, (one.kind, one.place))) for one in found]
    return url_for("pages.pick", code=[one.text for one in found], at=seen, bin=bin_id)


@pages.get("/scan/pick")
def pick() -> str | tuple[str, int]:
    """Let one of several codes that were read be picked."""
    texts, bin_id = request.args.getlist("code"), read_query(Goes)["bin"]
    symbols = photo_codes.symbols_in(texts)
    if not symbols:
        return scan_page("Nothing was read: scan again."), 422
    where = dict(zip(texts, request.args.getlist("at"), strict=False))
    ways = [(one, where.get(one.text, ""), _way_of(one, bin_id)) for one in symbols]
    return render_template("labelling/pick_code.html", ways=ways)


def _way_of(one: Symbol, bin_id: int | None) -> str:
    if one.scan is not None:
        return url_for("pages.scanned", code=one.scan.code)
    if one.what == "bag":
        return url_for("pages.receive", bag=one.text, bin=bin_id)
    return url_for("pages.find", q=one.text)
