"""Authentication and authorization: every route needs a signed-in person unless it is marked ``allow_anonymous``.

Pages authenticate by a signed session cookie, programs by a bearer token. A token never opens a page, and a cookie
alone never writes through the API, so another site cannot make a signed-in browser write.
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
    """The request comes without a valid sign-in or token."""

    status = 401
    title = "Not signed in"


def allow_anonymous(view: View) -> View:
    """Let anybody call this view without a sign-in."""
    function: Any = getattr(view, "__func__", view)  # a bound method takes no attributes
    function.anonymous_allowed = True
    return view


def browser_page(view: View) -> View:
    """Redirect browsers that are not signed in to the sign-in page: the view is a page under /api/."""
    view.is_browser_page = True  # type: ignore[attr-defined]
    return view


def require_role(role: str) -> Callable[[View], View]:
    """Let only people of *role* or above call this view. Without it, reading needs a viewer, writing a tech."""

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
    """Return the configuration of sessions and forms for *settings*."""
    return {
        "SESSION_COOKIE_NAME": "bench",
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_SECURE": settings.https,
        "PERMANENT_SESSION_LIFETIME": timedelta(hours=settings.session_hours),
        "WTF_CSRF_CHECK_DEFAULT": False,  # checked below, for pages only: programs send a token
        "WTF_CSRF_TIME_LIMIT": None,  # as long as the session: a page left open overnight still works
    }


class _SessionInterface(SecureCookieSessionInterface):
    """Sessions of browsers; a request with a token has none, which saves reading it."""

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
    """Return the person who sends the request; raise NotSignedIn if nobody is signed in."""
    return _require_person(g.get("person"))


def _require_person(person: PersonRecord | None) -> PersonRecord:
    if person is None:
        raise NotSignedIn("Sign in first, or send a token: Authorization: Bearer bp_...", reason="not_signed_in")
    return person


def _authorize_request() -> Response | None:
    connection.connect()
    req: Request = request._get_current_object()  # type: ignore[attr-defined]  # resolves the proxy once
    is_api = is_api_request(req)
    if req.endpoint is None:  # no such address: answered 404
        g.person = None if is_api else _person_by_session()
        return None
    g.person = person = _person_by_token(req) if is_api else _person_by_session()
    view = current_app.view_functions[req.endpoint]
    _set_body_limit(req, _view_attribute(view, req, "max_body"))
    anonymous_allowed = _view_attribute(view, req, "anonymous_allowed")
    if person is None and not anonymous_allowed and (not is_api or _is_browser_page_request(view)):
        return _redirect_to_sign_in()
    if not is_api and req.method not in SAFE_METHODS:
        _check_csrf()
    if not anonymous_allowed:
        _check_role(_require_person(person), _view_attribute(view, req, "needed_role"), req)
    return None


def _set_body_limit(req: Request, limit: int | Callable[[Settings], int] | None) -> None:
    if limit is not None:
        req.max_content_length = limit(current_settings()) if callable(limit) else limit
        req.max_form_memory_size = req.max_content_length


def _is_browser_page_request(view: Any) -> bool:
    """Tell whether a browser requests a page under /api/ that people read."""
    preferred = request.accept_mimetypes.best_match(("application/json", "text/html"))  # */*: a program
    by_people = _view_attribute(view, request, "is_browser_page")
    return bool(by_people) and preferred == "text/html" and not bearer_token(request)


def _redirect_to_sign_in() -> Response:
    """Redirect to the sign-in page, and from there to the requested page; a form must be sent again."""
    if request.method in SAFE_METHODS:
        return redirect(url_for("pages.sign_in", next=request.full_path.removesuffix("?")))
    if request.endpoint == "pages.sign_out":
        return redirect(url_for("pages.sign_in"), 303)
    return redirect(url_for("pages.sign_in", next=_form_page_url(), ended=1), 303)


def _form_page_url() -> str | None:
    """Return the page that a form was on: the referrer, or the closest address above it that has a page."""
    referrer = urlsplit(request.referrer or "")
    path = referrer.path if referrer.netloc == request.host else request.path
    page = closest_page(path)
    return f"{page}?{referrer.query}" if page == referrer.path and referrer.query else page


def closest_page(path: str) -> str | None:
    """Return *path*, or the closest address above it, that can be requested with GET."""
    adapter = current_app.create_url_adapter(request)
    while path.strip("/") and adapter is not None:
        if adapter.test(path, "GET"):
            return path
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


def _view_attribute(view: Any, req: Request, name: str) -> Any:
    """Return an attribute that a decorator set on a view: a function, or the method of a class-based one."""
    klass = getattr(view, "view_class", None)
    method = getattr(klass, req.method.lower(), None) if klass else None
    return getattr(method, name, None) or getattr(view, name, None)


def _check_role(person: PersonRecord, needed: str | None, req: Request) -> None:
    role = needed or ("viewer" if req.method in SAFE_METHODS else "tech")
    if ROLE_RANK[person.role] < ROLE_RANK[role]:
        raise NotAllowed(f"This needs the role {role}, and you are {person.role}: ask the owner.", reason="role")


def _person_by_token(req: Request) -> PersonRecord | None:
    secret = bearer_token(req)
    if secret:
        return people.token_person(secret)
    return _person_by_session() if req.method in SAFE_METHODS else None


def bearer_token(req: Request) -> str:
    """Return the bearer token of a request; empty if there is none."""
    kind, _, secret = req.headers.get("Authorization", "").partition(" ")
    return secret.strip() if kind.lower() == "bearer" else ""


def _person_by_session() -> PersonRecord | None:
    if "person" not in session:
        return None
    person = people.session_person(session["person"], session.get("mark", -1))
    if person is None:
        session.clear()
    return person


def start_session(person: PersonRecord, mark: int) -> None:
    """Start a session for a person who has just signed in."""
    session.clear()
    session.permanent = True
    session.update(person=person.id, mark=mark)


def end_session() -> None:
    """End the session of this browser."""
    session.clear()
