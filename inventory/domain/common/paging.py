"""Keyset pagination: each page ends with a cursor that the next one starts after."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.common.records import ResultPage

MAX_PAGE_SIZE = 200


def paginate(
    query: Any, key: Any, after: str | None, limit: int, shape: Callable[[Any], Any], *, descending: bool = False
) -> ResultPage:
    """Return up to *limit* rows of *query* in the order of the unique column *key*, after the cursor *after*.

    Raises Invalid for a cursor that cannot be decoded.
    """
    limit = max(1, min(MAX_PAGE_SIZE, limit))
    if after:
        mark = _decode_cursor(after, key)
        query = query.where(key < mark if descending else key > mark)
    rows = list(query.order_by(key.desc() if descending else key.asc()).limit(limit + 1))
    page = rows[:limit]
    mark = getattr(page[-1], key.name) if len(rows) > limit else None
    return ResultPage([shape(row) for row in page], None if mark is None else _encode_cursor(mark))


def _encode_cursor(value: Any) -> str:
    return urlsafe_b64encode(str(value).encode()).decode().rstrip("=")


def _decode_cursor(mark: str, key: Any) -> Any:
    try:
        text = urlsafe_b64decode(mark.encode() + b"=" * (-len(mark) % 4)).decode()
        return int(text) if key.field_type in ("AUTO", "BIGAUTO", "BIGINT", "INT") else text
    except ValueError:
        raise Invalid(
            "That 'after' mark is not one of ours: use the 'next' of the page before.", reason="bad_mark"
        ) from None


def contains_words(column: Any, text: str) -> Any:
    """Return the condition that *column* contains every word of *text*, in any case and order."""
    condition = None
    for word in text.casefold().split()[:8]:
        escaped = word.replace("!", "!!").replace("%", "!%").replace("_", "!_")
        match = column ** f"%{escaped}%" if escaped == word else _like_escaped(column, f"%{escaped}%")
        condition = match if condition is None else condition & match
    return condition


def _like_escaped(column: Any, pattern: str) -> Any:
    from peewee import SQL, NodeList, Value

    return NodeList((column, SQL("LIKE"), Value(pattern), SQL("ESCAPE '!'")))
