"""/stock-lists and /stock-list.csv: the bench's stock comes in from a spreadsheet, and goes out to one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Response, current_app, request

from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.stocktake.stock_list_schemas import StockListIn, StockListOut, StockListPreviewOut
from inventory.domain.common.records import ResultPage
from inventory.domain.stocktake import stock_list_import as domain
from inventory.domain.stocktake.stock_list_export import stock_list_csv
from inventory.domain.stocktake.stock_list_records import PreviewRow, StockListImportRecord, StockListTotals
from inventory.domain.stocktake.stock_list_table import MAX_BYTES
from inventory.web.access import current_person, require_role

resource = Resource("stock lists", "The whole stock as a list for a spreadsheet: in, and out.")
MAX_BODY_BYTES = 6 * MAX_BYTES  # JSON may write one character with six


@dataclass(frozen=True)
class StockListPreview:
    """What is answered to a list: what it would do, or that it was taken in."""

    taken: StockListImportRecord | None
    totals: StockListTotals
    not_known: tuple[str, ...] = ()
    before: StockListImportRecord | None = None
    rows: tuple[PreviewRow, ...] = ()


def _currency() -> str:
    return str(current_app.config["BENCH"].currency)


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def set_body_limit(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let a list be larger than other bodies are."""
    if endpoint == "stock lists.post_import_stock_list":
        request.max_content_length = MAX_BODY_BYTES


@resource.post("/stock-lists")
@require_role("owner")
@resource.arguments(StockListIn())
@resource.response(200, StockListPreviewOut(), with_etag=False)
def import_stock_list(data: dict[str, Any]) -> StockListPreview:
    """Look at a list (look: true), or take it in: parts, bins, suppliers, offers, and what was found as lots.

    It is taken in whole or not at all. Refused for rows that are wrong (422, rows_wrong; errors says all),
    headings that are not known and not named in leave_out (422, unknown_headings), and for stock that would come on
    top of what is in its bin, or the same list again, without on_top (409, on_top).
    """
    if data.pop("look", False):
        seen = domain.preview_stock_list(data["text"], _currency())
        return StockListPreview(None, seen.totals, seen.not_known, seen.before, seen.rows)
    taken = domain.import_stock_list(**data, currency=_currency(), by=current_person().id)
    return StockListPreview(taken, taken.totals)


@resource.get("/stock-lists")
@require_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(StockListOut())
def stock_lists(params: dict[str, Any]) -> ResultPage:
    """List the lists that were taken in, newest first."""
    return domain.list_imports(**params)


@resource.get("/stock-lists/<key:list_id>")
@require_role("owner")
@resource.response(200, StockListOut())
def stock_list(list_id: int) -> StockListImportRecord:
    """Read what a list added."""
    return domain.get_import(list_id)


@resource.get("/stock-list.csv")
@require_role("owner")
@resource.response(200, content_type="text/csv")
def export_stock_list() -> Response:
    """Take away the whole stock as a list that comes in again anywhere: a row for each part in each bin."""
    return Response(stock_list_csv(_currency()), content_type="text/csv; charset=utf-8")
