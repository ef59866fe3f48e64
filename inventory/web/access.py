"""The door: who is asking, and may they? Every route denies a stranger unless it is marked ``open_door``.

Pages know people by a signed session cookie, programs by a bearer token. A token never opens a page, and a
cookie alone never writes through the API, so another site cannot make a signed-in browser write.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any, TypeVar
from urllib.parse import urlsplit

from flask import Flask, Request, current_app, g, redirect, request, session, url_for
from flask.sessions import SecureCookieSessionInterface
from flask_wtf.csrf import CSRFError, CSRFProtect
from werkzeug.wrappers import Response

from inventory.domain.common.errors import NotAllowed
from inventory.domain.common.records import PersonRecord
from inventory.domain.jobs import people
from inventory.settings import Settings
from inventory.store import connection

View = TypeVar("View", bound=Callable[..., Any])
ROLE_RANK = {"viewer": 0, "tech": 1, "owner": 2}
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
csrf = CSRFProtect()


class NotSignedIn(NotAllowed):
    """Nobody known is asking."""

    status = 401
    title = "Not signed in"


def allow_anonymous(view: View) -> View:
    """Let strangers in: the view is on the short list that needs no sign-in."""
    marked: Any = getattr(view, "__func__", view)  # a bound method takes no mark itself
    marked.open_door = True
    return view


def browser_page(view: View) -> View:
    """Send a stranger's browser to the sign-in page: the view is a page among the addresses of programs."""
    view.read_by_people = True  # type: ignore[attr-defined]
    return view


def require_role(role: str) -> Callable[[View], View]:
    """Let only people of *role* or above in. Without it, reading needs a viewer, writing a tech."""

    def mark(view: View) -> View:
        view.needed_role = role  # type: ignore[attr-defined]
        return view

    return mark


def max_body(limit: int | Callable[[Settings], int]) -> Callable[[View], View]:
    """Let the body that this view takes be up to *limit* bytes, instead of the setting for all bodies."""

    def mark(view: View) -> View:
        view.max_body = limit  # type: ignore[attr-defined]
        return view

    return mark


def init_app(app: Flask) -> None:
    """Check every request of *app*: who sends it, whether they may, and how large its body may be."""
    app.session_interface = _SessionInterface()
    csrf.init_app(app)
    app.before_request(_authorize_request)


def session_config(settings: Settings) -> dict[str, Any]:
    """Return how sessions and forms are kept for *settings*."""
    return {
        "SESSION_COOKIE_NAME": "bench",
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_SECURE": settings.https,
        "PERMANENT_SESSION_LIFETIME": timedelta(hours=settings.session_hours),
        "WTF_CSRF_CHECK_DEFAULT": False,  # checked below, for pages only: a token needs no such guard
        "WTF_CSRF_TIME_LIMIT": None,  # as long as the session: a page left open overnight still works
    }


class _SessionInterface(SecureCookieSessionInterface):
    """Sessions of browsers; a program that sends a token has none, and needs not wait for one."""

    def open_session(self, app: Flask, request: Request) -> Any:
        """Open the session of a request."""
        if is_api_request(request) and bearer_token(request):
            return self.make_null_session(app)
        return super().open_session(app, request)


def current_settings() -> Settings:
    """Return the settings of the running service."""
    settings: Settings = current_app.config["BENCH"]
    return settings


def current_person() -> PersonRecord:
    """Return who is asking; raise NotSignedIn for a stranger."""
    return _require_person(g.get("person"))


def _require_person(person: PersonRecord | None) -> PersonRecord:
    if person is None:
        raise NotSignedIn("Sign in first, or send a token: Authorization: Bearer bp_...", reason="not_signed_in")
    return person


