"""Web pages for people, all on one blueprint. A view parses, calls the domain, renders."""

from __future__ import annotations

from importlib import import_module

from flask import Blueprint, Flask

from inventory.pages import context, template_filters
from inventory.web.access import allow_anonymous

VIEW_MODULES = (
    "alerts.alerts",
    "alerts.backups",
    "buying.orders",
    "buying.receive_order",
    "buying.receiving",
    "buying.suppliers",
    "catalogue.bins",
    "catalogue.lots",
    "catalogue.parts",
    "catalogue.photo_codes",
    "catalogue.search",
    "catalogue.unit_models",
    "common.kind_figures",
    "common.shop",
    "diagnosis.diagnosis",
    "jobs.jobs",
    "jobs.people",
    "jobs.sign_in",
    "labelling.label_sizes",
    "labelling.labels",
    "money.money",
    "money.notices",
    "movements.adjustments",
    "movements.substitutes",
    "proof.pieces",
    "proof.procedures",
    "quality.incoming",
    "quality.recalls",
    "quality.sent_back",
    "quality.trace",
    "reorder.dates",
    "reorder.reorder",
    "stocktake.counting",
    "stocktake.levels",
    "stocktake.stock_lists",
)

pages = Blueprint("pages", __name__, template_folder="templates", static_folder="static", static_url_path="/static")
context.init_app(pages)
template_filters.init_app(pages)


def init_app(app: Flask) -> None:
    """Put the pages into *app*."""
    for module in VIEW_MODULES:
        import_module(f"inventory.pages.{module}")
    app.register_blueprint(pages)
    allow_anonymous(app.view_functions["pages.static"])
    app.add_url_rule("/favicon.ico", "favicon", allow_anonymous(lambda: pages.send_static_file("mark.svg")))
