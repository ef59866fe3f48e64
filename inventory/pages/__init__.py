"""Web pages for people: one module a page's word, all on one blueprint. A view parses, calls stock, renders."""

from __future__ import annotations

from importlib import import_module

from flask import Blueprint, Flask

from inventory.door import open_door
from inventory.pages import common, words

MODULES = (
    *("sign", "today", "scanning", "photos", "bins", "jobs", "undoing"),
    *("pieces", "spares", "kind_figures", "procedures", "diagnosis", "notices"),
    *("parts", "lots", "receiving", "shifting", "labels", "label_sizes", "models", "fits"),
    *("tracing", "recalls", "sending_back", "incoming", "counting", "dates", "levels"),
    *("reorder", "ordering", "unpacking", "suppliers", "alerts", "promises", "money", "people", "shop"),
    *("stock_lists", "backups", "more"),
)

pages = Blueprint("pages", __name__, template_folder="templates", static_folder="static", static_url_path="/static")
common.init_app(pages)
words.init_app(pages)


def init_app(app: Flask) -> None:
    """Put the pages into *app*."""
    for module in MODULES:
        import_module(f"inventory.pages.{module}")
    app.register_blueprint(pages)
    open_door(app.view_functions["pages.static"])
    app.add_url_rule("/favicon.ico", "favicon", open_door(lambda: pages.send_static_file("mark.svg")))
