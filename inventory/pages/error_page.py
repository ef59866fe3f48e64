"""The page for something that was not done: the sentence, and a way on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response, make_response, render_template


def error_page(status: int, title: str, detail: str, reason: str, more: Mapping[str, Any]) -> Response:
    """Show why something was not done, with ways on: never a dead end."""
    response = make_response(
        render_template("common/error.html", title=title, detail=detail, reason=reason, more=more), status
    )
    response.headers["Cache-Control"] = "no-store"
    return response
