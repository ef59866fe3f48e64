"""/stock-lists and /stock-list.csv: the bench's stock comes in from a spreadsheet, and goes out to one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Response, current_app, request

from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.stocktake.stock_list_schemas import StockListIn, StockListOut, StockListSeenOut
from inventory.domain.common.records import Page
from inventory.domain.stocktake import stock_list_import as stock
from inventory.domain.stocktake.stock_list_export import stock_list_csv
from inventory.domain.stocktake.stock_list_records import ListRow, StockListRecord, Totals
from inventory.domain.stocktake.stock_list_table import MOST_BYTES
from inventory.web.access import caller, for_role

resource = Resource("stock lists", "The whole stock as a list for a spreadsheet: in, and out.")
ROOM = 6 * MOST_BYTES  # JSON may write one character with six


@dataclass(frozen=True)
class Seen:
    """What is answered to a list: what it would do, or that it was taken in."""

    taken: StockListRecord | None
    totals: Totals
    not_known: tuple[str, ...] = ()
    before: StockListRecord | None = None
    rows: tuple[ListRow, ...] = ()


def _currency() -> str:
    return str(current_app.config["BENCH"].currency)


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def make_room(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let a list be larger than other bodies are."""
    if endpoint == "stock lists.post_take_stock_list":
        request.max_content_length = ROOM


@resource.post("/stock-lists")
@for_role("owner")
@resource.arguments(StockListIn())
@resource.response(200, StockListSeenOut(), entity=False)
def take_stock_list(given: dict[str, Any]) -> Seen:
    """Look at a list (look: true), or take it in: parts, bins, suppliers, offers, and what was found as lots.

    It is taken in whole or not at all. Refused for rows that are wrong (422, rows_wrong; errors says all),
    headings that are not known and not named in leave_out (422, unknown_headings), and for stock that would come on
    top of what is in its bin, or the same list again, without on_top (409, on_top).
    """
    if given.pop("look", False):
        seen = stock.look(given["text"], _currency())
        return Seen(None, seen.totals, seen.not_known, seen.before, seen.rows)
    taken = stock.take_in(**given, currency=_currency(), by=caller().id)
    return Seen(taken, taken.totals)


@resource.get("/stock-lists")
@for_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(StockListOut())
def stock_lists(asked: dict[str, Any]) -> Page:
    """List the lists that were taken in, newest first."""
    return stock.stock_lists(**asked)


@resource.get("/stock-lists/<key:list_id>")
@for_role("owner")
@resource.response(200, StockListOut())
def stock_list(list_id: int) -> StockListRecord:
    """Read what a list added."""
    return stock.stock_list(list_id)


@resource.get("/stock-list.csv")
@for_role("owner")
@resource.response(200, content="text/csv")
def stock_list_now() -> Response:
    """Take away the whole stock as a list that comes in again anywhere: a row for each part in each bin."""
    return Response(stock_list_csv(_currency()), content_type="text/csv; charset=utf-8")
