"""Every resource of the API, in the order in which the document shows them."""

from __future__ import annotations

from inventory.api import (
    attachments,
    bins,
    counting,
    dates,
    doing,
    evidence,
    finding,
    holdings,
    jobs,
    keeping,
    kinds,
    labels,
    lessons,
    levels,
    loans,
    lots,
    movements,
    needs,
    orders,
    parts,
    people,
    pieces,
    procedures,
    proofs,
    recalls,
    reorder,
    shop,
    suppliers,
    suspects,
    tokens,
    unit_models,
)

ALL = tuple(
    module.resource
    for module in (
        *(
            finding,
            doing,
            movements,
            parts,
            unit_models,
            lessons,
            kinds,
            bins,
            lots,
            recalls,
            attachments,
            counting,
            dates,
            levels,
            holdings,
            pieces,
            procedures,
            proofs,
            loans,
            labels,
        ),
        *(jobs, needs, suspects, evidence, keeping),
        *(reorder, suppliers, orders, shop, people, tokens),
    )
)
