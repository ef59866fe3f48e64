"""/pieces: individually known units, where each is and how far it can be trusted."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import PieceOut
from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.proof.loan_schemas import SpareChoiceOut, SparesQuery
from inventory.api.proof.proof_schemas import (
    PieceEdit,
    PiecesQuery,
    PieceStatusOut,
    ProcedureOut,
    ResolvedProcedureOut,
    StandingOut,
    StandingQuery,
    TimelineEntryOut,
)
from inventory.api.resource import Resource
from inventory.domain.common.records import PieceRecord, ResultPage
from inventory.domain.proof import pieces as domain
from inventory.domain.proof import proofs, spares, standings, timeline
from inventory.domain.proof.proof_records import (
    PieceStatus,
    ProcedureRecord,
    ResolvedProcedure,
    SpareChoice,
    StandingRecord,
    TimelineEntry,
)

resource = Resource("pieces", "Individually known units: where each is, and how far it can be trusted.")
PIECE = PieceOut()


def _piece(piece_id: int) -> PieceRecord:
    return domain.piece(piece_id).piece


@resource.get("/pieces")
@resource.arguments(PiecesQuery(), location="query")
@resource.listed(PieceStatusOut())
def pieces(params: dict[str, Any]) -> ResultPage:
    """List pieces in the order in which they became known, with place and standing."""
    return domain.pieces(**params)


@resource.get("/pieces/<key:piece_id>")
@resource.response(200, PIECE)
def piece(piece_id: int) -> PieceRecord:
    """Read a piece."""
    return _piece(piece_id)


@resource.patch("/pieces/<key:piece_id>")
@resource.arguments(PieceEdit())
@resource.edited(PIECE, _piece)
def edit_piece(data: dict[str, Any], piece_id: int, version: int | None) -> PieceRecord:
    """Change a piece."""
    return domain.edit_piece(piece_id, version, **data).piece


@resource.get("/pieces/<key:piece_id>/look")
@resource.response(200, PieceStatusOut())
def piece_status(piece_id: int) -> PieceStatus:
    """Read a piece with its part, its lot, where it is and how far it can be trusted."""
    return domain.piece(piece_id)


@resource.get("/pieces/<key:piece_id>/standing")
@resource.arguments(StandingQuery(), location="query")
@resource.response(200, StandingOut())
def piece_standing(params: dict[str, Any], piece_id: int) -> StandingRecord:
    """Say how far a piece can be trusted, now or at a past moment, and how that came about."""
    return standings.standing_of(piece_id, **params)


@resource.get("/pieces/<key:piece_id>/timeline")
@resource.arguments(PageQuery(), location="query")
@resource.listed(
    TimelineEntryOut(),
    key=lambda entry: f"{entry.what}.{entry.entry}.{entry.proof_id}.{entry.loan_id}.{entry.at}",
    parent=_piece,
)
def piece_timeline(params: dict[str, Any], piece_id: int) -> list[TimelineEntry]:
    """List what happened to a piece, newest first."""
    return timeline.piece_timeline(piece_id)


@resource.get("/pieces/<key:piece_id>/procedures")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ProcedureOut(), key="id", parent=_piece)
def piece_procedures(params: dict[str, Any], piece_id: int) -> list[ProcedureRecord]:
    """List the procedures that may prove a piece, those for its very part first."""
    return proofs.procedures_for_piece(piece_id)


@resource.get("/pieces/<key:piece_id>/procedures/<key:procedure_id>")
@extra_statuses(409)
@resource.response(200, ResolvedProcedureOut())
def procedure_for_piece(piece_id: int, procedure_id: int) -> ResolvedProcedure:
    """Say what a procedure asks of a piece: its checks with this part's limits, and what to mind."""
    return proofs.resolve_procedure(procedure_id, piece_id)


@resource.get("/spares")
@extra_statuses(404)
@resource.arguments(SparesQuery(), location="query")
@resource.response(200, SpareChoiceOut())
def spare_choice(params: dict[str, Any]) -> SpareChoice:
    """Say which pieces could stand in for a suspect, a part, or what a job's unit has, best first."""
    return spares.spares_for(**params)
