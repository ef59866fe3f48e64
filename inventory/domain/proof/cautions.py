"""What to mind before a part is touched, in full sentences."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.proof.proof_records import CautionRecord
from shared.hazards import HAZARDS, in_order


def cautions_of(part: Any, more_hazards: Iterable[str] = ()) -> tuple[CautionRecord, ...]:
    """Return the cautions of a part (row or record), the most urgent first, its own one at the end."""
    found = [HAZARDS[key] for key in in_order({*part.hazards, *more_hazards})]
    said = [CautionRecord(one.key, one.title, one.line, one.caution) for one in found]
    if part.caution:
        said.append(CautionRecord("", "This part", part.caution, part.caution))
    return tuple(said)
