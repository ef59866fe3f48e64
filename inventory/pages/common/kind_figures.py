"""What is assumed of each kind of part until its own history says more: one table, the owner's to change."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import kind_figures as stock
from inventory.pages import pages
from inventory.pages.common import kind_figures_screen as at
from inventory.pages.form_actions import acts
from inventory.web.access import for_role


def _show(kind: str = "") -> str:
    return render_template(
        "common/kind_figures.html", kinds=stock.kind_figures(), labels=stock.FIGURES, percent=at.PERCENT
    )


@pages.get("/kind-figures")
def kind_figures() -> str:
    """Show what is assumed of each kind of part."""
    return _show()


@pages.post("/kind-figures/<kind>")
@for_role("owner")
@acts(_show)
def edit_kind_figures(kind: str) -> Response:
    """Change what is assumed of a kind of part."""
    typed: dict[str, Any] = {name: text.strip() for name, text in request.form.items()}
    at.decide(kind, typed)
    flash(f"What is assumed of the kind {kind} is kept; every standing follows.", "good")
    return redirect(url_for("pages.kind_figures"), 303)
