"""What to mind before a part is touched, in full sentences."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inventory.domain.proof.proof_records import CautionRecord
from shared.hazards import HAZARDS, sort_hazards


def cautions_for(part: Any, more_hazards: Iterable[str] = ()) -> tuple[CautionRecord, ...]:
    """Return the cautions of a part (row or record), the most urgent first, its own one at the end."""
    hazards = [HAZARDS[key] for key in sort_hazards({*part.hazards, *more_hazards})]
    cautions = [CautionRecord(hazard.key, hazard.title, hazard.line, hazard.caution) for hazard in hazards]
    if part.caution:
        cautions.append(CautionRecord("", "This part", part.caution, part.caution))
    return tuple(cautions)
