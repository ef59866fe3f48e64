"""At a bottle or reel: what people type about its level."""

from __future__ import annotations

from inventory.domain.catalogue.parts import part
from inventory.domain.common.quantity_input import parse_quantity_field
from inventory.domain.stocktake.level_readings import (
    LevelMethodRecord,
    set_level_method,
)


def set_level_method_from_form(
    part_id: int, read_by: str, full: str, tare: float | None, per_gram: float | None
) -> LevelMethodRecord:
    """Say how a part's level is read; *full* is an amount as typed ("250 ml"), or blank."""
    holds = parse_quantity_field(full, part(part_id).unit, "full") if full.strip() else None
    return set_level_method(part_id, read_by, full=holds, tare=tare, per_gram=per_gram)
