"""REST for programs: schemas and routes, one module a resource, under /api/v1."""

from __future__ import annotations

from flask import Flask

from inventory.api import docs_page, resources
from inventory.api.converters import register_converters


def init_app(app: Flask) -> None:
    """Put the REST routes, their document and its page into *app*."""
    register_converters(app)
    for resource in resources.RESOURCES:
        app.register_blueprint(resource)
    app.register_blueprint(docs_page.blueprint)
