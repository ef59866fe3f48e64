"""REST for programs: schemas and routes, one module a resource, under /api/v1."""

from __future__ import annotations

from flask import Flask


def init_app(app: Flask) -> None:
    """Put the REST routes into *app*."""
