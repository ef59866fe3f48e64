"""What is assumed of each kind of part."""

from __future__ import annotations

from typing import Any

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.schema import Answer, Edit
from inventory.domain.common.kind_figures import FIGURES, MOST, WHOLE


def _field(name: str, *, nullable: bool = False) -> Any:
    about = f"{FIGURES[name]}."
    if name in WHOLE:
        return fields.Whole(about, least=1, most=int(MOST[name]), nullable=nullable)
    return fields.Share(about, most=MOST.get(name, 1.0), nullable=nullable)


class _KindOut(Answer):
    """The figures of one kind."""

    kind = fields.Text("The kind of part.")
    assumed = fields.Text("Where the figures come from.")
    changed = fields.Many(ma.String(), "Those that the owner changed.")


KindFiguresOut = _KindOut.from_dict({name: _field(name) for name in FIGURES}, name="KindFiguresOut")
KindFiguresEdit = Edit.from_dict({name: _field(name, nullable=True) for name in FIGURES}, name="KindFiguresEdit")
