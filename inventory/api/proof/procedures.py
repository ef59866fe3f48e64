"""/procedures: named ways to test a piece."""

from __future__ import annotations

from typing import Any

from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import EditionEdit, ProcedureIn, ProcedureOut, ProceduresQuery, RetireIn
from inventory.api.resource import Resource, location_header
from inventory.domain.proof import procedures as domain
from inventory.domain.proof.proof_records import ProcedureRecord
from inventory.web.access import require_role

resource = Resource(
    "procedures", "Named ways to test a piece. A procedure that was used never changes: it gets editions."
)
PROCEDURE = ProcedureOut()


@resource.get("/procedures")
@extra_statuses(404)
@resource.arguments(ProceduresQuery(), location="query")
@resource.listed(PROCEDURE, key="id")
def procedures(params: dict[str, Any]) -> list[ProcedureRecord]:
    """List the procedures in use, the most particular first."""
    return domain.procedures(**params)


@resource.post("/procedures")
@require_role("owner")
@resource.arguments(ProcedureIn())
@resource.response(201, PROCEDURE)
def add_procedure(data: dict[str, Any]) -> Any:
    """Add a procedure."""
    procedure = domain.add_procedure(**data)
    return procedure, location_header("procedure", procedure.id)


@resource.get("/procedures/<key:procedure_id>")
@resource.response(200, PROCEDURE)
def procedure(procedure_id: int) -> ProcedureRecord:
    """Read a procedure, in the edition asked for."""
    return domain.procedure(procedure_id)


@resource.get("/procedures/<key:procedure_id>/editions")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PROCEDURE, key="id")
def procedure_editions(params: dict[str, Any], procedure_id: int) -> list[ProcedureRecord]:
    """List every edition of a procedure, newest first."""
    return domain.editions(procedure_id)


@resource.post("/procedures/<key:procedure_id>/editions")
@extra_statuses(412)
@require_role("owner")
@resource.arguments(EditionEdit())
@resource.response(201, PROCEDURE)
def add_edition(data: dict[str, Any], procedure_id: int) -> Any:
    """Make the next edition of a procedure. Refused (412) when the id is not that of the newest."""
    procedure = domain.edit_procedure(procedure_id, **data)
    return procedure, location_header("procedure", procedure.id)


@resource.post("/procedures/<key:procedure_id>/retire")
@extra_statuses(412)
@require_role("owner")
@resource.arguments(RetireIn())
@resource.response(200, PROCEDURE)
def retire_procedure(data: dict[str, Any], procedure_id: int) -> ProcedureRecord:
    """Offer a procedure no longer, or again. Proofs by it stay."""
    return domain.retire_procedure(procedure_id, **data)
