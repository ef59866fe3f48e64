"""/scan and /find: what a code stands for, and one search over everything."""

from __future__ import annotations

from typing import Any

from inventory.api.movements.movement_schemas import ScanOut, ScanQuery, SearchHitOut, SearchQuery
from inventory.api.operation_docs import extra_statuses
from inventory.api.resource import Resource
from inventory.domain.catalogue import search as finding
from inventory.domain.common import code_lookup as scanning
from inventory.domain.common.records import ResolvedCode, SearchHit

resource = Resource("finding", "From a label, or from words, to the thing itself.")


@resource.get("/scan")
@extra_statuses(404)
@resource.arguments(ScanQuery(), location="query")
@resource.response(200, ScanOut())
def resolve_code(params: dict[str, Any]) -> ResolvedCode:
    """Say what a code stands for, bare or in an address of any host.

    A slip is named; did_you_mean holds the codes of real things that one slip turns into this.
    """
    return scanning.resolve_code(**params)


@resource.get("/find")
@resource.arguments(SearchQuery(), location="query")
@resource.listed(SearchHitOut(), key=lambda hit: f"{hit.what}.{hit.id}")
def search(params: dict[str, Any]) -> list[SearchHit]:
    """Find parts, jobs, bins, pieces, lots and unit models by words, numbers or a code."""
    return finding.search(**params)
