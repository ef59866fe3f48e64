"""Which units of a lot an incoming check takes next: shared out over bins and pieces by how many are where."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.catalogue.bins import holdings
from inventory.domain.common.records import BinRecord, PieceRecord, from_row
from inventory.domain.quality.incoming_queries import pieces_available_to_test


@dataclass(frozen=True)
class DrawFromBin:
    """A bin with loose units of the lot, and how many of those still to be tested to take from there."""

    bin: BinRecord
    there: int
    take: int


def units_to_draw(
    check: IncomingCheckRecord,
) -> tuple[tuple[DrawFromBin, ...], tuple[PieceRecord, ...], tuple[PieceRecord, ...]]:
    """Return how many loose units to take from each bin, the pieces to test next, and those that may be as well.

    Pieces are drawn at random by a hash of check and piece, so that the draw is the same each time.
    """
    still = max(0, check.tests - check.tested) if check.closed is None else 0
    done = {result.piece_id for result in check.results if result.struck is None}
    pieces = [
        from_row(PieceRecord, piece)
        for piece in pieces_available_to_test([check.lot.id])[check.lot.id]
        if piece.id not in done
    ]
    pieces.sort(key=lambda piece: hashlib.sha256(f"{check.id} {piece.id}".encode()).digest())
    held = holdings(lot_id=check.lot.id)
    *shares, drawn = _largest_remainders(still, [*(holding.quantity for holding in held), len(pieces)])
    places = tuple(
        DrawFromBin(holding.bin, holding.quantity, share) for holding, share in zip(held, shares, strict=True)
    )
    return places, tuple(pieces[:drawn]), tuple(pieces[drawn:])


def _largest_remainders(number: int, weights: Sequence[int]) -> list[int]:
    """Share *number* out in proportion to *weights*, none getting more than its weight, by largest remainders."""
    total = sum(weights)
    number = min(number, total)
    if not number:
        return [0] * len(weights)
    exact = [number * weight / total for weight in weights]
    shares = [int(share) for share in exact]
    order = sorted(range(len(weights)), key=lambda index: shares[index] - exact[index])
    for index in order[: number - sum(shares)]:
        shares[index] += 1
    return shares
