"""Stock lists: the bench's stock comes in from a spreadsheet, and goes out to one."""

from __future__ import annotations

from flask import Response, g, make_response, redirect, render_template, request, url_for
from marshmallow import fields
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.stocktake import stock_list_import as domain
from inventory.domain.stocktake.stock_list_columns import COLUMNS, OFFER_COLUMNS, PART_COLUMNS, PLACE_COLUMNS
from inventory.domain.stocktake.stock_list_export import empty_stock_list_csv, stock_list_csv
from inventory.domain.stocktake.stock_list_table import MAX_BYTES, decode_file
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action
from inventory.pages.forms import CheckboxField, Form, load_form
from inventory.web.access import current_person, max_body, require_role
from inventory.web.downloads import csv_response

MAX_BODY_BYTES = 6 * MAX_BYTES  # what is a little too large is taken in, and told so in a sentence about lists
ROWS_A_SECOND = 300  # that are taken in, at the least: measured on a small machine that was busy, with PostgreSQL
MAX_ROWS_SHOWN = 100
LABELS_PER_LINK = 200  # bins in one link to their labels: a longer address is cut off by some programs on the way


class StockListForm(Form):
    """A list as pasted or travelling on, and what is to be done about what is odd in it."""

    text = fields.String(load_default="")  # not trimmed: a first heading may be empty, and a tab follows it
    leave_out = fields.List(fields.String(), load_default=list)
    on_top = CheckboxField()


@pages.get("/stock-lists")
@require_role("owner")
def stock_lists() -> str:
    """Ask for a list, offer the bench's own, and show what was taken in."""
    return _render_stock_lists()


def _render_stock_lists(text: str = "") -> str:
    return render_template(
        "stocktake/stock_lists.html",
        imports=domain.list_imports().items,
        columns=COLUMNS,
        known_by=(*PART_COLUMNS, *PLACE_COLUMNS, *OFFER_COLUMNS),
        text=text,
    )


@pages.post("/stock-lists/look")
@require_role("owner")
@max_body(MAX_BODY_BYTES)
def preview_stock_list() -> AnyResponse:
    """Show what a list would do. Nothing is written."""
    try:
        return make_response(_render_preview(_uploaded_text() or load_form(StockListForm)["text"]))
    except DomainError as refused:
        g.refused = refused
        return make_response(_render_stock_lists(request.form.get("text", "")), refused.status)


def _uploaded_text() -> str:
    """Return the text of the file that was chosen; empty for none."""
    upload = request.files.get("file")
    if upload is None or not upload.filename:
        return ""
    with upload.stream as stream:
        return decode_file(stream.read())


def _render_preview(text: str) -> str:
    preview = domain.preview_stock_list(text, settings().currency)
    seconds = -(-len(preview.rows) // ROWS_A_SECOND)
    return render_template(
        "stocktake/stock_list_preview.html", preview=preview, text=text, shown=MAX_ROWS_SHOWN, seconds=seconds
    )


def _render_refused() -> str:
    text = request.form.get("text", "")
    try:
        return _render_preview(text)
    except DomainError:
        return _render_stock_lists(text)


@pages.post("/stock-lists/take")
@require_role("owner")
@max_body(MAX_BODY_BYTES)
@form_action(_render_refused)
def import_stock_list() -> AnyResponse:
    """Take a list in as it was looked at: all of it, or nothing."""
    if _uploaded_text():
        raise Invalid("A file was chosen: look at it first. Nothing was taken in.")
    imported = domain.import_stock_list(
        **load_form(StockListForm), currency=settings().currency, by=current_person().id
    )
    return redirect(url_for("pages.stock_list", key=imported.id), 303)


@pages.get("/stock-lists/<int:key>")
@require_role("owner")
def stock_list(key: int) -> str:
    """Show what a list added, and the way to the labels of its bins."""
    imported = domain.get_import(key)
    bins = imported.bin_ids
    groups = [bins[start : start + LABELS_PER_LINK] for start in range(0, len(bins), LABELS_PER_LINK)]
    return render_template("stocktake/stock_list.html", imported=imported, groups=groups)


@pages.get("/stock-lists/stock.csv")
@require_role("owner")
def export_stock_list() -> Response:
    """Send the bench's stock as a list."""
    return csv_response(stock_list_csv(settings().currency), "stock")


@pages.get("/stock-lists/empty.csv")
@require_role("owner")
def stock_list_template() -> Response:
    """Send a list with all headings and nothing below them."""
    return csv_response(empty_stock_list_csv(), "empty-stock-list")