def _authorize_request() -> Response | None:
    connection.connect()
    asked: Request = request._get_current_object()  # type: ignore[attr-defined]  # looked up once, not each time
    by_program = is_api_request(asked)
    if asked.endpoint is None:  # no such address: answered 404 to everybody, in the page they know
        g.person = None if by_program else _person_by_session()
        return None
    g.person = person = _person_by_token(asked) if by_program else _person_by_session()
    view = current_app.view_functions[asked.endpoint]
    _set_body_limit(asked, _view_attribute(view, asked, "max_body"))
    open_to_all = _view_attribute(view, asked, "open_door")
    if person is None and not open_to_all and (not by_program or _is_browser_page_request(view)):
        return _redirect_to_sign_in()
    if not by_program and asked.method not in SAFE_METHODS:
        _check_csrf()
    if not open_to_all:
        _check_role(_require_person(person), _view_attribute(view, asked, "needed_role"), asked)
    return None


def _set_body_limit(asked: Request, limit: int | Callable[[Settings], int] | None) -> None:
    if limit is not None:
        asked.max_content_length = limit(current_settings()) if callable(limit) else limit
        asked.max_form_memory_size = asked.max_content_length


def _is_browser_page_request(view: Any) -> bool:
    """Tell whether a browser asks for a page that people read among the addresses of programs."""
    wanted = request.accept_mimetypes.best_match(("application/json", "text/html"))  # anything: a program
    return (
        bool(_view_attribute(view, request, "read_by_people")) and wanted == "text/html" and not bearer_token(request)
    )


def _redirect_to_sign_in() -> Response:
    """Send a stranger to sign in, and from there to what was wanted. A form was not acted on: it is sent anew."""
    if request.method in SAFE_METHODS:
        return redirect(url_for("pages.sign_in", next=request.full_path.removesuffix("?")))
    if request.endpoint == "pages.sign_out":
        return redirect(url_for("pages.sign_in"), 303)
    return redirect(url_for("pages.sign_in", next=_form_page_url(), ended=1), 303)


def _form_page_url() -> str | None:
    """Return the page that a form was on; shown anew after a refusal, a form's own address may be no page."""
    came_from = urlsplit(request.referrer or "")
    path = came_from.path if came_from.netloc == request.host else request.path
    addresses = current_app.create_url_adapter(request)
    while path.strip("/") and addresses is not None:
        if addresses.test(path, "GET"):
            return path + (f"?{came_from.query}" if path == came_from.path and came_from.query else "")
        path = path.rpartition("/")[0]
    return None


def _check_csrf() -> None:
    try:
        csrf.protect()
    except CSRFError:
        raise NotAllowed(
            "This form is too old, or did not come from our own page: open the page again and repeat.",
            reason="form_not_ours",
        ) from None


def is_api_request(req: Request = request) -> bool:
    """Tell whether the request is a program's (answers are JSON) and not a page's."""
    return req.path.startswith("/api/")


def _view_attribute(view: Any, asked: Request, name: str) -> Any:
    """Read a mark off a view: a function, or the method of a class-based one."""
    klass = getattr(view, "view_class", None)
    method = getattr(klass, asked.method.lower(), None) if klass else None
    return getattr(method, name, None) or getattr(view, name, None)


def _check_role(person: PersonRecord, needed: str | None, asked: Request) -> None:
    role = needed or ("viewer" if asked.method in SAFE_METHODS else "tech")
    if ROLE_RANK[person.role] < ROLE_RANK[role]:
        raise NotAllowed(f"This needs the role {role}, and you are {person.role}: ask the owner.", reason="role")


def _person_by_token(asked: Request) -> PersonRecord | None:
    secret = bearer_token(asked)
    if secret:
        return people.token_person(secret)
    return _person_by_session() if asked.method in SAFE_METHODS else None


def bearer_token(asked: Request) -> str:
    """Return the token that was sent, or nothing."""
    kind, _, secret = asked.headers.get("Authorization", "").partition(" ")
    return secret.strip() if kind.lower() == "bearer" else ""


def _person_by_session() -> PersonRecord | None:
    if "person" not in session:
        return None
    found = people.session_person(session["person"], session.get("mark", -1))
    if found is None:
        session.clear()
    return found


def start_session(person: PersonRecord, mark: int) -> None:
    """Start a session for somebody who has just signed in."""
    session.clear()
    session.permanent = True
    session.update(person=person.id, mark=mark)


def end_session() -> None:
    """End the session of this browser."""
    session.clear()
