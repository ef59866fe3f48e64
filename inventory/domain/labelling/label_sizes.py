"""Sheets and rolls of labels: those known to everybody, and the shop's own, measured once and checked."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, bad_field
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page, read
from inventory.domain.common.validation import clean, edit, row
from inventory.store.connection import writing
from inventory.store.tables import LabelSize
from labels.content.label_content import blank_face
from labels.errors import BadMedia, DoesNotFit
from labels.layout.label_layout import lay_out
from labels.layout.media import MEDIA, MOST_COLUMNS, MOST_MM, MOST_ROWS, Media, check_dpi, find_media
from shared.codes import new_code

USUAL_MEDIA, USUAL_DPI = "a4-3x8", 300
MOST_GAP_MM = 100.0
_OWN = re.compile(r"own-([0-9]{1,9})", re.ASCII)
_FIELDS: dict[str, Any] = {
    "name": "", "page_width": None, "page_height": None, "columns": 1, "rows": 1, "label_width": None,
    "label_height": None, "left": None, "top": None, "gap_x": 0.0, "gap_y": 0.0, "margin": None, "dpi": USUAL_DPI,
    "active": True,
}  # fmt: skip


@dataclass(frozen=True)
class LabelSizeRecord:
    """A sheet or roll of the shop's own; lengths in mm. ``left`` and ``top`` lead to the first label."""

    id: int
    name: str
    page_width: float
    page_height: float
    columns: int
    rows: int
    label_width: float
    label_height: float
    left: float
    top: float
    gap_x: float
    gap_y: float
    margin: float
    dpi: int
    active: bool
    created: datetime
    version: int

    @property
    def key(self) -> str:
        """What it is chosen by wherever labels are drawn."""
        return f"own-{self.id}"

    @property
    def media(self) -> Media:
        """The sheet or roll as the drawing knows it."""
        return _media({name: getattr(self, name) for name in _FIELDS})


@dataclass(frozen=True)
class ChosenSize:
    """A sheet or roll to print on. ``dpi`` is what its printer prints (None: not kept with it)."""

    key: str
    media: Media
    dpi: int | None = None

    @property
    def own_id(self) -> int | None:
        """The id of a size of the shop's own."""
        own = _OWN.fullmatch(self.key)
        return int(own[1]) if own else None


def add_size(address: str, **given: Any) -> LabelSizeRecord:
    """Keep a sheet or roll of the shop's own, in mm; labels must carry a symbol that begins with *address*.

    *given*: name, label_width, label_height; page_width and page_height (left out: a roll of single labels),
    columns, rows, gap_x, gap_y; left and top to the first label (left out: the labels stand in the middle);
    margin kept free on each label; dpi of the printer. Raises Invalid for labels that lie off the page and for
    those too small for the smallest symbol, Conflict for a name that is taken.
    """
    with writing():
        kept = _checked({**_FIELDS, **given}, address)
        try:
            made = LabelSize.create(**kept, created=clock.now())
        except IntegrityError:
            raise _name_taken(kept["name"]) from None
    return read(LabelSizeRecord, made)


def edit_size(size_id: int, address: str, version: int | None = None, **changes: Any) -> LabelSizeRecord:
    """Change a size of the shop's own; ``active=False`` takes it off the lists. Raises as add_size does."""
    with writing():
        found = row(LabelSize, size_id, "label size")
        kept = _checked({**{name: getattr(found, name) for name in _FIELDS}, **changes}, address)
        try:
            edit(found, "label size", version, **kept)
        except IntegrityError:
            raise _name_taken(kept["name"]) from None
        return size(size_id)


def size(size_id: int) -> LabelSizeRecord:
    """Return one size of the shop's own."""
    return read(LabelSizeRecord, row(LabelSize, size_id, "label size"))


def sizes(*, active: bool | None = True, after: str | None = None, limit: int = 50) -> Page:
    """Return the shop's own sizes by name; *active* None: those no longer used too."""
    query = LabelSize.select()
    if active is not None:
        query = query.where(LabelSize.active == active)
    return page_of(query, LabelSize.name, after, limit, lambda one: read(LabelSizeRecord, one))


def chosen(key: str) -> ChosenSize:
    """Return the size meant by a key: one of MEDIA, "own-3", or a roll written as "62x29" (mm).

    Raises Invalid, which lists the sizes to choose from.
    """
    own = _OWN.fullmatch(key.strip())
    found = LabelSize.get_or_none(LabelSize.id == int(own[1])) if own and int(own[1]) < 2**31 else None
    if found is not None:
        kept = read(LabelSizeRecord, found)
        return ChosenSize(kept.key, kept.media, kept.dpi)
    try:
        media = find_media(key)
    except BadMedia as bad:
        raise Invalid(str(bad), reason="label", errors={"media": [str(bad)]}) from None
    return ChosenSize(key if key in MEDIA else f"{media.label_width:g}x{media.label_height:g}", media)


