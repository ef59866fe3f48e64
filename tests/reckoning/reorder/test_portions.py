"""Portions: bulk stock is counted in what one use usually takes."""

from __future__ import annotations

import numpy as np

from inventory.reckoning.reorder.portions import in_portions, portion_of_pack, usual_portions


def test_a_portion_is_the_lower_median_use() -> None:
    part = np.array([0, 1, 0, 0, 1, 3])
    used = np.array([12, 500, 10, 200, 900, 1])
    assert usual_portions(part, used, 4).tolist() == [12, 500, 0, 1]


def test_a_use_takes_whole_portions() -> None:
    assert in_portions(np.array([1, 12, 13, 200]), np.array([12, 12, 12, 12])).tolist() == [1, 1, 2, 17]


def test_one_giant_use_does_not_make_portions_too_fine_to_count() -> None:
    portion = usual_portions(np.zeros(4, int), np.array([1, 1, 1, 100_000]), 1)
    assert in_portions(np.array([100_000]), portion).tolist() == [200]


def test_a_bottle_never_used_holds_ten_portions() -> None:
    assert portion_of_pack(np.array([100, 5, 1])).tolist() == [10, 1, 1]
