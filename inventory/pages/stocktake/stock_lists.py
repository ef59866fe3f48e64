"""Stock lists: the bench's stock comes in from a spreadsheet, and goes out to one."""

from __future__ import annotations

from typing import Any

from flask import Response, g, make_response, redirect, render_template, request, url_for
from marshmallow import fields
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.common.errors import Invalid, Refused
from inventory.domain.stocktake import stock_list_import as stock
from inventory.domain.stocktake.stock_list_columns import COLUMNS, OFFER, PART, PLACE
from inventory.domain.stocktake.stock_list_export import empty_list, stock_list_csv
from inventory.domain.stocktake.stock_list_table import MOST_BYTES, text_of
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import acts
from inventory.pages.forms import Form, Tick, read_form
from inventory.web.access import caller, for_role

ROOM = 6 * MOST_BYTES  # what is a little too large is taken in, and told so in a sentence about lists
ROWS_A_SECOND = 300  # that are taken in, at the least: measured on a small machine that was busy, with PostgreSQL
SHOWN = 100
LABELS = 200  # bins in one link to their labels: a longer address is cut off by some programs on the way


class Listed(Form):
    """A list as pasted or travelling on, and what is to be done about what is odd in it."""

    text = fields.String(load_default="")  # not trimmed: a first heading may be empty, and a tab follows it
    leave_out = fields.List(fields.String(), load_default=list)
    on_top = Tick()


@pages.url_value_preprocessor
def make_room_for_lists(endpoint: str | None, _: dict[str, object] | None) -> None:
    """Let a list be larger than other forms are."""
    if endpoint in ("pages.look_at_stock_list", "pages.take_stock_list"):
        request.max_content_length = request.max_form_memory_size = ROOM


@pages.get("/stock-lists")
@for_role("owner")
def stock_lists() -> str:
    """Ask for a list, offer the bench's own, and show what was taken in."""
    return _asking()


def _asking(text: str = "") -> str:
    return render_template(
        "stocktake/stock_lists.html",
        taken=stock.stock_lists().items,
        columns=COLUMNS,
        known_by=(*PART, *PLACE, *OFFER),
        text=text,
    )


@pages.post("/stock-lists/look")
@for_role("owner")
def look_at_stock_list() -> AnyResponse:
    """Show what a list would do. Nothing is written."""
    try:
        return make_response(_looked(_sent() or read_form(Listed)["text"]))
    except Refused as refused:
        g.refused = refused
        return make_response(_asking(request.form.get("text", "")), refused.status)


def _sent() -> str:
    """Return the text of the file that was chosen; empty for none."""
    sent = request.files.get("file")
    if sent is None or not sent.filename:
        return ""
    with sent.stream as stream:
        return text_of(stream.read())


def _looked(text: str) -> str:
    looked = stock.look(text, settings().currency)
    seconds = -(-len(looked.rows) // ROWS_A_SECOND)
    return render_template(
        "stocktake/stock_list_preview.html", looked=looked, text=text, shown=SHOWN, seconds=seconds
    )


def _show_again() -> str:
    text = request.form.get("text", "")
    try:
        return _looked(text)
    except Refused:
        return _asking(text)


@pages.post("/stock-lists/take")
@for_role("owner")
@acts(_show_again)
def take_stock_list() -> AnyResponse:
    """Take a list in as it was looked at: all of it, or nothing."""
    if _sent():
        raise Invalid("A file was chosen: look at it first. Nothing was taken in.")
    made = stock.take_in(**read_form(Listed), currency=settings().currency, by=caller().id)
    return redirect(url_for("pages.stock_list", key=made.id), 303)


@pages.get("/stock-lists/<int:key>")
@for_role("owner")
def stock_list(key: int) -> str:
    """Show what a list added, and the way to the labels of its bins."""
    taken = stock.stock_list(key)
    bins = taken.bin_ids
    groups = [bins[start : start + LABELS] for start in range(0, len(bins), LABELS)]
    return render_template("stocktake/stock_list.html", taken=taken, groups=groups)


@pages.get("/stock-lists/stock.csv")
@for_role("owner")
def stock_list_now() -> Response:
    """Send the bench's stock as a list."""
    return _csv(stock_list_csv(settings().currency), "stock")


@pages.get("/stock-lists/empty.csv")
@for_role("owner")
def empty_stock_list() -> Response:
    """Send a list with all headings and nothing below them."""
    return _csv(empty_list(), "empty-stock-list")


def _csv(text: str, name: str) -> Response:
    named: dict[str, Any] = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return Response(text, content_type="text/csv; charset=utf-8", headers=named)
