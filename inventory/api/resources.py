"""Every resource of the API, in the order in which the document shows them."""

from __future__ import annotations

from inventory.api import (
    attachments,
    bins,
    doing,
    finding,
    holdings,
    jobs,
    kinds,
    lessons,
    lots,
    movements,
    needs,
    parts,
    people,
    recalls,
    suspects,
    tokens,
    unit_models,
)

ALL = tuple(
    module.resource
    for module in (
        *(finding, doing, movements, parts, unit_models, lessons, kinds, bins, lots, recalls, attachments, holdings),
        *(jobs, needs, suspects, people, tokens),
    )
)
