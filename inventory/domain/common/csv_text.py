"""Writes tables as CSV (RFC 4180), safe from formula injection in spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def as_csv(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    """Return a table as CSV text; a text cell that a spreadsheet would run as a formula gets a leading quote."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    for line in lines:
        writer.writerow([_escape_formula(cell) for cell in line])
    return out.getvalue()


def _escape_formula(cell: object) -> object:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS) else cell
