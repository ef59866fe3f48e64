"""Month totals: how many pieces of each part were used in each month, and reading them from a file."""

from __future__ import annotations

import csv
import zlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from inventory.reckoning.common.time_units import DAYS_PER_MONTH
from inventory.reckoning.reorder.demand import EventHistory, IntArray

MAX_CELLS = 20_000_000
"""A table of more numbers than this is refused rather than run out of memory on."""

MAX_PIECES_PER_MONTH = 100_000
"""A month total above this is taken for a slip."""


class MonthTableError(ValueError):
    """A file of month totals cannot be read; the message says which line and what to do."""


@dataclass(frozen=True)
class MonthTable:
    """Pieces used: one row a part, one column a month, oldest first.

    starts: the column where each part's history begins (0 when it is as long as the table).
    """

    names: tuple[str, ...]
    months: tuple[str, ...]
    pieces: IntArray
    starts: IntArray


def read_month_table(lines: Iterable[str]) -> MonthTable:
    """Read month totals from CSV lines: a heading (part, then one column a month), then one line a part.

    Empty cells before a part's first number mean that it was not kept yet. Raises MonthTableError, with the
    line, for anything else that is not a whole number of pieces.
    """
    reader = csv.reader(lines, strict=True)
    try:
        heading = next(reader, [])
        if len(heading) < 2:
            raise MonthTableError("The first line must be a heading: the word part, then one column a month.")
        rows = [_parse_row(cells, len(heading), reader.line_num) for cells in reader if cells]
    except (csv.Error, UnicodeDecodeError, EOFError, OSError, zlib.error) as error:
        where = f"after line {reader.line_num}"
        raise MonthTableError(f"The file cannot be read {where} ({error}): save it as CSV again.") from error
    if not rows:
        raise MonthTableError("The file has a heading but no parts: add one line a part.")
    names, starts, values = zip(*rows, strict=True)
    _require_distinct(names)
    return MonthTable(names, tuple(heading[1:]), np.array(values, np.int64), np.array(starts, np.int64))


def month_table_from_events(events: EventHistory, names: Iterable[str] = ()) -> MonthTable:
    """Turn a shop's dated jobs into month totals, counted back from today in months of 30.4375 days.

    Only whole months since a part was catalogued count. First jobs and one-off jobs are left out.
    """
    counted = ~events.first_job & ~events.one_off
    back = np.floor(events.age_days / DAYS_PER_MONTH).astype(np.int64)
    length = np.floor(events.history_days / DAYS_PER_MONTH + 1e-9).astype(np.int64)
    inside = counted & (back < length[events.part])
    width = int(length.max(initial=0))
    pieces = np.zeros((len(length), width), np.int64)
    np.add.at(pieces, (events.part[inside], width - 1 - back[inside]), events.pieces[inside])
    months = tuple(str(column - width) for column in range(width))
    return MonthTable(tuple(names), months, pieces, width - length)


def _require_distinct(names: Sequence[str]) -> None:
    repeated = next((name for name, lines in Counter(name.strip() for name in names).items() if lines > 1), None)
    if repeated is not None:
        raise MonthTableError(f"The part {repeated[:40]!r} has more than one line: add them up into one.")


def _parse_row(cells: list[str], width: int, line: int) -> tuple[str, int, list[int]]:
    """Read one part: its name, the column where its history starts, and its totals (0 before that)."""
    if len(cells) != width:
        raise MonthTableError(
            f"Line {line} has {len(cells)} columns where the heading has {width}: give every part one number a month."
        )
    if line * width > MAX_CELLS:
        raise MonthTableError(f"The table has more than {MAX_CELLS} numbers: split it.")
    if not cells[0].strip():
        raise MonthTableError(f"Line {line} names no part: write its name in the first column, or take the line out.")
    months = cells[1:]
    start = next((i for i, cell in enumerate(months) if cell.strip()), len(months))
    return cells[0], start, [0] * start + [_parse_pieces(cell, line) for cell in months[start:]]


def _parse_pieces(cell: str, line: int) -> int:
    """Read one month total; "3" and "3.0" are three pieces."""
    text = cell.strip()
    digits = text[:-2] if text.endswith(".0") else text
    if not (digits.isascii() and digits.isdigit()) or len(digits) > 7 or int(digits) > MAX_PIECES_PER_MONTH:
        raise MonthTableError(
            f"Line {line} has {text[:20]!r} where a whole number of pieces was expected, "
            f"0 to {MAX_PIECES_PER_MONTH}: correct it."
        )
    return int(digits)
