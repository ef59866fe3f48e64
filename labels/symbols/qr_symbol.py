"""QR symbols and their size on paper.

The shortest side for a text at a wanted error level, in whole printer dots a module, quiet zone included.
The code words come from the library `qrcode`; the mask is chosen here because that takes most of its time.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import qrcode
from qrcode import util

from labels.errors import LabelError, LabelTooSmall
from labels.symbols.qr_masks import Modules, apply_best_mask
from labels.units import MM_PER_INCH, dots_within

QUIET_ZONE = 4
"""Width of the light border in modules (ISO/IEC 18004, 6.3.8)."""

MIN_MODULE_MM = 0.25
"""Smallest module drawn: in synthetic phone pictures 0.25 mm always read at 13 px/mm, less did not."""

GOOD_MODULE_MM = 0.50
"""Smallest module that always read even in the coarser picture of a video (6.4 px/mm)."""

ERROR_LEVELS = "LMQH"
_ERROR_LEVEL_BITS = {"L": 1, "M": 0, "Q": 3, "H": 2}
"""Error level indicators (ISO/IEC 18004, table 12)."""

_READING_DISTANCE_WIDTHS = 10
"""A symbol reads from ten times its width (common practice, no published source)."""


@dataclass(frozen=True, eq=False, slots=True)
class QrSymbol:
    """A QR symbol without quiet zone: `modules` is square, True is dark."""

    text: str
    version: int
    level: str
    mask: int
    modules: Modules

    @property
    def side(self) -> int:
        """Modules along one side, quiet zone included."""
        return len(self.modules) + 2 * QUIET_ZONE

    def rectangles(self) -> Iterator[tuple[int, int, int, int]]:
        """Yield rectangles (x, y, width, height) in modules that together cover the dark ones, each once."""
        open_runs: dict[tuple[int, int], int] = {}
        for row, runs in enumerate([*_dark_runs(self.modules), []]):
            for left, right in [run for run in open_runs if run not in runs]:
                top = open_runs.pop((left, right))
                yield left, top, right - left, row - top
            for run in runs:
                open_runs.setdefault(run, row)


@dataclass(frozen=True, slots=True)
class SizedSymbol:
    """A symbol with its size on paper: `dots` printer dots a module at `dpi` dots an inch."""

    symbol: QrSymbol
    dots: int
    dpi: int

    @property
    def side_dots(self) -> int:
        """Printer dots along one side, quiet zone included."""
        return self.symbol.side * self.dots

    @property
    def side_mm(self) -> float:
        """Millimetres along one side, quiet zone included."""
        return self.side_dots * MM_PER_INCH / self.dpi

    @property
    def module_mm(self) -> float:
        """Millimetres of one module."""
        return self.dots * MM_PER_INCH / self.dpi

    @property
    def distance_mm(self) -> float:
        """Reading distance to expect: ten times the dark width (common practice)."""
        return _READING_DISTANCE_WIDTHS * len(self.symbol.modules) * self.module_mm


def encode_qr(text: str, level: str = "Q") -> QrSymbol:
    """Encode a text in the smallest version at error level L, M, Q or H, or a higher level where that is
    free.

    Digits alone take numeric mode, upper case and `$%*+-./:` and space alphanumeric mode, anything else bytes
    (UTF-8). Raises LabelError for an empty text or one that no version holds.
    """
    if level not in ERROR_LEVELS:
        raise LabelError(f"There is no error level {level!r}: choose one of L, M, Q and H.")
    if not text:
        raise LabelError("A symbol needs a text to carry.")
    return _encode_cached(text, level)


@lru_cache(maxsize=2048)
def _encode_cached(text: str, level: str) -> QrSymbol:
    """Encode once what is asked for again: a sheet is previewed, proofread and printed."""
    version, reached = _smallest_version(text, level)
    writer = qrcode.QRCode(version, error_correction=_ERROR_LEVEL_BITS[reached], border=0, mask_pattern=0)
    writer.add_data(text, optimize=0)
    writer.make(fit=False)
    modules, mask = apply_best_mask(np.array(writer.get_matrix(), dtype=np.bool_), 0, _ERROR_LEVEL_BITS[reached])
    modules.flags.writeable = False
    return QrSymbol(text, version, reached, mask, modules)


def size_symbol(
    symbol: QrSymbol, *, dpi: int, box_mm: float | None = None, distance_mm: float | None = None
) -> SizedSymbol:
    """Give a symbol whole dots a module: the most that a square of `box_mm` holds, else what `distance_mm`
    needs.

    With neither, GOOD_MODULE_MM. With both, the box decides, and must do for the distance. Raises
    LabelTooSmall, which says how many millimetres are needed, quiet zone included.
    """
    module_mm = GOOD_MODULE_MM if box_mm is None else MIN_MODULE_MM
    if distance_mm is not None:
        module_mm = max(MIN_MODULE_MM, distance_mm / _READING_DISTANCE_WIDTHS / len(symbol.modules))
    least = SizedSymbol(symbol, _ceil_dots(module_mm * dpi / MM_PER_INCH), dpi)
    if box_mm is None:
        return least
    most = dots_within(box_mm / symbol.side, dpi)
    if most < least.dots:
        need = math.ceil(least.side_mm * 10) / 10
        raise LabelTooSmall(
            f"A symbol of {symbol.side - 2 * QUIET_ZONE} modules does not fit into {box_mm:.1f} mm "
            f"at {dpi} dots an inch: "
            f"it needs at least {need:.1f} mm, light border included.",
            (need, need),
        )
    return SizedSymbol(symbol, most, dpi)


def _dark_runs(modules: Modules) -> list[list[tuple[int, int]]]:
    """List for each row where its dark runs begin and end."""
    edges = np.diff(np.pad(modules.astype(np.int8), ((0, 0), (1, 1))))
    runs: list[list[tuple[int, int]]] = [[] for _ in modules]
    rows, begins = np.nonzero(edges == 1)
    for row, begin, end in zip(rows.tolist(), begins.tolist(), np.nonzero(edges == -1)[1].tolist(), strict=True):
        runs[row].append((begin, end))
    return runs


def _smallest_version(text: str, level: str) -> tuple[int, str]:
    """Find the smallest version at the wanted level and the highest level that version still holds."""
    payload = text.encode()
    mode = util.optimal_mode(payload)
    bits = 4 + _payload_bits(len(payload), mode)
    for version in range(1, 41):
        needed = bits + util.length_in_bits(mode, version)
        holding = [
            candidate
            for candidate in ERROR_LEVELS
            if util.BIT_LIMIT_TABLE[_ERROR_LEVEL_BITS[candidate]][version] >= needed
        ]
        if level in holding:
            return version, holding[-1]
    raise LabelError(f"{len(payload)} bytes are more than a QR symbol holds at level {level}: shorten the text.")


def _payload_bits(count: int, mode: int) -> int:
    """Count the bits of that many characters in a mode (ISO/IEC 18004, 7.4.3 to 7.4.5)."""
    if mode == util.MODE_NUMBER:
        return 10 * (count // 3) + (0, 4, 7)[count % 3]
    if mode == util.MODE_ALPHA_NUM:
        return 11 * (count // 2) + 6 * (count % 2)
    return 8 * count


def _ceil_dots(dots: float) -> int:
    return max(1, math.ceil(dots - 0.01))  # 203 dpi makes 0.25 mm 1.998 dots: that is 2
