"""/kind-figures: what is assumed of each kind of part until its own history says more."""

from __future__ import annotations

from typing import Any

from inventory.api.common.kind_figure_schemas import KindFiguresEdit, KindFiguresOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common import kind_figures as stock
from inventory.web.access import for_role

resource = Resource("kind figures", "What is assumed of each kind of part until its own history says more.")
FIGURES = KindFiguresOut()


@resource.get("/kind-figures")
@resource.arguments(PageQuery(), location="query")
@resource.listed(FIGURES, key=lambda one: one.kind)
def kind_figures(asked: dict[str, Any]) -> list[stock.KindFigures]:
    """List the figures of every kind, the owner's changes in them."""
    return stock.kind_figures()


@resource.get("/kind-figures/<string:kind>")
@resource.response(200, FIGURES)
def figures_of_kind(kind: str) -> stock.KindFigures:
    """Read the figures of one kind."""
    return stock.figures(kind)


@resource.patch("/kind-figures/<string:kind>")
@for_role("owner")
@resource.arguments(KindFiguresEdit())
@resource.edited(FIGURES, stock.figures)
def edit_kind_figures(given: dict[str, Any], kind: str, version: int | None) -> stock.KindFigures:
    """Change some figures of a kind; null puts one back to what is assumed. Every standing follows."""
    return stock.edit_figures(kind, **given)
