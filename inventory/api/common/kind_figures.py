"""/kind-figures: what is assumed of each kind of part until its own history says more."""

from __future__ import annotations

from typing import Any

from inventory.api.common.kind_figure_schemas import KindFiguresEdit, KindFiguresOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common import kind_figures as domain
from inventory.web.access import require_role

resource = Resource("kind figures", "What is assumed of each kind of part until its own history says more.")
FIGURES_SCHEMA = KindFiguresOut()


@resource.get("/kind-figures")
@resource.arguments(PageQuery(), location="query")
@resource.listed(FIGURES_SCHEMA, key="kind")
def kind_figures(params: dict[str, Any]) -> list[domain.KindFigures]:
    """List the figures of every kind, the owner's changes in them."""
    return domain.list_kind_figures()


@resource.get("/kind-figures/<string:kind>")
@resource.response(200, FIGURES_SCHEMA)
def figures_of_kind(kind: str) -> domain.KindFigures:
    """Read the figures of one kind."""
    return domain.get_kind_figures(kind)


@resource.patch("/kind-figures/<string:kind>")
@require_role("owner")
@resource.arguments(KindFiguresEdit())
@resource.edited(FIGURES_SCHEMA, domain.get_kind_figures)
def edit_kind_figures(data: dict[str, Any], kind: str, version: int | None) -> domain.KindFigures:
    """Change some figures of a kind; null puts one back to what is assumed. Every standing follows."""
    return domain.edit_kind_figures(kind, **data)
