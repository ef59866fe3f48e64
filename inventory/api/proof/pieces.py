"""/pieces: individually known units, where each is and how far it can be trusted."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import PieceOut
from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.proof.loan_schemas import SpareChoiceOut, SparesQuery
from inventory.api.proof.proof_schemas import (
    AskedOut,
    HappenedOut,
    PieceEdit,
    PieceSeenOut,
    PiecesQuery,
    ProcedureOut,
    StandingOut,
    StandingQuery,
)
from inventory.api.resource import Resource
from inventory.domain.common.records import Page, PieceRecord
from inventory.domain.proof import pieces as stock
from inventory.domain.proof import proofs, spares, standings, timeline
from inventory.domain.proof.proof_records import (
    Asked,
    Moment,
    PieceSeen,
    ProcedureRecord,
    SpareChoice,
    StandingRecord,
)

resource = Resource("pieces", "Individually known units: where each is, and how far it can be trusted.")
PIECE = PieceOut()


def _piece(piece_id: int) -> PieceRecord:
    return stock.piece(piece_id).piece


@resource.get("/pieces")
@resource.arguments(PiecesQuery(), location="query")
@resource.listed(PieceSeenOut())
def pieces(asked: dict[str, Any]) -> Page:
    """List pieces in the order in which they became known, with place and standing."""
    return stock.pieces(**asked)


@resource.get("/pieces/<key:piece_id>")
@resource.response(200, PIECE)
def piece(piece_id: int) -> PieceRecord:
    """Read a piece."""
    return _piece(piece_id)


@resource.patch("/pieces/<key:piece_id>")
@resource.arguments(PieceEdit())
@resource.edited(PIECE, _piece)
def edit_piece(given: dict[str, Any], piece_id: int, version: int | None) -> PieceRecord:
    """Change a piece."""
    return stock.edit_piece(piece_id, version, **given).piece


@resource.get("/pieces/<key:piece_id>/look")
@resource.response(200, PieceSeenOut())
def look_at_piece(piece_id: int) -> PieceSeen:
    """Read a piece with its part, its lot, where it is and how far it can be trusted."""
    return stock.piece(piece_id)


@resource.get("/pieces/<key:piece_id>/standing")
@resource.arguments(StandingQuery(), location="query")
@resource.response(200, StandingOut())
def standing(asked: dict[str, Any], piece_id: int) -> StandingRecord:
    """Say how far a piece can be trusted, now or at a past moment, and how that came about."""
    return standings.standing_of(piece_id, **asked)


@resource.get("/pieces/<key:piece_id>/timeline")
@resource.arguments(PageQuery(), location="query")
@resource.listed(
    HappenedOut(), key=lambda one: f"{one.what}.{one.entry}.{one.proof_id}.{one.loan_id}.{one.at}", of=_piece
)
def piece_timeline(asked: dict[str, Any], piece_id: int) -> list[Moment]:
    """List what happened to a piece, newest first."""
    return timeline.timeline(piece_id)


@resource.get("/pieces/<key:piece_id>/procedures")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ProcedureOut(), key=lambda one: one.id, of=_piece)
def procedures_for(asked: dict[str, Any], piece_id: int) -> list[ProcedureRecord]:
    """List the procedures that may prove a piece, those for its very part first."""
    return proofs.procedures_for(piece_id)


@resource.get("/pieces/<key:piece_id>/procedures/<key:procedure_id>")
@may_answer(409)
@resource.response(200, AskedOut())
def asked_of(piece_id: int, procedure_id: int) -> Asked:
    """Say what a procedure asks of a piece: its checks with this part's limits, and what to mind."""
    return proofs.asked(procedure_id, piece_id)


@resource.get("/spares")
@may_answer(404)
@resource.arguments(SparesQuery(), location="query")
@resource.response(200, SpareChoiceOut())
def spares_for(asked: dict[str, Any]) -> SpareChoice:
    """Say which pieces could stand in for a suspect, a part, or what a job's unit has, best first."""
    return spares.spares_for(**asked)
