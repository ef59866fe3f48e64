"""/kinds and /hazards: the words by which parts are described."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.api.catalogue.part_schemas import HazardOut, KindOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue.attributes import ATTRIBUTES, Attribute
from shared.hazards import HAZARDS, Hazard

resource = Resource("words", "The words by which parts are described.")


@dataclass(frozen=True)
class Kind:
    """A kind of part and its trade attributes."""

    kind: str
    attributes: tuple[Attribute, ...]


@resource.get("/kinds")
@resource.arguments(PageQuery(), location="query")
@resource.listed(KindOut(), key="kind")
def kinds(params: dict[str, Any]) -> list[Kind]:
    """List the kinds of part, each with its trade attributes."""
    return [Kind(kind, attributes) for kind, attributes in ATTRIBUTES.items()]


@resource.get("/hazards")
@resource.arguments(PageQuery(), location="query")
@resource.listed(HazardOut(), key="key")
def hazards(params: dict[str, Any]) -> list[Hazard]:
    """List the hazards that parts may have, the most urgent first, with their cautions."""
    return list(HAZARDS.values())
