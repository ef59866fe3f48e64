"""What is assumed of each kind of part, as it is typed on its page: chances in per cent."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.common.errors import Invalid
from inventory.domain.common.kind_figures import (
    CHANCE_FIGURES,
    FIGURE_LABELS,
    WHOLE_FIGURES,
    KindFigures,
    edit_kind_figures,
    get_kind_figures,
)

PERCENT_FIGURES = (*CHANCE_FIGURES, "hazard")


def edit_figures_from_form(kind: str, texts: Mapping[str, str]) -> KindFigures:
    """Change the figures of a kind as typed; blank puts one back to what is assumed."""
    now = get_kind_figures(kind)
    read = {name: _parse_figure(name, texts[name]) for name in FIGURE_LABELS if name in texts}
    return edit_kind_figures(kind, **{name: value for name, value in read.items() if value != getattr(now, name)})


def _parse_figure(name: str, text: str) -> float | None:
    plain = text.replace("%", "").replace(",", ".").strip()
    if not plain:
        return None
    try:
        value = int(plain) if name in WHOLE_FIGURES else float(plain)
    except ValueError:
        what = "whole number" if name in WHOLE_FIGURES else "number"
        sentence = f"{FIGURE_LABELS[name]}: type a {what}{', in per cent' if name in PERCENT_FIGURES else ''}."
        raise Invalid(sentence, errors={name: [sentence]}) from None
    return round(value / 100, 8) if name in PERCENT_FIGURES else value
