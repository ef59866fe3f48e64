"""/pieces/lapsed and /pieces/to-prove-again: which pieces to test before they are trusted again."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import PieceStatusOut
from inventory.api.resource import Resource
from inventory.domain.proof import standings as domain
from inventory.domain.proof.proof_records import PieceStatus

resource = Resource("proving again", "Which pieces to test before they are trusted again.")
PIECE_STATUS = PieceStatusOut()


class ProveAgainQuery(PageQuery):
    """How far ahead to look."""

    within_days = fields.QueryInteger("Days ahead.", maximum=3650, default=30)


@resource.get("/pieces/lapsed")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PIECE_STATUS, key="piece.id")
def lapsed_pieces(params: dict[str, Any]) -> list[PieceStatus]:
    """List the pieces whose proof ran out or whose contacts are worn, the longest ago first."""
    return domain.lapsed_pieces()


@resource.get("/pieces/to-prove-again")
@resource.arguments(ProveAgainQuery(), location="query")
@resource.listed(PIECE_STATUS, key="piece.id")
def pieces_to_prove_again(params: dict[str, Any]) -> list[PieceStatus]:
    """List the proved pieces whose standing runs out soon, the first first."""
    return domain.pieces_lapsing_soon(**params)
