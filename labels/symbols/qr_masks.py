"""Choice of the data mask of a QR symbol: all eight candidates weighed at once.

The candidates and the penalty are those of ISO/IEC 18004:2015, 7.8.2 (table 10) and 7.8.3.1 (table 11).
Format and version information is placed after the choice, so its modules count as light while candidates
are weighed. Light modules beyond the symbol's edge do not count, as in the library `qrcode`, whose choice
this matches; other encoders count the quiet zone too and so choose another mask at times, which any reader
takes as well.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from qrcode.util import BCH_type_info, pattern_position

Modules = NDArray[np.bool_]

_RUN_WEIGHT, _BLOCK_WEIGHT, _FINDER_WEIGHT, _BALANCE_WEIGHT = 3, 3, 40, 10
"""Penalties N1 to N4 of table 11."""

_FINDER_PATTERN = np.array([1, 0, 1, 1, 1, 0, 1, 0, 0, 0, 0], dtype=np.bool_)
"""Dark 1:1:3:1:1 with four light modules after it (and the same mirrored), table 11."""

_MIN_SIZE_WITH_VERSION = 45  # version 7


def apply_best_mask(modules: Modules, mask: int, level_bits: int) -> tuple[Modules, int]:
    """Return the symbol under its best mask, and that mask, from the same symbol under any mask (0 to 7).

    `level_bits` is the error level's two-bit indicator (ISO/IEC 18004, table 12).
    """
    size = len(modules)
    patterns = _mask_patterns(size)
    candidates = modules & ~_format_and_version_area(size) ^ patterns ^ patterns[mask]
    best = int(np.argmin(mask_penalties(candidates)))
    chosen = modules ^ patterns[best] ^ patterns[mask]
    _write_format(chosen, BCH_type_info(level_bits << 3 | best))
    return chosen, best


def mask_penalties(candidates: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Work out the penalty of each symbol in a stack of them (ISO/IEC 18004, table 11)."""
    both_ways = np.concatenate([candidates, candidates.transpose(0, 2, 1)])
    by_line = _run_penalty(both_ways) + _finder_penalty(both_ways)
    half = len(candidates)
    return by_line[:half] + by_line[half:] + _block_penalty(candidates) + _balance_penalty(candidates)


def _run_penalty(stack: Modules) -> NDArray[np.int_]:
    """Charge 3 + i for each run of 5 + i alike: one for each five in a row, and two more for each run."""
    equal = stack[:, :, 1:] == stack[:, :, :-1]
    runs_of_five = equal[:, :, 3:] & equal[:, :, 2:-1] & equal[:, :, 1:-2] & equal[:, :, :-3]
    longer_runs = runs_of_five[:, :, 1:] & runs_of_five[:, :, :-1]
    return _RUN_WEIGHT * _count_dark(runs_of_five) - (_RUN_WEIGHT - 1) * _count_dark(longer_runs)


def _finder_penalty(stack: Modules) -> NDArray[np.int_]:
    width = len(_FINDER_PATTERN)
    places = stack.shape[2] - width + 1
    total = np.zeros(len(stack), dtype=np.int_)
    for pattern in (_FINDER_PATTERN, _FINDER_PATTERN[::-1]):
        matches = np.ones((*stack.shape[:2], places), dtype=np.bool_)
        for offset, dark in enumerate(pattern):
            column = stack[:, :, offset : offset + places]
            matches &= column if dark else ~column
        total += _FINDER_WEIGHT * _count_dark(matches)
    return total


def _block_penalty(stack: Modules) -> NDArray[np.int_]:
    across = stack[:, :, 1:] == stack[:, :, :-1]
    down = stack[:, 1:, :-1] == stack[:, :-1, :-1]
    return _BLOCK_WEIGHT * _count_dark(across[:, 1:] & across[:, :-1] & down)


def _balance_penalty(stack: Modules) -> NDArray[np.int_]:
    """Charge 10 for each full 5 % that dark modules depart from half of the symbol, in whole numbers."""
    area = stack.shape[1] * stack.shape[2]
    steps: NDArray[np.int_] = np.abs(200 * _count_dark(stack) - 100 * area) // (10 * area)
    return _BALANCE_WEIGHT * steps


def _count_dark(stack: Modules) -> NDArray[np.int_]:
    count: NDArray[np.int_] = np.count_nonzero(stack, axis=(1, 2))
    return count


@lru_cache(maxsize=40)
def _mask_patterns(size: int) -> NDArray[np.bool_]:
    """Build the eight mask patterns of table 10, light wherever a function pattern or format stands."""
    row, column = np.indices((size, size))
    product = row * column
    zero = (
        (row + column) % 2,
        row % 2,
        column % 3,
        (row + column) % 3,
        (row // 2 + column // 3) % 2,
        product % 2 + product % 3,
        (product % 2 + product % 3) % 2,
        ((row + column) % 2 + product % 3) % 2,
    )
    return np.stack([remainder == 0 for remainder in zero]) & _data_area(size)


@lru_cache(maxsize=40)
def _data_area(size: int) -> Modules:
    """Mark the modules that carry data and error correction (ISO/IEC 18004, 7.7.3)."""
    area = np.ones((size, size), dtype=np.bool_)
    area[:9, :9] = area[:9, -8:] = area[-8:, :9] = False
    area[6, :] = area[:, 6] = False
    centres = pattern_position((size - 17) // 4)
    corners = {(6, 6), (6, size - 7), (size - 7, 6)}
    for row in centres:
        for column in centres:
            if (row, column) not in corners:
                area[row - 2 : row + 3, column - 2 : column + 3] = False
    if size >= _MIN_SIZE_WITH_VERSION:
        area[:6, -11:-8] = area[-11:-8, :6] = False
    return area


@lru_cache(maxsize=40)
def _format_positions(size: int) -> tuple[tuple[NDArray[np.int_], NDArray[np.int_]], ...]:
    """List rows and columns of format bits 0 to 14, upright and level copy (ISO/IEC 18004, figure 25)."""
    upright = [*range(6), 7, 8, *range(size - 7, size)]
    level = [*range(size - 1, size - 9, -1), 7, *range(5, -1, -1)]
    eight = np.full(15, 8)
    return (np.array(upright), eight), (eight, np.array(level))


@lru_cache(maxsize=40)
def _format_and_version_area(size: int) -> Modules:
    """Mark format and version information and the one module that is always dark."""
    area = np.zeros((size, size), dtype=np.bool_)
    for rows, columns in _format_positions(size):
        area[rows, columns] = True
    area[size - 8, 8] = True
    if size >= _MIN_SIZE_WITH_VERSION:
        area[:6, -11:-8] = area[-11:-8, :6] = True
    return area


def _write_format(modules: Modules, bits: int) -> None:
    size = len(modules)
    values = np.array([bits >> bit & 1 for bit in range(15)], dtype=np.bool_)
    for rows, columns in _format_positions(size):
        modules[rows, columns] = values
    modules[size - 8, 8] = True
