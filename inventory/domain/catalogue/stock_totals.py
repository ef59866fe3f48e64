"""Stock of parts: sums over balances, pieces, needs and orders. Reads only."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.domain.common.records import StockTotals
from inventory.store.connection import execute, run_for

# A piece counts towards the shelf when it is there to be fitted; one kept to test with never does.
_SUMS = {
    "on_shelf": "SELECT b.part_id, SUM(b.quantity) FROM balances b JOIN lots l ON l.id = b.lot_id"
    " WHERE b.quantity > 0 AND NOT l.on_hold{b} GROUP BY b.part_id",
    "on_hold": "SELECT b.part_id, SUM(b.quantity) FROM balances b JOIN lots l ON l.id = b.lot_id"
    " WHERE b.quantity > 0 AND l.on_hold{b} GROUP BY b.part_id",
    "pieces": "SELECT b.part_id, COUNT(*) FROM pieces b JOIN lots l ON l.id = b.lot_id"
    " WHERE b.bin_id IS NOT NULL AND NOT b.spare AND NOT l.on_hold"
    " AND NOT EXISTS (SELECT 1 FROM loans o WHERE o.piece_id = b.id AND o.ended IS NULL){b} GROUP BY b.part_id",
    "spares": "SELECT b.part_id, COUNT(*) FROM pieces b WHERE b.bin_id IS NOT NULL AND b.spare{b} GROUP BY b.part_id",
    "out": "SELECT b.part_id, COUNT(*) FROM pieces b JOIN loans o ON o.piece_id = b.id"
    " WHERE o.ended IS NULL{b} GROUP BY b.part_id",
    "promised": "SELECT b.part_id, SUM(b.quantity - b.taken) FROM needs b JOIN jobs j ON j.id = b.job_id"
    " WHERE NOT b.dropped AND b.quantity > b.taken AND j.status <> 'closed'{b} GROUP BY b.part_id",
    "on_order": "SELECT b.part_id, SUM(b.quantity - b.received) FROM order_lines b JOIN orders o ON o.id = b.order_id"
    " WHERE o.status = 'placed' AND NOT b.dropped AND b.quantity > b.received{b} GROUP BY b.part_id",
}  # fmt: skip


def stock_of(part_id: int) -> StockTotals:
    """Return how much there is of one part."""
    return stock_by_part([part_id]).get(part_id, StockTotals())


def stock_by_part(part_ids: Iterable[int] | None = None) -> dict[int, StockTotals]:
    """Return how much there is of each of *part_ids* (None: of every part that has any)."""
    ids = None if part_ids is None else list(part_ids)
    sums = {name: _sum_by_part(sql, ids) for name, sql in _SUMS.items()}
    return {
        part: StockTotals(
            on_shelf=sums["on_shelf"].get(part, 0) + sums["pieces"].get(part, 0),
            **{name: sums[name].get(part, 0) for name in ("on_hold", "spares", "out", "promised", "on_order")},
        )
        for part in set().union(*sums.values())
    }


def _sum_by_part(sql: str, part_ids: list[int] | None) -> dict[int, int]:
    rows = (
        execute(sql.format(b="")).fetchall()
        if part_ids is None
        else run_for(sql.format(b=" AND b.part_id IN ({ids})"), part_ids)
    )
    return {int(part): int(number) for part, number in rows}
