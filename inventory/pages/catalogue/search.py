"""Scanning and finding: one field takes codes, addresses that end in one, and words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from flask import redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import code_lookup as scanning
from inventory.domain.common.errors import Refused
from inventory.pages import pages
from inventory.pages.catalogue import search_screen as finding
from inventory.pages.context import thing_url

KEPT_SCANS = 6


@pages.get("/scan")
def scan() -> str:
    """Wait for a scan."""
    return scan_page()


def scan_page(sentence: str = "", close: Iterable[str] = ()) -> str:
    """Render the page that waits for a scan; *sentence* says why the last led nowhere, *close* what it may mean."""
    return render_template(
        "catalogue/scan.html", recent=_recent(), sentence=sentence, close=scanning.named_codes(close)
    )


@pages.get("/s/<path:code>")
@pages.get("/S/<path:code>")
def scanned(code: str) -> Response | tuple[str, int]:
    """Open the page of what a label is on."""
    try:
        meant = scanning.scan(code)
    except Refused as refused:
        return scan_page(refused.sentence, refused.more.get("did_you_mean", ())), refused.status
    return _open(meant)


@pages.get("/find")
def find() -> Response | str | tuple[str, int]:
    """Open what a scanned code stands for, or list what the words are found in."""
    text = request.args.get("q", "")
    found = finding.found(text)
    if found.code is not None:
        return _open(found.code)
    if found.bag:
        return redirect(url_for("pages.receive", bag=found.text), 303)
    if not found.text:
        return redirect(url_for("pages.scan"))
    if found.did_you_mean or found.sentence:
        sentence = found.sentence or f"Nothing here has the code {found.text[:40]!r}."
        return scan_page(sentence, found.did_you_mean), 404
    return render_template("catalogue/search.html", found=found)


def _open(meant: Any) -> Response:
    _remember(meant.what, meant.id, meant.code)
    return redirect(thing_url(meant.what, meant.id), 303)


def _remember(what: str, key: int, code: str) -> None:
    """Keep what was scanned on this phone in its session, the last few, newest first."""
    before = [one for one in session.get("scans", []) if one[2] != code]
    session["scans"] = [[what, key, code], *before][:KEPT_SCANS]


def _recent() -> list[scanning.Named]:
    return scanning.named([(what, key) for what, key, _ in session.get("scans", [])])
