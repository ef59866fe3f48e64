"""Reads a stock list from the bytes of a file or from pasted text: what is a row, what is a cell. Nothing else.

The text is CSV (RFC 4180), with commas, semicolons or tabs, as spreadsheets save it.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inventory.domain.common.errors import Invalid
from inventory.domain.stocktake.stock_list_columns import column_of, plain

MOST_BYTES = 2_000_000
MOST_ROWS = 5_000
MOST_COLUMNS = 100
_MARKS = (",", ";", "\t")
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
_QUOTED = re.compile(r"'+[=+\-@]")  # a text that begins so was given a quote, so that no spreadsheet runs it
_BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))


@dataclass(frozen=True)
class Row:
    """One row: its number as the spreadsheet shows it (the headings are row 1), and its cells that hold anything."""

    number: int
    cells: Mapping[str, str]  # by the key of the column
    beyond: bool = False  # there is something to the right of the last heading


@dataclass(frozen=True)
class Table:
    """A list as written: the columns that are known (key, heading), the headings that are not, and the rows."""

    headings: Mapping[str, str]
    unknown: tuple[str, ...]
    rows: tuple[Row, ...]


def text_of(sent: bytes) -> str:
    """Return the text of a file: UTF-8, UTF-16 with its mark, else Windows-1252. Raises Invalid for what is none."""
    if len(sent) > MOST_BYTES:
        raise refused(f"The file has {len(sent) / 1e6:.1f} MB, and {MOST_BYTES // 1_000_000} MB are taken: split it.")
    for mark, name in _BOMS:
        if sent.startswith(mark):
            return _decoded(sent[len(mark) :], name)
    if sent.startswith(b"PK\x03\x04"):
        raise refused("That is a whole workbook: save the sheet as CSV in your spreadsheet, and choose that file.")
    try:
        return sent.decode("utf-8")
    except UnicodeDecodeError:
        return _decoded(sent, "cp1252")


def _decoded(sent: bytes, name: str) -> str:
    try:
        return sent.decode(name)
    except UnicodeDecodeError:
        raise _no_text() from None


def _no_text() -> Invalid:
    return refused("That is no text: save the sheet as CSV in your spreadsheet, and choose that file.")


def refused(sentence: str, reason: str = "bad_list") -> Invalid:
    """Return the refusal of a whole list."""
    return Invalid(sentence, reason=reason, errors={"text": [sentence]})


def plain_text(text: str) -> str:
    """Return the text with single line ends and without a mark at its front. Raises Invalid for what is no list."""
    kept = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if len(kept) > MOST_BYTES:
        raise refused(f"The text has over {MOST_BYTES:,} characters: split the list.")
    if _NO_TEXT.search(kept):
        raise _no_text()
    if not kept.strip():
        raise refused("There is nothing in the list: choose a file, or paste the cells with their headings.")
    return kept


def table_of(text: str, currency: str = "") -> Table:
    """Read a list, its prices in *currency*.

    Raises Invalid for one without headings, with too many rows or columns, or with a quote left open.
    """
    kept = plain_text(text)
    lines = _lines(kept, _mark_of(kept))
    first, head = next(lines, (1, []))
    headings, columns, unknown = _columns(head, currency)
    rows: list[Row] = []
    used: set[int] = set()
    for number, cells in lines:
        if any(cells):
            if len(rows) == MOST_ROWS:
                raise refused(f"The list has more than {MOST_ROWS:,} rows: split it.")
            used.update(at for at, cell in enumerate(cells[: len(head)]) if cell)
            said = {key: cells[at] for at, key in columns.items() if at < len(cells) and cells[at]}
            rows.append(Row(number, said, any(cells[len(head) :])))
    if not rows:
        raise refused(f"There is nothing below the headings in row {first}.")
    left = [one or f"column {at + 1}, without a heading" for at, one in unknown.items() if one or at in used]
    return Table(headings, tuple(dict.fromkeys(left)), tuple(rows))


def _lines(text: str, mark: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row from the first that holds anything, with its number; raise Invalid for a quote left open."""
    number, begun = 0, False
    try:
        for line in csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True):
            number += 1
            cells = [_cell(one) for one in line]
            begun = begun or any(cells)
            if begun:
                yield number, cells
    except csv.Error:
        raise refused(
            f"Row {number + 1} cannot be read: a quote is opened and not closed, or more follows a closed one. "
            "Within quotes, a quote is written twice."
        ) from None


def _cell(text: str) -> str:
    kept = text.strip()
    return kept[1:] if _QUOTED.match(kept) else kept


def _mark_of(text: str) -> str:
    """Return what stands between cells: the sign that gives the first row most headings that are known."""
    best, known = ",", (0, 0)
    for mark in _MARKS:
        try:
            _, head = next(_lines(text, mark), (0, []))
        except Invalid:
            continue
        found = (len({column_of(one) for one in head} - {None}), len(head))
        if found > known:
            best, known = mark, found
    return best


def _columns(head: list[str], currency: str) -> tuple[dict[str, str], dict[int, str], dict[int, str]]:
    """Return the known columns by key, their places, and the places of those that are not known."""
    if len(head) > MOST_COLUMNS:
        raise refused(f"The list has {len(head)} columns, and at most {MOST_COLUMNS} are read: leave some out.")
    keys = [column_of(one, currency) for one in head]
    known = {at: key for at, key in enumerate(keys) if key is not None}
    _enough(head, set(known.values()))
    for at, key in known.items():
        first = keys.index(key)
        if first != at:
            raise refused(f"The columns {head[first]!r} and {head[at]!r} mean the same: leave one out.")
    return (
        {key: head[at] for at, key in known.items()},
        known,
        {at: one for at, one in enumerate(head) if not keys[at]},
    )


def _enough(head: list[str], known: set[str]) -> None:
    shown = ", ".join(one for one in head if one)[:80]
    if not known:
        raise refused(
            f"The first row must name the columns, such as number, name, kind, bin, quantity; it says: {shown!r}. "
            "Put a row of headings there, and delete what is above it.",
            "no_headings",
        )
    if len([one for one in head if one]) == 1:
        raise refused(
            f"There is one column only, {shown!r}: a part needs its number and its name at the least. If there are "
            "more in your spreadsheet, save it with commas, semicolons or tabs between the cells.",
            "one_column",
        )
    if not known & {"number", "maker_number", "bin"}:
        raise refused("No column says which part a row is about: give one the heading number.", "no_headings")


def same_heading(one: str, other: str) -> bool:
    """Tell whether two headings are the same but for capitals and signs."""
    return plain(one) == plain(other)
