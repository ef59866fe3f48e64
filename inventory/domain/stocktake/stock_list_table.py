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
from inventory.domain.stocktake.stock_list_columns import column_key, normalize_heading

MAX_BYTES = 2_000_000
MAX_ROWS = 5_000
MAX_COLUMNS = 100
_DELIMITERS = (",", ";", "\t")
_CONTROL_CHARACTERS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
_QUOTED_FORMULA = re.compile(r"'+[=+\-@]")  # a text that begins so was given a quote, so that no spreadsheet runs it
_BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))


@dataclass(frozen=True)
class TableRow:
    """One row: its number as the spreadsheet shows it (the headings are row 1), and its cells that hold anything."""

    number: int
    cells: Mapping[str, str]  # by the key of the column
    beyond: bool = False  # there is something to the right of the last heading


@dataclass(frozen=True)
class ParsedTable:
    """A list as written: the columns that are known (key, heading), the headings that are not, and the rows."""

    headings: Mapping[str, str]
    unknown: tuple[str, ...]
    rows: tuple[TableRow, ...]


def decode_file(sent: bytes) -> str:
    """Return the text of a file: UTF-8, UTF-16 with its mark, else Windows-1252. Raises Invalid for what is none."""
    if len(sent) > MAX_BYTES:
        raise invalid_list(
            f"The file has {len(sent) / 1e6:.1f} MB, and {MAX_BYTES // 1_000_000} MB are taken: split it."
        )
    for mark, name in _BOMS:
        if sent.startswith(mark):
            return _decode(sent[len(mark) :], name)
    if sent.startswith(b"PK\x03\x04"):
        raise invalid_list(
            "That is a whole workbook: save the sheet as CSV in your spreadsheet, and choose that file."
        )
    try:
        return sent.decode("utf-8")
    except UnicodeDecodeError:
        return _decode(sent, "cp1252")


def _decode(sent: bytes, name: str) -> str:
    try:
        return sent.decode(name)
    except UnicodeDecodeError:
        raise _not_text_error() from None


def _not_text_error() -> Invalid:
    return invalid_list("That is no text: save the sheet as CSV in your spreadsheet, and choose that file.")


def invalid_list(sentence: str, reason: str = "bad_list") -> Invalid:
    """Return the refusal of a whole list."""
    return Invalid(sentence, reason=reason, errors={"text": [sentence]})


def normalize_list_text(text: str) -> str:
    """Return the text with single line ends and without a mark at its front. Raises Invalid for what is no list."""
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if len(plain) > MAX_BYTES:
        raise invalid_list(f"The text has over {MAX_BYTES:,} characters: split the list.")
    if _CONTROL_CHARACTERS.search(plain):
        raise _not_text_error()
    if not plain.strip():
        raise invalid_list("There is nothing in the list: choose a file, or paste the cells with their headings.")
    return plain


def parse_table(text: str, currency: str = "") -> ParsedTable:
    """Read a list, its prices in *currency*.

    Raises Invalid for one without headings, with too many rows or columns, or with a quote left open.
    """
    plain = normalize_list_text(text)
    lines = _read_rows(plain, _detect_delimiter(plain))
    first, head = next(lines, (1, []))
    headings, columns, unknown = _map_columns(head, currency)
    rows: list[TableRow] = []
    used: set[int] = set()
    for number, cells in lines:
        if any(cells):
            if len(rows) == MAX_ROWS:
                raise invalid_list(f"The list has more than {MAX_ROWS:,} rows: split it.")
            used.update(column for column, cell in enumerate(cells[: len(head)]) if cell)
            values = {key: cells[column] for column, key in columns.items() if column < len(cells) and cells[column]}
            rows.append(TableRow(number, values, any(cells[len(head) :])))
    if not rows:
        raise invalid_list(f"There is nothing below the headings in row {first}.")
    left = [
        heading or f"column {column + 1}, without a heading"
        for column, heading in unknown.items()
        if heading or column in used
    ]
    return ParsedTable(headings, tuple(dict.fromkeys(left)), tuple(rows))


def _read_rows(text: str, mark: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row from the first that holds anything, with its number; raise Invalid for a quote left open."""
    number, begun = 0, False
    try:
        for line in csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True):
            number += 1
            cells = [_unquote_cell(cell) for cell in line]
            begun = begun or any(cells)
            if begun:
                yield number, cells
    except csv.Error:
        raise invalid_list(
            f"Row {number + 1} cannot be read: a quote is opened and not closed, or more follows a closed one. "
            "Within quotes, a quote is written twice."
        ) from None


def _unquote_cell(text: str) -> str:
    plain = text.strip()
    return plain[1:] if _QUOTED_FORMULA.match(plain) else plain


def _detect_delimiter(text: str) -> str:
    """Return what stands between cells: the sign that gives the first row most headings that are known."""
    best, best_score = ",", (0, 0)
    for mark in _DELIMITERS:
        try:
            _, head = next(_read_rows(text, mark), (0, []))
        except Invalid:
            continue
        score = (len({column_key(heading) for heading in head} - {None}), len(head))
        if score > best_score:
            best, best_score = mark, score
    return best


def _map_columns(head: list[str], currency: str) -> tuple[dict[str, str], dict[int, str], dict[int, str]]:
    """Return the known columns by key, their places, and the places of those that are not known."""
    if len(head) > MAX_COLUMNS:
        raise invalid_list(f"The list has {len(head)} columns, and at most {MAX_COLUMNS} are read: leave some out.")
    keys = [column_key(heading, currency) for heading in head]
    known = {column: key for column, key in enumerate(keys) if key is not None}
    _check_headings(head, set(known.values()))
    for column, key in known.items():
        first = keys.index(key)
        if first != column:
            raise invalid_list(f"The columns {head[first]!r} and {head[column]!r} mean the same: leave one out.")
    return (
        {key: head[column] for column, key in known.items()},
        known,
        {column: heading for column, heading in enumerate(head) if not keys[column]},
    )


def _check_headings(head: list[str], known: set[str]) -> None:
    shown = ", ".join(heading for heading in head if heading)[:80]
    if not known:
        raise invalid_list(
            f"The first row must name the columns, such as number, name, kind, bin, quantity; it says: {shown!r}. "
            "Put a row of headings there, and delete what is above it.",
            "no_headings",
        )
    if len([heading for heading in head if heading]) == 1:
        raise invalid_list(
            f"There is one column only, {shown!r}: a part needs its number and its name at the least. If there are "
            "more in your spreadsheet, save it with commas, semicolons or tabs between the cells.",
            "one_column",
        )
    if not known & {"number", "maker_number", "bin"}:
        raise invalid_list("No column says which part a row is about: give one the heading number.", "no_headings")


def is_same_heading(heading: str, other: str) -> bool:
    """Tell whether two headings are the same but for capitals and signs."""
    return normalize_heading(heading) == normalize_heading(other)
