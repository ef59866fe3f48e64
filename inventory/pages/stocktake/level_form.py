"""At a bottle or reel: what people type about its level."""

from __future__ import annotations

from inventory.domain.catalogue.parts import part
from inventory.domain.common.quantity_input import quantity
from inventory.domain.stocktake.level_readings import WayRecord, open_new, read_level, set_way

__all__ = ["open_new", "read_level", "set_way_as_typed"]


def set_way_as_typed(part_id: int, read_by: str, full: str, tare: float | None, per_gram: float | None) -> WayRecord:
    """Say how a part's level is read; *full* is an amount as typed ("250 ml"), or blank."""
    holds = quantity(full, part(part_id).unit, "full") if full.strip() else None
    return set_way(part_id, read_by, full=holds, tare=tare, per_gram=per_gram)
