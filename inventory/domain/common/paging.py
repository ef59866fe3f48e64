"""Lists in pages: each page ends with a mark that the next one starts after."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.common.records import Page

MOST = 200


def page_of(
    query: Any, key: Any, after: str | None, limit: int, shape: Callable[[Any], Any], *, falling: bool = False
) -> Page:
    """Return up to *limit* rows of *query* in the order of the unique column *key*, past the mark *after*.

    Raises Invalid for a mark that no answer of ours held.
    """
    limit = max(1, min(MOST, limit))
    if after:
        mark = _read_mark(after, key)
        query = query.where(key < mark if falling else key > mark)
    rows = list(query.order_by(key.desc() if falling else key.asc()).limit(limit + 1))
    kept = rows[:limit]
    mark = getattr(kept[-1], key.name) if len(rows) > limit else None
    return Page([shape(one) for one in kept], None if mark is None else _make_mark(mark))


def _make_mark(value: Any) -> str:
    return urlsafe_b64encode(str(value).encode()).decode().rstrip("=")


def _read_mark(mark: str, key: Any) -> Any:
    try:
        text = urlsafe_b64decode(mark.encode() + b"=" * (-len(mark) % 4)).decode()
        return int(text) if key.field_type in ("AUTO", "BIGAUTO", "BIGINT", "INT") else text
    except ValueError:
        raise Invalid(
            "That 'after' mark is not one of ours: use the 'next' of the page before.", reason="bad_mark"
        ) from None


def matching(column: Any, text: str) -> Any:
    """Return the condition that *column* holds every word of *text*, in any case and order."""
    condition = None
    for word in text.casefold().split()[:8]:
        escaped = word.replace("!", "!!").replace("%", "!%").replace("_", "!_")
        one = column ** f"%{escaped}%" if escaped == word else _like(column, f"%{escaped}%")
        condition = one if condition is None else condition & one
    return condition


def _like(column: Any, pattern: str) -> Any:
    from peewee import SQL, NodeList, Value

    return NodeList((column, SQL("LIKE"), Value(pattern), SQL("ESCAPE '!'")))
