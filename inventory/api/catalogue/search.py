"""/scan and /find: what a code stands for, and one search over everything."""

from __future__ import annotations

from typing import Any

from inventory.api.movements.movement_schemas import FindQuery, HitOut, ScanOut, TextQuery
from inventory.api.operation_docs import may_answer
from inventory.api.resource import Resource
from inventory.domain.catalogue import search as finding
from inventory.domain.common import code_lookup as scanning
from inventory.domain.common.records import Hit, Scan

resource = Resource("finding", "From a label, or from words, to the thing itself.")


@resource.get("/scan")
@may_answer(404)
@resource.arguments(TextQuery(), location="query")
@resource.response(200, ScanOut())
def scan(asked: dict[str, Any]) -> Scan:
    """Say what a code stands for, bare or in an address of any host.

    A slip is named; did_you_mean holds the codes of real things that one slip turns into this.
    """
    return scanning.scan(**asked)


@resource.get("/find")
@resource.arguments(FindQuery(), location="query")
@resource.listed(HitOut(), key=lambda one: f"{one.what}.{one.id}")
def find(asked: dict[str, Any]) -> list[Hit]:
    """Find parts, jobs, bins, pieces, lots and unit models by words, numbers or a code."""
    return finding.find(**asked)
