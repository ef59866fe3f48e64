"""/tokens: keys for programs."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.people_schemas import NewTokenOut, TokenIn, TokenOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.common.records import TokenRecord
from inventory.domain.jobs import people as domain
from inventory.web.access import require_role

resource = Resource("tokens", "Keys for programs.")


@resource.get("/tokens")
@require_role("owner")
@resource.arguments(PageQuery(), location="query")
@resource.listed(TokenOut(), key="id")
def tokens(params: dict[str, Any]) -> list[TokenRecord]:
    """List tokens, without their secrets."""
    return domain.tokens()


@resource.post("/tokens")
@require_role("owner")
@resource.arguments(TokenIn())
@resource.response(201, NewTokenOut(), with_etag=False)
def add_token(data: dict[str, Any]) -> TokenRecord:
    """Make a token. Its secret is in this answer and nowhere else."""
    return domain.add_token(**data)


@resource.delete("/tokens/<key:token_id>")
@require_role("owner")
@resource.response(204)
def revoke_token(token_id: int) -> None:
    """End a token for good."""
    domain.revoke_token(token_id)
