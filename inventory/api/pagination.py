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
from inventory.api.schema import Answer, Query
from inventory.domain.common.errors import Invalid
from inventory.domain.common.paging import MOST
from inventory.domain.common.records import Page

USUAL = 50


class PageQuery(Query):
    """What every list takes."""

    after = fields.Text("The 'next' of the page before: go on after it.", most=400)
    limit = fields.Asked(f"How many at most, 1 to {MOST}.", least=1, most=MOST, default=USUAL)


@cache
def page_schema(item: type[Schema]) -> Schema:
    """Make the schema of one page of a list of *item*."""
    name = item.__name__.removesuffix("Out")
    made: type[Schema] = Answer.from_dict(
        {
            "items": fields.Inner(item, f"The {name.lower()}s of this page.", many=True),
            "next": fields.Text("The mark to go on after; null: that was all.", nullable=True),
        },
        name=f"{name}PageOut",
    )
    made.__doc__ = "One page of a list."
    return made()


def next_link(page: Page) -> dict[str, str]:
    """Return the header that names the address of the next page (RFC 8288), if there is one."""
    if page.next is None:
        return {}
    asked = {**request.args.to_dict(), "after": page.next}
    return {"Link": f'<{request.path}?{urlencode(asked)}>; rel="next"'}


def cut(found: Sequence[Any], after: str | None, limit: int, key: Callable[[Any], Any]) -> Page:
    """Return the page of a short list after the item whose *key* the mark *after* holds.

    Raises Invalid for a mark that is not one of ours, or whose item is gone.
    """
    start = 0 if after is None else _place_of(after, [str(key(one)) for one in found]) + 1
    items = found[start : start + limit]
    more = start + limit < len(found)
    return Page(items, _mark(str(key(items[-1]))) if more else None)


def _mark(key: str) -> str:
    return urlsafe_b64encode(key.encode()).decode().rstrip("=")


def _place_of(mark: str, keys: list[str]) -> int:
    try:
        return keys.index(urlsafe_b64decode(mark.encode() + b"=" * (-len(mark) % 4)).decode())
    except ValueError:
        raise Invalid(
            "That 'after' mark is not one of this list: start again without it.", reason="bad_mark"
        ) from None
