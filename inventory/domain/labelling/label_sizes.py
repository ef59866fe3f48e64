"""Sheets and rolls of labels: those known to everybody, and the shop's own, measured once and checked."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, invalid_field
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import (
    check_field_names,
    clean_text,
    get_row,
    update_versioned,
    validated_number,
)
from inventory.store.connection import transaction
from inventory.store.tables import LabelSize
from labels.content.label_content import blank_label
from labels.errors import InvalidMedia, LabelTooSmall
from labels.layout.label_layout import lay_out
from labels.layout.media import MAX_COLUMNS, MAX_ROWS, MAX_SIDE_MM, STANDARD_MEDIA, LabelMedia, check_dpi, find_media
from shared.codes import generate_code

DEFAULT_MEDIA, DEFAULT_DPI = "a4-3x8", 300
MAX_GAP_MM = 100.0
_OWN_KEY = re.compile(r"own-([0-9]{1,9})", re.ASCII)
_DEFAULTS: dict[str, Any] = {
    "name": "", "page_width": None, "page_height": None, "columns": 1, "rows": 1, "label_width": None,
    "label_height": None, "left": None, "top": None, "gap_x": 0.0, "gap_y": 0.0, "margin": None, "dpi": DEFAULT_DPI,
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
    def media(self) -> LabelMedia:
        """The sheet or roll as the drawing knows it."""
        return _media({name: getattr(self, name) for name in _DEFAULTS})


@dataclass(frozen=True)
class ResolvedSize:
    """A sheet or roll to print on. ``dpi`` is what its printer prints (None: not kept with it)."""

    key: str
    media: LabelMedia
    dpi: int | None = None

    @property
    def own_id(self) -> int | None:
        """The id of a size of the shop's own."""
        own = _OWN_KEY.fullmatch(self.key)
        return int(own[1]) if own else None


def add_label_size(address: str, **given: Any) -> LabelSizeRecord:
    """Keep a sheet or roll of the shop's own, in mm; labels must carry a symbol that begins with *address*.

    *given*: name, label_width, label_height; page_width and page_height (left out: a roll of single labels),
    columns, rows, gap_x, gap_y; left and top to the first label (left out: the labels stand in the middle);
    margin kept free on each label; dpi of the printer. Raises Invalid for labels that lie off the page and for
    those too small for the smallest symbol, Conflict for a name that is taken.
    """
    with transaction():
        kept = _validated_fields({**_DEFAULTS, **given}, address)
        try:
            made = LabelSize.create(**kept, created=clock.now())
        except IntegrityError:
            raise _name_taken(kept["name"]) from None
    return from_row(LabelSizeRecord, made)


def edit_label_size(size_id: int, address: str, version: int | None = None, **changes: Any) -> LabelSizeRecord:
    """Change a size of the shop's own; ``active=False`` takes it off the lists. Raises as add_size does."""
    with transaction():
        found = get_row(LabelSize, size_id, "label size")
        kept = _validated_fields({**{name: getattr(found, name) for name in _DEFAULTS}, **changes}, address)
        try:
            update_versioned(found, "label size", version, **kept)
        except IntegrityError:
            raise _name_taken(kept["name"]) from None
        return get_label_size(size_id)


def get_label_size(size_id: int) -> LabelSizeRecord:
    """Return one size of the shop's own."""
    return from_row(LabelSizeRecord, get_row(LabelSize, size_id, "label size"))


