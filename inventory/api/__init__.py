"""REST for programs: schemas and routes, one module a resource, under /api/v1."""

from __future__ import annotations

from flask import Flask

from inventory.api import docs_page, resources
from inventory.api.converters import use_keys


def init_app(app: Flask) -> None:
    """Put the REST routes, their document and its page into *app*."""
    use_keys(app)
    for one in resources.ALL:
        app.register_blueprint(one)
    app.register_blueprint(docs_page.blueprint)
