"""What is assumed of each kind of part, as it is typed on its page: chances in per cent."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.common.errors import Invalid
from inventory.domain.common.kind_figures import CHANCES, FIGURES, WHOLE, KindFigures, edit_figures, figures

PERCENT = (*CHANCES, "hazard")


def decide(kind: str, typed: Mapping[str, str]) -> KindFigures:
    """Change the figures of a kind as typed; blank puts one back to what is assumed."""
    now = figures(kind)
    read = {name: _number(name, typed[name]) for name in FIGURES if name in typed}
    return edit_figures(kind, **{name: value for name, value in read.items() if value != getattr(now, name)})


def _number(name: str, text: str) -> float | None:
    plain = text.replace("%", "").replace(",", ".").strip()
    if not plain:
        return None
    try:
        value = int(plain) if name in WHOLE else float(plain)
    except ValueError:
        what = "whole number" if name in WHOLE else "number"
        sentence = f"{FIGURES[name]}: type a {what}{', in per cent' if name in PERCENT else ''}."
        raise Invalid(sentence, errors={name: [sentence]}) from None
    return round(value / 100, 8) if name in PERCENT else value
