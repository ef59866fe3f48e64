"""Signing in and out."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlsplit

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Refused
from inventory.domain.jobs import people
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.web import access


@pages.get("/sign-in")
@access.open_door
def sign_in() -> str:
    """Ask who it is."""
    return _page()


@pages.post("/sign-in")
@access.open_door
def sign_in_now() -> tuple[str, int] | Response:
    """Let somebody in whose name and passphrase go together."""
    name = request.form.get("name", "")
    try:
        person, mark = people.sign_in(name, request.form.get("passphrase", ""), request.remote_addr or "")
    except Refused as refused:
        return _page(name, refused.sentence), refused.status
    access.let_in(person, mark)
    return redirect(_onward() or url_for("pages.today"))


@pages.post("/sign-out")
@access.for_role("viewer")
def sign_out() -> Response:
    """End this browser's session."""
    access.let_out()
    return redirect(url_for("pages.sign_in"))


def _page(name: str = "", error: str = "") -> str:
    return render_template(
        "jobs/sign_in.html", name=name, onward=_onward(), error=error, ended="ended" in request.values,
        demo_people=_demo_people(), nobody_yet=people.nobody_yet(),
    )  # fmt: skip


def _demo_people() -> Sequence[tuple[str, str, str]]:
    """Return who may sign in to the demo; nobody once it is open to a network, where they have other passphrases."""
    if not settings().demo or settings().open_to_network:
        return ()
    from seed.load import DEMO_PEOPLE  # only the demo needs it

    return DEMO_PEOPLE


def _onward() -> str:
    """Return where to go after signing in: a path of our own, never another site's address."""
    wanted = request.values.get("next", "")
    parts = urlsplit(wanted)
    safe = wanted.startswith("/") and not wanted.startswith(("//", "/\\")) and not (parts.scheme or parts.netloc)
    return wanted if safe else ""
