"""/proofs: dated tests of pieces."""

from __future__ import annotations

from typing import Any

from inventory.api.proof.proof_schemas import ProofIn, ProofOut, ProofResultOut, ProofsQuery, ReasonIn, RunIn
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import ResultPage
from inventory.domain.proof import proofs as domain
from inventory.domain.proof.proof_records import ProofRecord
from inventory.web.access import current_person

resource = Resource("proofs", "Dated tests of pieces, by a procedure or by running in a unit.")
PROOF = ProofOut()
PROVED = ProofResultOut()


@resource.get("/proofs")
@resource.arguments(ProofsQuery(), location="query")
@resource.listed(PROOF)
def proofs(params: dict[str, Any]) -> ResultPage:
    """List proofs, newest first, struck ones too."""
    return domain.proofs(**params)


@resource.get("/proofs/<key:proof_id>")
@resource.response(200, PROOF)
def proof(proof_id: int) -> ProofRecord:
    """Read a proof with its readings."""
    return domain.proof(proof_id)


@resource.post("/pieces/<key:piece_id>/proofs")
@resource.arguments(ProofIn())
@resource.response(201, PROVED, with_etag=False)
def record_proof(data: dict[str, Any], piece_id: int) -> Any:
    """Note a test of a piece. Every reading is judged against the limits of its part."""
    outcome = domain.record_proof(piece_id, **data, by=current_person().id)
    return outcome, location_header("proof", outcome.proof.id)


@resource.post("/pieces/<key:piece_id>/runs")
@resource.arguments(RunIn())
@resource.response(201, PROVED, with_etag=False)
def record_run(data: dict[str, Any], piece_id: int) -> Any:
    """Note that a piece ran in a job's unit, and that the unit did what it should."""
    outcome = domain.record_run_in_unit(piece_id, **data, by=current_person().id)
    return outcome, location_header("proof", outcome.proof.id)


@resource.post("/proofs/<key:proof_id>/strike")
@resource.arguments(ReasonIn())
@resource.response(200, PROOF)
def strike_proof(data: dict[str, Any], proof_id: int) -> ProofRecord:
    """Let a proof that was logged by mistake count no longer; it stays in the history."""
    return domain.strike_proof(proof_id, **data, by=current_person().id)
