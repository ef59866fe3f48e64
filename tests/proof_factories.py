"""Makes pieces to prove and lend, for tests that are about something else."""

from __future__ import annotations

from typing import Any

from inventory.domain.catalogue import bins, parts
from inventory.domain.common.records import PieceRecord
from inventory.domain.movements import adjustments, receive
from inventory.domain.proof import procedures, proofs
from inventory.domain.proof.proof_records import ProofResult
from tests.factories import a_bin, a_part

FAN_ATTRIBUTES = {"volts": 24, "amps": 0.15, "rpm": 2000, "wires": 3}


def a_piece(
    name: str = "", *, part_id: int | None = None, kind: str = "fan", bin_id: int | None = None, spare: bool = True,
    received: dict[str, Any] | None = None, part_name: str = "24 V fan", **part: Any,
) -> PieceRecord:  # fmt: skip
    """Receive one of a part (a new fan unless given) and make it a piece called *name*."""
    if part_id is None:
        part_id = a_part(part_name, kind, **{"attributes": FAN_ATTRIBUTES if kind == "fan" else {}, **part}).id
    if bin_id is None:
        part_bins = bins.bins(part_id=part_id).items
        bin_id = part_bins[0].id if part_bins else a_bin(parts.part(part_id)).id
    receipt = receive.receive(part_id, 1, bin_id, **(received or {}))
    lot = receipt.lot_ids[0]
    return adjustments.single_out(bin_id, lot, name=name, spare=spare).made_pieces[0]


def built_in_procedure_id(name: str) -> int:
    """Return the id of a built-in procedure, installing them first."""
    procedures.install_built_in()
    return next(procedure.id for procedure in procedures.procedures() if procedure.name == name)


GOOD_FAN_READINGS = [
    {"name": "Current", "value": "0.14", "unit": "A"},
    {"name": "Speed", "value": "1990", "unit": "rpm"},
    {"name": "Tach signal is there, where there is one", "value": "yes"},
    {"name": "Starts at 70 % of nominal voltage", "value": "yes"},
    {"name": "No rub, no bearing noise", "value": "yes"},
]


def fan_readings(**changed: str) -> list[dict[str, str]]:
    """Return the readings of a good fan, with the values of some checks (by the start of their name) changed."""
    return [
        {
            **reading,
            "value": next((v for key, v in changed.items() if reading["name"].startswith(key)), reading["value"]),
        }
        for reading in GOOD_FAN_READINGS
    ]


def prove_fan(piece_id: int, **changed: str) -> ProofResult:
    """Prove a fan by its bench run."""
    return proofs.record_proof(
        piece_id, built_in_procedure_id("Fan bench run"), fan_readings(**changed), instrument="bench meter 2"
    )
