"""What measuring a suspect is worth: the figures of a procedure for its part, else the shop's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from peewee import fn

from inventory.domain.common.shop import ShopConfig
from inventory.domain.proof.procedures import procedures
from inventory.domain.proof.proof_records import ProcedureRecord
from inventory.store.tables import Piece, Procedure, Proof


@dataclass(frozen=True)
class MeasurementAccuracy:
    """How a suspect can be measured; ``finds`` = P(says bad | bad), ``passes`` = P(says good | good)."""

    finds: float
    passes: float
    procedure_id: int | None = None
    procedure: str = ""


def measurement_accuracy(suspect: Any, own: ShopConfig) -> MeasurementAccuracy:
    """Return the figures for a suspect (row): of the procedure that its part is tested by, else the shop's."""
    return measurement_accuracies([suspect], own)[suspect.id]


def measurement_accuracies(suspects: Sequence[Any], own: ShopConfig) -> dict[int, MeasurementAccuracy]:
    """Return the figures for several suspects (rows), by their ids, read at once."""
    parts = {suspect.part_id: suspect.part for suspect in suspects if suspect.part_id is not None}
    known = procedures() if parts else []
    habit = _last_procedure_by_part(list(parts))
    return {
        suspect.id: _accuracy_from(_procedure_for_part(known, parts.get(suspect.part_id), habit), own)
        for suspect in suspects
    }


def _accuracy_from(by: ProcedureRecord | None, own: ShopConfig) -> MeasurementAccuracy:
    if by is None:
        return MeasurementAccuracy(own.measured_finds, own.measured_passes)
    return MeasurementAccuracy(by.sensitivity, by.specificity, by.id, by.name)


def _procedure_for_part(
    known: Sequence[ProcedureRecord], part: Any, habit: Mapping[int, str]
) -> ProcedureRecord | None:
    """Return the procedure made for the part, else the one that it was proved by last.

    That there is one for its kind is not enough: what suits a 12 V supply says nothing of a 36 V one.
    """
    if part is None:
        return None
    made_for_it = [one for one in known if one.part_id == part.id]
    usual = [one for one in known if one.name == habit.get(part.id) and _is_applicable(one, part)]
    return next(iter(made_for_it + usual), None)


def _is_applicable(one: ProcedureRecord, part: Any) -> bool:
    return one.part_id is None and one.kind in ("", part.kind)


def _last_procedure_by_part(part_ids: Sequence[int]) -> dict[int, str]:
    """Return by part the name of the procedure that one of it was proved by last."""
    last = (
        Proof.select(fn.MAX(Proof.id)).join(Piece)
        .where(Piece.part << part_ids, Proof.struck.is_null(), Proof.procedure.is_null(False)).group_by(Piece.part)
    )  # fmt: skip
    rows: Any = (
        Proof.select(Proof, Procedure, Piece).join(Procedure).switch(Proof).join(Piece).where(Proof.id << last)
    )
    return {row.piece.part_id: row.procedure.name for row in rows.where(Proof.id << last)}
