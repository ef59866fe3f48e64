"""Signing in and out."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlsplit

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import DomainError
from inventory.domain.jobs import people
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.web import access


@pages.get("/sign-in")
@access.allow_anonymous
def sign_in() -> str:
    """Ask who it is."""
    return _render_sign_in()


@pages.post("/sign-in")
@access.allow_anonymous
def submit_sign_in() -> tuple[str, int] | Response:
    """Sign in with name and passphrase."""
    name = request.form.get("name", "")
    try:
        person, mark = people.sign_in(name, request.form.get("passphrase", ""), request.remote_addr or "")
    except DomainError as refused:
        return _render_sign_in(name, refused.sentence), refused.status
    access.start_session(person, mark)
    return redirect(_next_path() or url_for("pages.today"))


@pages.post("/sign-out")
@access.require_role("viewer")
def sign_out() -> Response:
    """End this browser's session."""
    access.end_session()
    return redirect(url_for("pages.sign_in"))


def _render_sign_in(name: str = "", error: str = "") -> str:
    return render_template(
        "jobs/sign_in.html", name=name, onward=_next_path(), error=error, ended="ended" in request.values,
        demo_people=_demo_people(), nobody_yet=people.has_no_people(),
    )  # fmt: skip


def _demo_people() -> Sequence[tuple[str, str, str]]:
    """Return who may sign in to the demo; nobody once it is open to a network, where passphrases differ."""
    if not settings().demo or settings().open_to_network:
        return ()
    from seed.load import DEMO_PEOPLE  # only the demo needs it

    return DEMO_PEOPLE


def _next_path() -> str:
    """Return where to go after signing in: a path of our own, never another site's address."""
    path = request.values.get("next", "")
    parts = urlsplit(path)
    safe = path.startswith("/") and not path.startswith(("//", "/\\")) and not (parts.scheme or parts.netloc)
    return path if safe else ""
