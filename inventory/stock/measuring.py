"""What measuring a suspect is worth: the figures of a procedure for its part, else the shop's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.stock.procedures import procedures
from inventory.stock.records_proof import ProcedureRecord
from inventory.stock.shop import Shop
from inventory.store.tables import Piece, Procedure, Proof


@dataclass(frozen=True)
class Measuring:
    """How a suspect can be measured; ``finds`` = P(says bad | bad), ``passes`` = P(says good | good)."""

    finds: float
    passes: float
    procedure_id: int | None = None
    procedure: str = ""


def measuring(suspect: Any, own: Shop) -> Measuring:
    """Return the figures for a suspect (row): of the procedure that its part is tested by, else the shop's."""
    known = [] if suspect.part_id is None else procedures(part_id=suspect.part_id)
    by = _by_habit(known, suspect.part_id)
    if by is None:
        return Measuring(own.measured_finds, own.measured_passes)
    return Measuring(by.sensitivity, by.specificity, by.id, by.name)


def _by_habit(known: Sequence[ProcedureRecord], part_id: int) -> ProcedureRecord | None:
    """Return the procedure made for the part, else the one that it was proved by last.

    That there is one for its kind is not enough: what suits a 12 V supply says nothing of a 36 V one.
    """
    if known and known[0].part_id is not None:
        return known[0]
    last = (
        Proof.select(Proof, Procedure).join(Procedure).switch(Proof).join(Piece)
        .where(Piece.part == part_id, Proof.struck.is_null()).order_by(Proof.id.desc()).first()
    )  # fmt: skip
    return None if last is None else next((one for one in known if one.name == last.procedure.name), None)
