"""Undoing an entry of the ledger, from wherever it is shown."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.movements import undo as undoing
from inventory.pages import pages
from inventory.web.access import caller
from inventory.web.idempotency import once


@pages.post("/entries/<int:entry>/undo")
@once
def undo(entry: int) -> Response:
    """Reverse an entry and go back to where it was shown."""
    done = undoing.undo(entry, by=caller().id)
    flash(done.sentence, "good")
    for warning in done.warnings:
        flash(warning, "warn")
    return redirect(_back() or url_for("pages.bin", key=done.bin_id))


def _back() -> str | None:
    """Return the page of ours that the request came from, without its confirmation."""
    referrer = request.referrer or ""
    return referrer.split("?")[0] if referrer.startswith(request.host_url) else None
