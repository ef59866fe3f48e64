"""Portions: what stock kept by weight, volume or length is counted in, so that its use reads like pieces.

A bottle used 12 ml at a time is reckoned in portions of 12 ml. A use takes whole portions, rounded up.
"""

from __future__ import annotations

import numpy as np

from inventory.reckoning.reorder.demand import IntArray

MAX_PORTIONS = 200
"""A part's largest use counts as no more portions than this."""

PORTIONS_PER_PACK = 10
"""Portions in a pack of a part that was never used (assumed)."""


def usual_portions(part: IntArray, quantity: IntArray, parts: int) -> IntArray:
    """Return each part's portion in base units: its median use (the lower one), 0 for parts never used.

    part: index of the part of each use. quantity: base units of each use, at least 1.
    """
    order = np.lexsort((quantity, part))
    count = np.bincount(part, minlength=parts)
    start = np.cumsum(count) - count
    used = count > 0
    portion = np.zeros(parts, np.int64)
    sorted_by_part = quantity[order]
    median = sorted_by_part[(start + (count - 1) // 2)[used]]
    largest = sorted_by_part[(start + count - 1)[used]]
    portion[used] = np.maximum(median, -(-largest // MAX_PORTIONS))
    return portion


def to_portions(quantity: IntArray, portion: IntArray) -> IntArray:
    """Return whole portions that cover each quantity."""
    portions: IntArray = -(-quantity // portion)
    return portions


def assumed_portion(pack: IntArray) -> IntArray:
    """Return the portion assumed of a part never used, from the pack it is sold in."""
    portion: IntArray = np.maximum(pack // PORTIONS_PER_PACK, 1)
    return portion
