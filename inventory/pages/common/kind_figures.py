"""What is assumed of each kind of part until its own history says more: one table, the owner's to change."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import kind_figures as domain
from inventory.pages import pages
from inventory.pages.common import kind_figures_screen as at
from inventory.pages.form_actions import form_action
from inventory.web.access import require_role


def _render_kind_figures(kind: str = "") -> str:
    return render_template(
        "common/kind_figures.html",
        kinds=domain.list_kind_figures(),
        labels=domain.FIGURE_LABELS,
        percent=at.PERCENT_FIGURES,
    )


@pages.get("/kind-figures")
def kind_figures() -> str:
    """Show what is assumed of each kind of part."""
    return _render_kind_figures()


@pages.post("/kind-figures/<kind>")
@require_role("owner")
@form_action(_render_kind_figures)
def edit_kind_figures(kind: str) -> Response:
    """Change what is assumed of a kind of part."""
    texts: dict[str, Any] = {name: text.strip() for name, text in request.form.items()}
    at.edit_figures_from_form(kind, texts)
    flash(f"What is assumed of the kind {kind} is kept; every standing follows.", "good")
    return redirect(url_for("pages.kind_figures"), 303)
