"""What a label says: bins, lots, pieces, jobs, shelf ends, and labels that wait for something to label.

A face is plain data. How it is arranged on paper is the task of `layout`.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from labels.graphics.pictures import PartPicture
from shared.codes import label_url, parse_code
from shared.hazards import sort_hazards

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class LabelContent:
    """All that a label says, the most important first.

    `tab` is the kind of thing in a word, `head` what the thing itself is called, `title` the part in words,
    `marks` what tells it from similar parts, `details` small lines of which the last may be left out, `hazards`
    keys of `shared.hazards`. `head_mm` is the size the head takes where there is room, `short_head` what it
    says on the smallest labels; `title_mm` is the size the title takes where it is to be read from afar (0: the
    usual one).
    """

    code: str
    link: str
    tab: str
    head: str = ""
    title: str = ""
    marks: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    picture: PartPicture | None = None
    head_mm: float = 4.6
    short_head: str = ""
    title_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class PartContent:
    """A part as its label shows it; make it from a part's attributes with `build_part_content`."""

    name: str
    marks: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    picture: PartPicture | None = None


def bin_label(code: str, address: str, name: str, part: PartContent | None = None, *, note: str = "") -> LabelContent:
    """Say what a bin is called and what is in it. Raises BadCode for a code that is none."""
    if part is None:
        return _plain_label(code, address, "BIN", head=name, details=[note], head_mm=9.0)
    return _part_label(code, address, "BIN", part, head=name, details=[note], head_mm=6.0)


def lot_label(
    code: str,
    address: str,
    part: PartContent,
    *,
    received: date,
    origin: str,
    quantity: str = "",
    supplier_lot: str = "",
    date_code: str = "",
    best_before: date | None = None,
) -> LabelContent:
    """Say what arrived together, when, and from where. Raises BadCode for a code that is none."""
    numbers = [f"Lot {supplier_lot}" if supplier_lot else "", f"Date code {date_code}" if date_code else ""]
    details = [
        f"Best before {day_text(best_before)}" if best_before else "",
        " · ".join(text for text in (origin, quantity) if text),
        " · ".join(text for text in numbers if text),
    ]
    return _part_label(code, address, "LOT", part, head=day_text(received), details=details, head_mm=4.0)


def piece_label(
    code: str,
    address: str,
    part: PartContent,
    *,
    serial: str = "",
    standing: str = "unproved",
    proved_by: str = "",
    proved_on: date | None = None,
    proved_until: date | None = None,
) -> LabelContent:
    """Say which piece this is and what it was proved by, when and until when, as on the day of printing.

    Raises BadCode for a code that is none.
    """
    proof = ""
    if proved_on is not None:
        proof = f"{proved_by}, {day_text(proved_on)}" if proved_by else f"on {day_text(proved_on)}"
    until = f"until {day_text(proved_until)}" if proved_on and proved_until else ""
    details = [f"Proof: {proof}" if proof else "", f"Serial {serial}" if serial else ""]
    head = " ".join(text for text in (standing.upper(), until) if text)
    face = _part_label(code, address, "PIECE", part, head=head, details=details, head_mm=3.8)
    return replace(face, short_head=standing.upper())


def job_label(
    code: str,
    address: str,
    name: str,
    unit: str,
    *,
    fault: str = "",
    received: date | None = None,
    promised: date | None = None,
) -> LabelContent:
    """Say which repair the unit on the shelf belongs to. Raises BadCode for a code that is none."""
    details = [
        fault,
        f"Promised for {day_text(promised)}" if promised else "",
        f"In since {day_text(received)}" if received else "",
    ]
    return _plain_label(code, address, "JOB", head=name, title=unit, details=details, head_mm=5.5)


def shelf_label(
    code: str, address: str, name: str, *, first: str = "", last: str = "", note: str = ""
) -> LabelContent:
    """Say what a shelf is called, big, and which bins stand on it. Raises BadCode for a code that is none."""
    span = f"{first} – {last}" if first and last else first or last
    return _plain_label(code, address, "SHELF", head=name, title=span, details=[note], head_mm=12.0)


def shelf_end_label(code: str, address: str, part: PartContent, *, number: str, place: str = "") -> LabelContent:
    """Say at a glance which part stands here, for the end of a shelf or the front of a drawer.

    `number` is the shop's own for the part, `place` what the bin is called. Raises BadCode for a code that is none.
    """
    face = _part_label(code, address, "SHELF", part, head=number, details=[place], head_mm=4.0)
    return replace(face, title_mm=6.5)


def blank_label(code: str, address: str) -> LabelContent:
    """Make a label before there is a thing: whoever scans it first says what it is for.

    Raises BadCode for a code that is none.
    """
    kind = parse_code(code).kind
    details = ["Stick me on, scan me, say what I am for."]
    return _plain_label(code, address, kind.upper(), head="NEW", details=details, head_mm=6.0)


def day_text(when: date) -> str:
    """Write a date so that nobody takes the month for the day: 3 Nov 2026."""
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def _part_label(
    code: str, address: str, tab: str, part: PartContent, *, head: str, details: Iterable[str], head_mm: float
) -> LabelContent:
    lines = _non_empty(details)
    hazards = sort_hazards(part.hazards)
    to_type, symbol = _code_and_url(code, address)
    return LabelContent(
        to_type, symbol, tab, head, part.name, tuple(part.marks), lines, hazards, part.picture, head_mm
    )


def _plain_label(
    code: str, address: str, tab: str, *, head: str, title: str = "", details: Iterable[str], head_mm: float
) -> LabelContent:
    to_type, symbol = _code_and_url(code, address)
    return LabelContent(to_type, symbol, tab, head, title, details=_non_empty(details), head_mm=head_mm)


def _code_and_url(code: str, address: str) -> tuple[str, str]:
    text = parse_code(code).text
    return text, label_url(address, text)


def _non_empty(details: Iterable[str]) -> tuple[str, ...]:
    return tuple(detail for detail in details if detail)
