"""What is assumed of each kind of part."""

from __future__ import annotations

from typing import Any

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.schema import EditSchema, ResponseSchema
from inventory.domain.common.kind_figures import FIGURE_LABELS, MAX_FIGURES, WHOLE_FIGURES


def _figure_field(name: str, *, nullable: bool = False) -> Any:
    about = f"{FIGURE_LABELS[name]}."
    if name in WHOLE_FIGURES:
        return fields.Integer(about, minimum=1, maximum=int(MAX_FIGURES[name]), nullable=nullable)
    return fields.BoundedNumber(about, maximum=MAX_FIGURES.get(name, 1.0), nullable=nullable)


class _KindFiguresBase(ResponseSchema):
    """The figures of one kind."""

    kind = fields.Text("The kind of part.")
    assumed = fields.Text("Where the figures come from.")
    changed = fields.List(ma.String(), "Those that the owner changed.")


KindFiguresOut = _KindFiguresBase.from_dict(
    {name: _figure_field(name) for name in FIGURE_LABELS}, name="KindFiguresOut"
)
KindFiguresEdit = EditSchema.from_dict(
    {name: _figure_field(name, nullable=True) for name in FIGURE_LABELS}, name="KindFiguresEdit"
)
