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


def add_label_size(address: str, **fields: Any) -> LabelSizeRecord:
    """Keep a sheet or roll of the shop's own, in mm; labels must carry a symbol that begins with *address*.

    *given*: name, label_width, label_height; page_width and page_height (left out: a roll of single labels),
    columns, rows, gap_x, gap_y; left and top to the first label (left out: the labels stand in the middle);
    margin kept free on each label; dpi of the printer. Raises Invalid for labels that lie off the page and for
    those too small for the smallest symbol, Conflict for a name that is taken.
    """
    with transaction():
        values = _validated_fields({**_DEFAULTS, **fields}, address)
        try:
            row = LabelSize.create(**values, created=clock.now())
        except IntegrityError:
            raise _name_taken(values["name"]) from None
    return from_row(LabelSizeRecord, row)


def edit_label_size(size_id: int, address: str, version: int | None = None, **changes: Any) -> LabelSizeRecord:
    """Change a size of the shop's own; ``active=False`` takes it off the lists. Raises as add_label_size does."""
    with transaction():
        row = get_row(LabelSize, size_id, "label size")
        values = _validated_fields({**{name: getattr(row, name) for name in _DEFAULTS}, **changes}, address)
        try:
            update_versioned(row, "label size", version, **values)
        except IntegrityError:
            raise _name_taken(values["name"]) from None
        return get_label_size(size_id)


def get_label_size(size_id: int) -> LabelSizeRecord:
    """Return one size of the shop's own."""
    return from_row(LabelSizeRecord, get_row(LabelSize, size_id, "label size"))


def list_label_sizes(*, active: bool | None = True, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return the shop's own sizes by name; *active* None: those no longer used too."""
    query = LabelSize.select()
    if active is not None:
        query = query.where(LabelSize.active == active)
    return paginate(query, LabelSize.name, after, limit, lambda row: from_row(LabelSizeRecord, row))


def resolve_size(key: str) -> ResolvedSize:
    """Return the size meant by a key: one of STANDARD_MEDIA, "own-3", or a roll written as "62x29" (mm).

    Raises Invalid, which lists the sizes to choose from.
    """
    own = _OWN_KEY.fullmatch(key.strip())
    row = LabelSize.get_or_none(LabelSize.id == int(own[1])) if own and int(own[1]) < 2**31 else None
    if row is not None:
        record = from_row(LabelSizeRecord, row)
        return ResolvedSize(record.key, record.media, record.dpi)
    try:
        media = find_media(key)
    except InvalidMedia as bad:
        raise Invalid(str(bad), reason="label", errors={"media": [str(bad)]}) from None
    return ResolvedSize(key if key in STANDARD_MEDIA else f"{media.label_width:g}x{media.label_height:g}", media)


def size_choices() -> list[tuple[str, str]]:
    """Return every size to choose from as key and name, the shop's own first."""
    own = LabelSize.select().where(LabelSize.active).order_by(LabelSize.name)
    return [(f"own-{size.id}", size.name) for size in own] + [
        (key, size.name) for key, size in STANDARD_MEDIA.items()
    ]


# ---- checks ----------------------------------------------------------------------------------------------


def _validated_fields(fields: dict[str, Any], address: str) -> dict[str, Any]:
    unknown = sorted(set(fields) - set(_DEFAULTS))
    if unknown:
        raise Invalid(f"A label size has no {', '.join(unknown)}: leave it out.", errors={unknown[0]: ["unknown"]})
    values = {
        "name": clean_text(fields["name"], "name", 80, required=True),
        "columns": _validated_int(fields["columns"], "columns", 1, MAX_COLUMNS),
        "rows": _validated_int(fields["rows"], "rows", 1, MAX_ROWS),
        "label_width": _validated_mm(fields["label_width"], "label_width", 1, MAX_SIDE_MM),
        "label_height": _validated_mm(fields["label_height"], "label_height", 1, MAX_SIDE_MM),
        "gap_x": _validated_mm(fields["gap_x"], "gap_x", 0, MAX_GAP_MM),
        "gap_y": _validated_mm(fields["gap_y"], "gap_y", 0, MAX_GAP_MM),
        "dpi": _validated_dpi(fields["dpi"]),
        "active": bool(fields["active"]),
    }
    _check_direction(values, fields, ("page_width", "label_width", "columns", "gap_x", "left"), "across")
    _check_direction(values, fields, ("page_height", "label_height", "rows", "gap_y", "top"), "down")
    values["margin"] = _validated_margin(values, fields["margin"])
    _check_symbol_fits(values, address)
    return values


def _check_direction(
    values: dict[str, Any], fields: dict[str, Any], names: tuple[str, str, str, str, str], direction: str
) -> None:
    """Check one direction: the labels with their gaps must lie on the page; left out, they stand in the middle."""
    page, label, count, gap, first = names
    used = values[count] * values[label] + (values[count] - 1) * values[gap]
    values[page] = round(used, 2) if fields[page] is None else _validated_mm(fields[page], page, 1, MAX_SIDE_MM)
    spare = values[page] - used
    values[first] = (
        max(0.0, round(spare / 2, 2))
        if fields[first] is None
        else _validated_mm(fields[first], first, 0, MAX_SIDE_MM)
    )
    if values[first] + used > values[page] + 0.01:
        raise invalid_field(
            count,
            f"The labels lie off the page: {values[first]:g} mm to the first and {used:g} mm for {values[count]} "
            f"{direction} are more than the page's {values[page]:g} mm. Measure again.",
        )


def _validated_margin(values: dict[str, Any], margin: Any) -> float:
    most = math.floor(min(values["label_width"], values["label_height"]) * 25) / 100
    usual = 1.0 if values["columns"] * values["rows"] == 1 else 1.5
    return min(usual, most) if margin is None else _validated_mm(margin, "margin", 0, most)


def _check_symbol_fits(values: dict[str, Any], address: str) -> None:
    """Lay out the barest label there is, so that no size is kept that nothing can be printed on."""
    try:
        lay_out(blank_label(generate_code("bin"), address), _media(values), values["dpi"])
    except LabelTooSmall as small:
        sentence = str(small)
        raise invalid_field(
            "label_width", f"Too small for a label that scans: {sentence[0].lower()}{sentence[1:]}"
        ) from None
    except InvalidMedia as bad:
        raise invalid_field("label_width", str(bad)) from None


def _media(values: dict[str, Any]) -> LabelMedia:
    wide, tall = values["label_width"], values["label_height"]
    return LabelMedia(
        values["name"], wide, tall, values["page_width"], values["page_height"], values["columns"], values["rows"],
        values["left"], values["top"], wide + values["gap_x"], tall + values["gap_y"], values["margin"],
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
