"""Undoing an entry of the ledger, from wherever it is shown."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.movements import undo as undoing
from inventory.pages import pages
from inventory.web.access import current_person
from inventory.web.idempotency import idempotent


@pages.post("/entries/<int:entry>/undo")
@idempotent
def undo(entry: int) -> Response:
    """Reverse an entry and go back to where it was shown."""
    result = undoing.undo(entry, by=current_person().id)
    flash(result.sentence, "good")
    for warning in result.warnings:
        flash(warning, "warn")
    return redirect(_referring_page() or url_for("pages.bin", key=result.bin_id))


def _referring_page() -> str | None:
    """Return the page of ours that the request came from, without its confirmation."""
    referrer = request.referrer or ""
    return referrer.split("?")[0] if referrer.startswith(request.host_url) else None
