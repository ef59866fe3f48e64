"""Signing in and out."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory import door
from inventory.pages import pages
from inventory.stock import people
from inventory.stock.refusals import Refused


@pages.get("/sign-in")
@door.open_door
def sign_in() -> str:
    """Ask who it is."""
    return render_template("sign_in.html", name="", onward=_onward(), error="")


@pages.post("/sign-in")
@door.open_door
def sign_in_now() -> tuple[str, int] | Response:
    """Let somebody in whose name and passphrase go together."""
    name = request.form.get("name", "")
    try:
        person, mark = people.sign_in(name, request.form.get("passphrase", ""), request.remote_addr or "")
    except Refused as refused:
        page = render_template("sign_in.html", name=name, onward=_onward(), error=refused.sentence)
        return page, refused.status
    door.let_in(person, mark)
    return redirect(_onward() or url_for("pages.today"))


@pages.post("/sign-out")
@door.for_role("viewer")
def sign_out() -> Response:
    """End this browser's session."""
    door.let_out()
    return redirect(url_for("pages.sign_in"))


def _onward() -> str:
    """Return where to go after signing in: a path of our own, never another site's address."""
    wanted = request.values.get("next", "")
    parts = urlsplit(wanted)
    safe = wanted.startswith("/") and not wanted.startswith(("//", "/\\")) and not (parts.scheme or parts.netloc)
    return wanted if safe else ""