def to_choose_from() -> list[tuple[str, str]]:
    """Return every size to choose from as key and name, the shop's own first."""
    own = LabelSize.select().where(LabelSize.active).order_by(LabelSize.name)
    return [(f"own-{one.id}", one.name) for one in own] + [(key, one.name) for key, one in MEDIA.items()]


# ---- checks ----------------------------------------------------------------------------------------------


def _checked(given: dict[str, Any], address: str) -> dict[str, Any]:
    unknown = sorted(set(given) - set(_FIELDS))
    if unknown:
        raise Invalid(f"A label size has no {', '.join(unknown)}: leave it out.", errors={unknown[0]: ["unknown"]})
    kept = {
        "name": clean(given["name"], "name", 80, needed=True),
        "columns": _whole(given["columns"], "columns", 1, MOST_COLUMNS),
        "rows": _whole(given["rows"], "rows", 1, MOST_ROWS),
        "label_width": _mm(given["label_width"], "label_width", 1, MOST_MM),
        "label_height": _mm(given["label_height"], "label_height", 1, MOST_MM),
        "gap_x": _mm(given["gap_x"], "gap_x", 0, MOST_GAP_MM), "gap_y": _mm(given["gap_y"], "gap_y", 0, MOST_GAP_MM),
        "dpi": _dpi(given["dpi"]), "active": bool(given["active"]),
    }  # fmt: skip
    _along(kept, given, ("page_width", "label_width", "columns", "gap_x", "left"), "across")
    _along(kept, given, ("page_height", "label_height", "rows", "gap_y", "top"), "down")
    kept["margin"] = _margin(kept, given["margin"])
    _must_carry_a_symbol(kept, address)
    return kept


def _along(kept: dict[str, Any], given: dict[str, Any], names: tuple[str, str, str, str, str], way: str) -> None:
    """Check one direction: the labels with their gaps must lie on the page; left out, they stand in the middle."""
    page, label, count, gap, first = names
    taken = kept[count] * kept[label] + (kept[count] - 1) * kept[gap]
    kept[page] = round(taken, 2) if given[page] is None else _mm(given[page], page, 1, MOST_MM)
    spare = kept[page] - taken
    kept[first] = max(0.0, round(spare / 2, 2)) if given[first] is None else _mm(given[first], first, 0, MOST_MM)
    if kept[first] + taken > kept[page] + 0.01:
        raise bad_field(
            count,
            f"The labels lie off the page: {kept[first]:g} mm to the first and {taken:g} mm for {kept[count]} {way} "
            f"are more than the page's {kept[page]:g} mm. Measure again.",
        )


def _margin(kept: dict[str, Any], margin: Any) -> float:
    most = math.floor(min(kept["label_width"], kept["label_height"]) * 25) / 100
    usual = 1.0 if kept["columns"] * kept["rows"] == 1 else 1.5
    return min(usual, most) if margin is None else _mm(margin, "margin", 0, most)


def _must_carry_a_symbol(kept: dict[str, Any], address: str) -> None:
    """Lay out the barest label there is, so that no size is kept that nothing can be printed on."""
    try:
        lay_out(blank_face(new_code("bin"), address), _media(kept), kept["dpi"])
    except DoesNotFit as small:
        why = str(small)
        raise bad_field("label_width", f"Too small for a label that scans: {why[0].lower()}{why[1:]}") from None
    except BadMedia as bad:
        raise bad_field("label_width", str(bad)) from None


def _media(kept: dict[str, Any]) -> Media:
    wide, tall = kept["label_width"], kept["label_height"]
    return Media(
        kept["name"], wide, tall, kept["page_width"], kept["page_height"], kept["columns"], kept["rows"],
        kept["left"], kept["top"], wide + kept["gap_x"], tall + kept["gap_y"], kept["margin"],
    )  # fmt: skip


def _mm(value: Any, name: str, least: float, most: float) -> float:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not least <= value <= most:
        raise bad_field(name, f"The {_SAID[name]} is {least:g} to {most:g} mm: measure it, and type millimetres.")
    return round(float(value), 2)


def _whole(value: Any, name: str, least: int, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise bad_field(name, f"The number of {name} is a whole number from {least} to {most}.")
    return value


def _dpi(value: Any) -> int:
    try:
        return check_dpi(_whole(value, "dots an inch", 1, 10_000))
    except (BadMedia, Invalid):
        raise bad_field("dpi", "The printer's dots an inch are 203, 300, 600 or another from 150 to 1200.") from None


_SAID = {
    "page_width": "width of the sheet", "page_height": "height of the sheet", "label_width": "width of a label",
    "label_height": "height of a label", "left": "distance from the left edge", "top": "distance from the top edge",
    "gap_x": "gap between columns", "gap_y": "gap between rows", "margin": "edge kept free on a label",
}  # fmt: skip


def _name_taken(name: str) -> Conflict:
    return Conflict(f"There is a label size {name} already: open it, or choose another name.", reason="taken")
