"""Lists in pages, all alike: ``{"items": [...], "next": mark or null}``, and a Link header to the next one."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any
from urllib.parse import urlencode

from flask import request
from marshmallow import Schema

from inventory.api import fields
from inventory.api.schema import QuerySchema, ResponseSchema
from inventory.domain.common.errors import Invalid
from inventory.domain.common.paging import MAX_PAGE_SIZE
from inventory.domain.common.records import ResultPage

DEFAULT_LIMIT = 50


class PageQuery(QuerySchema):
    """What every list takes."""

    after = fields.Text("The 'next' of the page before: go on after it.", maximum=400)
    limit = fields.QueryInteger(
        f"How many at most, 1 to {MAX_PAGE_SIZE}.", minimum=1, maximum=MAX_PAGE_SIZE, default=DEFAULT_LIMIT
    )


@cache
def page_schema(item: type[Schema]) -> Schema:
    """Make the schema of one page of a list of *item*."""
    name = item.__name__.removesuffix("Out")
    schema: type[Schema] = ResponseSchema.from_dict(
        {
            "items": fields.Nested(item, f"The {name.lower()}s of this page.", many=True),
            "next": fields.Text("The mark to go on after; null: that was all.", nullable=True),
        },
        name=f"{name}PageOut",
    )
    schema.__doc__ = "One page of a list."
    return schema()


def next_link(page: ResultPage) -> dict[str, str]:
    """Return the header that names the address of the next page (RFC 8288), if there is one."""
    if page.next is None:
        return {}
    query = {**request.args.to_dict(), "after": page.next}
    return {"Link": f'<{request.path}?{urlencode(query)}>; rel="next"'}


def paginate(rows: Sequence[Any], after: str | None, limit: int, key: Callable[[Any], Any]) -> ResultPage:
    """Return the page of a short list after the item whose *key* the mark *after* holds.

    Raises Invalid for a mark that is not one of ours, or whose item is gone.
    """
    start = 0 if after is None else _cursor_index(after, [str(key(row)) for row in rows]) + 1
    items = rows[start : start + limit]
    is_last = start + limit >= len(rows)
    return ResultPage(items, None if is_last else _encode_cursor(str(key(items[-1]))))


def _encode_cursor(key: str) -> str:
    return urlsafe_b64encode(key.encode()).decode().rstrip("=")


def _cursor_index(mark: str, keys: list[str]) -> int:
    try:
        return keys.index(urlsafe_b64decode(mark.encode() + b"=" * (-len(mark) % 4)).decode())
    except ValueError:
        raise Invalid(
            "That 'after' mark is not one of this list: start again without it.", reason="bad_mark"
        ) from None
