"""Every route of the service, read from the app itself, so that a new one cannot be forgotten by these tests."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from flask import Flask

from inventory import api
from inventory.web import access
from tests import ROOT

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
API = "/api/v1"


@dataclass(frozen=True)
class Route:
    """One method at one address; ``role`` is the least that may use it."""

    method: str
    rule: str
    role: str

    @property
    def address(self) -> str:
        """An address of this route, every id of it 1."""
        return re.sub(r"<[^>]+>", "1", self.rule)

    @property
    def documented(self) -> str:
        """The address as the document writes it."""
        return re.sub(r"<(?:[^:>]+:)?([^>]+)>", r"{\1}", self.rule)

    def __str__(self) -> str:
        return f"{self.method} {self.rule}"


def routes_of(app: Flask, under: str = "/") -> Iterator[Route]:
    """Yield every route of *app* whose address begins with *under*."""
    for rule in app.url_map.iter_rules():
        if rule.rule.startswith(under):
            view = app.view_functions[rule.endpoint]
            for method in sorted(set(rule.methods or ()) & set(METHODS)):
                yield Route(method, rule.rule, _role(view, method))


def _role(view: Any, method: str) -> str:
    klass = getattr(view, "view_class", None)
    view = getattr(klass, method.lower(), view) if klass else view
    if getattr(view, "anonymous_allowed", False):
        return "anybody"
    return getattr(view, "needed_role", None) or ("viewer" if method in access.SAFE_METHODS else "tech")


def api_routes() -> list[Route]:
    """Return the routes under /api/v1, without a database: for parametrised tests."""
    app = Flask("inventory", root_path=str(ROOT / "inventory"))
    api.init_app(app)
    return sorted(routes_of(app, API), key=str)
