"""Tables that are sent as files."""

from __future__ import annotations

from flask import Response


def csv_response(text: str, name: str | None = None) -> Response:
    """Return CSV *text* to be opened by a spreadsheet; with a *name* (without .csv), to be saved under it."""
    response = Response(text, content_type="text/csv; charset=utf-8")
    if name is not None:
        response.headers.set("Content-Disposition", "attachment", filename=f"{name}.csv")
    return response
