"""Web pages for people: routes, templates, static files."""

from __future__ import annotations

from functools import partial

from flask import Blueprint, Flask

from inventory.door import open_door

pages = Blueprint("pages", __name__, template_folder="templates", static_folder="static", static_url_path="/static")


@pages.get("/sign-in")
@open_door
def sign_in() -> str:
    """Ask who it is."""
    return "Sign in"


def init_app(app: Flask) -> None:
    """Put the pages into *app*."""
    app.register_blueprint(pages)
    static = app.view_functions["pages.static"]  # a bound method, which takes no mark: wrap it
    app.view_functions["pages.static"] = open_door(partial(static))
