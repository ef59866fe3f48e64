"""What is assumed of each kind of part until its own history says more: one table, the owner's to change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import kind_figures as domain
from inventory.domain.common.errors import Invalid
from inventory.pages import pages
from inventory.pages.form_actions import form_action
from inventory.web.access import require_role

PERCENT_FIGURES = (*domain.CHANCE_FIGURES, "hazard")


def _render_kind_figures(kind: str = "") -> str:
    return render_template(
        "common/kind_figures.html",
        kinds=domain.list_kind_figures(),
        labels=domain.FIGURE_LABELS,
        percent=PERCENT_FIGURES,
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
    _edit_figures_from_form(kind, texts)
    flash(f"What is assumed of the kind {kind} is kept; every standing follows.", "good")
    return redirect(url_for("pages.kind_figures"), 303)


def _edit_figures_from_form(kind: str, texts: Mapping[str, str]) -> domain.KindFigures:
    """Change the figures of a kind as typed; blank puts one back to what is assumed."""
    now = domain.get_kind_figures(kind)
    read = {name: _parse_figure(name, texts[name]) for name in domain.FIGURE_LABELS if name in texts}
    return domain.edit_kind_figures(
        kind, **{name: value for name, value in read.items() if value != getattr(now, name)}
    )


def _parse_figure(name: str, text: str) -> float | None:
    plain = text.replace("%", "").replace(",", ".").strip()
    if not plain:
        return None
    try:
        value = int(plain) if name in domain.WHOLE_FIGURES else float(plain)
    except ValueError:
        what = "whole number" if name in domain.WHOLE_FIGURES else "number"
        sentence = f"{domain.FIGURE_LABELS[name]}: type a {what}{', in per cent' if name in PERCENT_FIGURES else ''}."
        raise Invalid(sentence, errors={name: [sentence]}) from None
    return round(value / 100, 8) if name in PERCENT_FIGURES else value
