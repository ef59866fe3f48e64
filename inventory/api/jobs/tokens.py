"""/tokens: keys for programs."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.people_schemas import NewTokenOut, TokenIn, TokenOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import TokenRecord
from inventory.domain.jobs import people as stock
from inventory.web.access import for_role

resource = Resource("tokens", "Keys for programs.")


@resource.get("/tokens")
@for_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(TokenOut(), key=lambda one: one.id)
def tokens(asked: dict[str, Any]) -> list[TokenRecord]:
    """List tokens, without their secrets."""
    return stock.tokens()


@resource.post("/tokens")
@for_role("owner")
@resource.arguments(TokenIn())
@resource.response(201, NewTokenOut(), entity=False)
def add_token(given: dict[str, Any]) -> TokenRecord:
    """Make a token. Its secret is in this answer and nowhere else."""
    return stock.add_token(**given)


@resource.delete("/tokens/<key:token_id>")
@for_role("owner")
@resource.response(204)
def revoke_token(token_id: int) -> None:
    """End a token for good."""
    stock.revoke_token(token_id)
