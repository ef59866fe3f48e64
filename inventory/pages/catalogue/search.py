"""Scanning and finding: one field takes codes, addresses that end in one, and words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from flask import redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import code_lookup as scanning
from inventory.domain.common.errors import DomainError
from inventory.pages import pages
from inventory.pages.catalogue import search_screen as finding
from inventory.pages.context import thing_url

MAX_RECENT_SCANS = 6


@pages.get("/scan")
def scan() -> str:
    """Wait for a scan."""
    return render_scan()


def render_scan(message: str = "", similar_codes: Iterable[str] = ()) -> str:
    """Render the page that waits for a scan; *message* says why the last code failed, *similar_codes* are offered."""
    return render_template(
        "catalogue/scan.html", recent=_recent_scans(), sentence=message, close=scanning.describe_codes(similar_codes)
    )


@pages.get("/s/<path:code>")
@pages.get("/S/<path:code>")
def open_code(code: str) -> Response | tuple[str, int]:
    """Open the page of what a label is on."""
    try:
        resolved = scanning.resolve_code(code)
    except DomainError as refused:
        return render_scan(refused.sentence, refused.more.get("did_you_mean", ())), refused.status
    return _redirect_to_found(resolved)


@pages.get("/find")
def search() -> Response | str | tuple[str, int]:
    """Open what a scanned code stands for, or list what the words are found in."""
    text = request.args.get("q", "")
    result = finding.search_screen(text)
    if result.code is not None:
        return _redirect_to_found(result.code)
    if result.bag:
        return redirect(url_for("pages.receive", bag=result.text), 303)
    if not result.text:
        return redirect(url_for("pages.scan"))
    if result.did_you_mean or result.sentence:
        sentence = result.sentence or f"Nothing here has the code {result.text[:40]!r}."
        return render_scan(sentence, result.did_you_mean), 404
    return render_template("catalogue/search.html", result=result)


def _redirect_to_found(resolved: Any) -> Response:
    _remember_scan(resolved.what, resolved.id, resolved.code)
    return redirect(thing_url(resolved.what, resolved.id), 303)


def _remember_scan(what: str, key: int, code: str) -> None:
    """Keep what was scanned on this phone in its session, the last few, newest first."""
    before = [scanned for scanned in session.get("scans", []) if scanned[2] != code]
    session["scans"] = [[what, key, code], *before][:MAX_RECENT_SCANS]


def _recent_scans() -> list[scanning.ThingDescription]:
    return scanning.describe_things([(what, key) for what, key, _ in session.get("scans", [])])
