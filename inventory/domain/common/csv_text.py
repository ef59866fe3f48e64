"""Writes tables as CSV (RFC 4180) that a spreadsheet opens without running anything that was typed into a name."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_csv(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    """Return a table as CSV text. A text cell that a spreadsheet would take for a formula gets a leading quote."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    for line in lines:
        writer.writerow([_harmless(cell) for cell in line])
    return out.getvalue()


def _harmless(cell: object) -> object:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