def list_label_sizes(*, active: bool | None = True, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return the shop's own sizes by name; *active* None: those no longer used too."""
    query = LabelSize.select()
    if active is not None:
        query = query.where(LabelSize.active == active)
    return paginate(query, LabelSize.name, after, limit, lambda one: from_row(LabelSizeRecord, one))


def resolve_size(key: str) -> ResolvedSize:
    """Return the size meant by a key: one of MEDIA, "own-3", or a roll written as "62x29" (mm).

    Raises Invalid, which lists the sizes to choose from.
    """
    own = _OWN_KEY.fullmatch(key.strip())
    found = LabelSize.get_or_none(LabelSize.id == int(own[1])) if own and int(own[1]) < 2**31 else None
    if found is not None:
        kept = from_row(LabelSizeRecord, found)
        return ResolvedSize(kept.key, kept.media, kept.dpi)
    try:
        media = find_media(key)
    except InvalidMedia as bad:
        raise Invalid(str(bad), reason="label", errors={"media": [str(bad)]}) from None
    return ResolvedSize(key if key in STANDARD_MEDIA else f"{media.label_width:g}x{media.label_height:g}", media)


def size_choices() -> list[tuple[str, str]]:
    """Return every size to choose from as key and name, the shop's own first."""
    own = LabelSize.select().where(LabelSize.active).order_by(LabelSize.name)
    return [(f"own-{one.id}", one.name) for one in own] + [(key, one.name) for key, one in STANDARD_MEDIA.items()]


# ---- checks ----------------------------------------------------------------------------------------------


def _validated_fields(given: dict[str, Any], address: str) -> dict[str, Any]:
    check_field_names(given, _DEFAULTS, "A label size has no {}: leave it out.")
    kept = {
        "name": clean_text(given["name"], "name", 80, required=True),
        "columns": _validated_int(given["columns"], "columns", 1, MAX_COLUMNS),
        "rows": _validated_int(given["rows"], "rows", 1, MAX_ROWS),
        "label_width": _validated_mm(given["label_width"], "label_width", 1, MAX_SIDE_MM),
        "label_height": _validated_mm(given["label_height"], "label_height", 1, MAX_SIDE_MM),
        "gap_x": _validated_mm(given["gap_x"], "gap_x", 0, MAX_GAP_MM),
        "gap_y": _validated_mm(given["gap_y"], "gap_y", 0, MAX_GAP_MM),
        "dpi": _validated_dpi(given["dpi"]),
        "active": bool(given["active"]),
    }
    _check_direction(kept, given, ("page_width", "label_width", "columns", "gap_x", "left"), "across")
    _check_direction(kept, given, ("page_height", "label_height", "rows", "gap_y", "top"), "down")
    kept["margin"] = _validated_margin(kept, given["margin"])
    _check_symbol_fits(kept, address)
    return kept


def _check_direction(
    kept: dict[str, Any], given: dict[str, Any], names: tuple[str, str, str, str, str], way: str
) -> None:
    """Check one direction: the labels with their gaps must lie on the page; left out, they stand in the middle."""
    page, label, count, gap, first = names
    taken = kept[count] * kept[label] + (kept[count] - 1) * kept[gap]
    kept[page] = round(taken, 2) if given[page] is None else _validated_mm(given[page], page, 1, MAX_SIDE_MM)
    spare = kept[page] - taken
    kept[first] = (
        max(0.0, round(spare / 2, 2)) if given[first] is None else _validated_mm(given[first], first, 0, MAX_SIDE_MM)
    )
    if kept[first] + taken > kept[page] + 0.01:
        raise invalid_field(
            count,
            f"The labels lie off the page: {kept[first]:g} mm to the first and {taken:g} mm for {kept[count]} {way} "
            f"are more than the page's {kept[page]:g} mm. Measure again.",
        )


def _validated_margin(kept: dict[str, Any], margin: Any) -> float:
    most = math.floor(min(kept["label_width"], kept["label_height"]) * 25) / 100
    usual = 1.0 if kept["columns"] * kept["rows"] == 1 else 1.5
    return min(usual, most) if margin is None else _validated_mm(margin, "margin", 0, most)


def _check_symbol_fits(kept: dict[str, Any], address: str) -> None:
    """Lay out the barest label there is, so that no size is kept that nothing can be printed on."""
    try:
        lay_out(blank_label(generate_code("bin"), address), _media(kept), kept["dpi"])
    except LabelTooSmall as small:
        why = str(small)
        raise invalid_field("label_width", f"Too small for a label that scans: {why[0].lower()}{why[1:]}") from None
    except InvalidMedia as bad:
        raise invalid_field("label_width", str(bad)) from None


def _media(kept: dict[str, Any]) -> LabelMedia:
    wide, tall = kept["label_width"], kept["label_height"]
    return LabelMedia(
        kept["name"], wide, tall, kept["page_width"], kept["page_height"], kept["columns"], kept["rows"],
        kept["left"], kept["top"], wide + kept["gap_x"], tall + kept["gap_y"], kept["margin"],
    )  # fmt: skip


def _validated_mm(value: Any, name: str, least: float, most: float) -> float:
    sentence = f"The {_FIELD_LABELS[name]} is {least:g} to {most:g} mm: measure it, and type millimetres."
    return round(float(validated_number(value, name, least, most, sentence, whole=False)), 2)


def _validated_int(value: Any, name: str, least: int, most: int) -> int:
    sentence = f"The number of {name} is a whole number from {least} to {most}."
    return int(validated_number(value, name, least, most, sentence))


def _validated_dpi(value: Any) -> int:
    try:
        return check_dpi(_validated_int(value, "dots an inch", 1, 10_000))
    except (InvalidMedia, Invalid):
        raise invalid_field(
            "dpi", "The printer's dots an inch are 203, 300, 600 or another from 150 to 1200."
        ) from None


_FIELD_LABELS = {
    "page_width": "width of the sheet", "page_height": "height of the sheet", "label_width": "width of a label",
    "label_height": "height of a label", "left": "distance from the left edge", "top": "distance from the top edge",
    "gap_x": "gap between columns", "gap_y": "gap between rows", "margin": "edge kept free on a label",
}  # fmt: skip


def _name_taken(name: str) -> Conflict:
    return Conflict(f"There is a label size {name} already: open it, or choose another name.", reason="taken")
