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
    """How a suspect can be measured; ``sensitivity`` = P(says bad | bad), ``specificity`` = P(says good | good)."""

    sensitivity: float
    specificity: float
    procedure_id: int | None = None
    procedure: str = ""


def measurement_accuracy(suspect: Any, config: ShopConfig) -> MeasurementAccuracy:
    """Return the figures for a suspect (row): of the procedure that its part is tested by, else the shop's."""
    return measurement_accuracies([suspect], config)[suspect.id]


def measurement_accuracies(suspects: Sequence[Any], config: ShopConfig) -> dict[int, MeasurementAccuracy]:
    """Return the figures for several suspects (rows), by their ids, read at once."""
    parts = {suspect.part_id: suspect.part for suspect in suspects if suspect.part_id is not None}
    all_procedures = procedures() if parts else []
    last_used = _last_procedure_by_part(list(parts))
    return {
        suspect.id: _accuracy_from(_procedure_for_part(all_procedures, parts.get(suspect.part_id), last_used), config)
        for suspect in suspects
    }


def _accuracy_from(procedure: ProcedureRecord | None, config: ShopConfig) -> MeasurementAccuracy:
    if procedure is None:
        return MeasurementAccuracy(config.measured_finds, config.measured_passes)
    return MeasurementAccuracy(procedure.sensitivity, procedure.specificity, procedure.id, procedure.name)


def _procedure_for_part(
    all_procedures: Sequence[ProcedureRecord], part: Any, last_used: Mapping[int, str]
) -> ProcedureRecord | None:
    """Return the procedure made for the part, else the one that it was proved by last.

    That there is one for its kind is not enough: what suits a 12 V supply says nothing of a 36 V one.
    """
    if part is None:
        return None
    of_part = [procedure for procedure in all_procedures if procedure.part_id == part.id]
    last = [
        procedure
        for procedure in all_procedures
        if procedure.name == last_used.get(part.id) and _is_applicable(procedure, part)
    ]
    return next(iter(of_part + last), None)


def _is_applicable(procedure: ProcedureRecord, part: Any) -> bool:
    return procedure.part_id is None and procedure.kind in ("", part.kind)


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
