"""Every resource of the API, in the order in which the document shows them."""

from __future__ import annotations

from inventory.api.alerts import alerts, backups, today
from inventory.api.buying import bags, orders, suppliers
from inventory.api.catalogue import bins, holdings, kinds, lessons, lots, parts, search, unit_models
from inventory.api.common import kind_figures, shop
from inventory.api.diagnosis import closed_jobs, diagnosis
from inventory.api.jobs import jobs, needs, people, suspects, tokens
from inventory.api.labelling import label_sizes, labels
from inventory.api.money import money, notices
from inventory.api.movements import movements, stock_actions
from inventory.api.proof import loans, pieces, procedures, proofs, standings
from inventory.api.quality import attachments, incoming, recalls, sent_back
from inventory.api.reorder import dates, forecasts, reorder
from inventory.api.stocktake import counting, levels, stock_lists

ALL = tuple(
    module.resource
    for module in (
        *(
            today,
            search,
            bags,
            stock_actions,
            movements,
            parts,
            unit_models,
            lessons,
            kinds,
            bins,
            lots,
            recalls,
            sent_back,
            incoming,
            attachments,
            counting,
            dates,
            levels,
            holdings,
            pieces,
            standings,
            kind_figures,
            procedures,
            proofs,
            loans,
            labels,
            label_sizes,
        ),
        *(jobs, needs, suspects, diagnosis, notices, closed_jobs),
        *(reorder, forecasts, money, alerts, suppliers, orders, shop, people, tokens, stock_lists, backups),
    )
)
