"""/proofs: dated tests of pieces."""

from __future__ import annotations

from typing import Any

from inventory.api.proof.proof_schemas import ProofIn, ProofOut, ProofsQuery, ProvedOut, RunIn, WhyIn
from inventory.api.resource import Resource, at
from inventory.domain.common.records import Page
from inventory.domain.proof import proofs as stock
from inventory.domain.proof.proof_records import ProofRecord
from inventory.web.access import caller

resource = Resource("proofs", "Dated tests of pieces, by a procedure or by running in a unit.")
PROOF = ProofOut()
PROVED = ProvedOut()


@resource.get("/proofs")
@resource.arguments(ProofsQuery(), location="query")
@resource.listed(PROOF)
def proofs(asked: dict[str, Any]) -> Page:
    """List proofs, newest first, struck ones too."""
    return stock.proofs(**asked)


@resource.get("/proofs/<key:proof_id>")
@resource.response(200, PROOF)
def proof(proof_id: int) -> ProofRecord:
    """Read a proof with its readings."""
    return stock.proof(proof_id)


@resource.post("/pieces/<key:piece_id>/proofs")
@resource.arguments(ProofIn())
@resource.response(201, PROVED, entity=False)
def prove(given: dict[str, Any], piece_id: int) -> Any:
    """Note a test of a piece. Every reading is judged against the limits of its part."""
    made = stock.prove(piece_id, **given, by=caller().id)
    return made, at("proof", made.proof.id)


@resource.post("/pieces/<key:piece_id>/runs")
@resource.arguments(RunIn())
@resource.response(201, PROVED, entity=False)
def ran_in_unit(given: dict[str, Any], piece_id: int) -> Any:
    """Note that a piece ran in a job's unit, and that the unit did what it should."""
    made = stock.ran_in_unit(piece_id, **given, by=caller().id)
    return made, at("proof", made.proof.id)


@resource.post("/proofs/<key:proof_id>/strike")
@resource.arguments(WhyIn())
@resource.response(200, PROOF)
def strike_proof(given: dict[str, Any], proof_id: int) -> ProofRecord:
    """Let a proof that was logged by mistake count no longer; it stays in the history."""
    return stock.strike_proof(proof_id, **given, by=caller().id)
