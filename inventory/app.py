"""The application factory: ``create_app(settings)`` builds the service. Importing this opens nothing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, jsonify
from werkzeug.middleware.proxy_fix import ProxyFix

from inventory import api, pages
from inventory.domain.proof import procedures
from inventory.settings import Settings, load_settings
from inventory.store import connection, schema
from inventory.web import access, errors

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

SECURITY_HEADERS = {
    "Content-Security-Policy": "default-src 'self'; img-src 'self' data: blob:; object-src 'none';"
    " frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
}


def create_app(settings: Settings | None = None) -> Flask:
    """Build the service for *settings* (default: from the environment), its database bound and migrated."""
    settings = settings or load_settings()
    app = Flask("inventory", static_folder=None, template_folder="pages/templates")
    for part in (access, errors, api, pages):
        part.init_app(app)
    app.add_url_rule("/health", "health", access.allow_anonymous(_health))
    app.add_url_rule("/healthz", "former_health", access.allow_anonymous(_redirect_to_health))
    app.wsgi_app = _add_security_headers(app.wsgi_app)  # type: ignore[method-assign,assignment]
    if settings.trusted_proxies:
        hops = settings.trusted_proxies
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=hops, x_proto=hops, x_host=hops)  # type: ignore[method-assign]
    configure(app, settings)
    return app


def configure(app: Flask, settings: Settings) -> None:
    """Configure *app* for *settings* (except for trusted proxies), and bind and migrate the database."""
    app.config.update(
        BENCH=settings, SECRET_KEY=settings.signing_key(), MAX_CONTENT_LENGTH=settings.max_body, JSON_SORT_KEYS=False,
        **access.session_config(settings),
    )  # fmt: skip
    _open_database(settings)


def _open_database(settings: Settings) -> None:
    schema.open_database(settings.resolved_database_url)
    procedures.install_built_in()


def _add_security_headers(service: WSGIApplication) -> WSGIApplication:
    """Add the security headers to every response that does not set them itself."""
    added = list(SECURITY_HEADERS.items())

    def serve(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        def begin(status: str, headers: list[tuple[str, str]], *exc_info: Any) -> Any:
            own = {name for name, _ in headers}
            return start(status, headers + [pair for pair in added if pair[0] not in own], *exc_info)

        return service(environ, begin)

    return serve


def _health() -> Response:
    """Answer that the service runs and its database responds."""
    connection.execute("SELECT 1").fetchone()
    return jsonify(status="ok")


def _redirect_to_health() -> Response:
    """Send programs that ask at the former address on to ``/health``; goes with the next release."""
    return Response(status=308, headers={"Location": "/health"})
