"""/procedures: named ways to test a piece."""

from __future__ import annotations

from typing import Any

from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import EditionEdit, ProcedureIn, ProcedureOut, ProceduresQuery, RetireIn
from inventory.api.resource import Resource, at
from inventory.domain.proof import procedures as stock
from inventory.domain.proof.proof_records import ProcedureRecord
from inventory.web.access import for_role

resource = Resource(
    "procedures", "Named ways to test a piece. A procedure that was used never changes: it gets editions."
)
PROCEDURE = ProcedureOut()


@resource.get("/procedures")
@may_answer(404)
@resource.arguments(ProceduresQuery(), location="query")
@resource.listed(PROCEDURE, key=lambda one: one.id)
def procedures(asked: dict[str, Any]) -> list[ProcedureRecord]:
    """List the procedures in use, the most particular first."""
    return stock.procedures(**asked)


@resource.post("/procedures")
@for_role("owner")
@resource.arguments(ProcedureIn())
@resource.response(201, PROCEDURE)
def add_procedure(given: dict[str, Any]) -> Any:
    """Add a procedure."""
    made = stock.add_procedure(**given)
    return made, at("procedure", made.id)


@resource.get("/procedures/<key:procedure_id>")
@resource.response(200, PROCEDURE)
def procedure(procedure_id: int) -> ProcedureRecord:
    """Read a procedure, in the edition asked for."""
    return stock.procedure(procedure_id)


@resource.get("/procedures/<key:procedure_id>/editions")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PROCEDURE, key=lambda one: one.id)
def editions(asked: dict[str, Any], procedure_id: int) -> list[ProcedureRecord]:
    """List every edition of a procedure, newest first."""
    return stock.editions(procedure_id)


@resource.post("/procedures/<key:procedure_id>/editions")
@may_answer(412)
@for_role("owner")
@resource.arguments(EditionEdit())
@resource.response(201, PROCEDURE)
def add_edition(given: dict[str, Any], procedure_id: int) -> Any:
    """Make the next edition of a procedure. Refused (412) when the id is not that of the newest."""
    made = stock.edit_procedure(procedure_id, **given)
    return made, at("procedure", made.id)


@resource.post("/procedures/<key:procedure_id>/retire")
@may_answer(412)
@for_role("owner")
@resource.arguments(RetireIn())
@resource.response(200, PROCEDURE)
def retire_procedure(given: dict[str, Any], procedure_id: int) -> ProcedureRecord:
    """Offer a procedure no longer, or again. Proofs by it stay."""
    return stock.retire_procedure(procedure_id, **given)
