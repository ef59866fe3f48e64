"""/pieces/lapsed and /pieces/to-prove-again: which pieces to test before they are trusted again."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.proof.proof_schemas import PieceSeenOut
from inventory.api.resource import Resource
from inventory.domain.proof import standings as stock
from inventory.domain.proof.proof_records import PieceSeen

resource = Resource("proving again", "Which pieces to test before they are trusted again.")
SEEN = PieceSeenOut()


class AgainQuery(PageQuery):
    """How far ahead to look."""

    within_days = fields.Asked("Days ahead.", most=3650, default=30)


@resource.get("/pieces/lapsed")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SEEN, key=lambda one: one.piece.id)
def lapsed(asked: dict[str, Any]) -> list[PieceSeen]:
    """List the pieces whose proof ran out or whose contacts are worn, the longest ago first."""
    return stock.lapsed()


@resource.get("/pieces/to-prove-again")
@resource.arguments(AgainQuery(), location="query")
@resource.listed(SEEN, key=lambda one: one.piece.id)
def to_prove_again(asked: dict[str, Any]) -> list[PieceSeen]:
    """List the proved pieces whose standing runs out soon, the first first."""
    return stock.to_prove_again(**asked)
