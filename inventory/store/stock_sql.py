"""SQL about what is in stock: one table expression over loose units and pieces."""

from __future__ import annotations

IN_BINS = (
    "(SELECT bin_id, lot_id, part_id, quantity, FALSE AS spare FROM balances WHERE quantity > 0"
    " UNION ALL SELECT bin_id, lot_id, part_id, 1, spare FROM pieces WHERE bin_id IS NOT NULL)"
)
"""Everything that is in a bin, loose units (base units by bin and lot) and pieces (one each); give it an alias."""
