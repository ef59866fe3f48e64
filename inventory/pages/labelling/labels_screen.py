"""The page of labels: the sheet that was asked for, what else there is to label, and what it can be printed on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.labelling.label_content import ToChoose, to_choose
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.domain.labelling.label_sizes import to_choose_from
from inventory.domain.labelling.print_offsets import OffsetRecord, offset_for, offsets
from inventory.domain.labelling.print_queue import queues

_MANY = 200


@dataclass(frozen=True)
class AtLabels:
    """A sheet before it is printed. ``problem`` says why it cannot be; ``queues`` tells how far each moves it."""

    sheet: LabelSheet
    problem: str
    choose: ToChoose
    sizes: Sequence[tuple[str, str]]
    queues: Mapping[str, tuple[float, float]]
    offsets: Sequence[OffsetRecord]


def at_labels(things: Sequence[tuple[str, int]], address: str, setting: str, page: int, **how: Any) -> AtLabels:
    """Gather the page of labels; *page* is the one looked at, *how* goes to label_sheet, *setting* names queues."""
    sheet = label_sheet(things, address, **how)
    printers = queues(setting)
    own = [(sheet.size.key, sheet.media.name)]
    known = to_choose_from()
    return AtLabels(
        sheet, _problem(sheet, page), to_choose(), known if own[0][0] in dict(known) else own + known,
        {one: offset_for(sheet.size.key, one) for one in printers}, _offsets_of(sheet.size.key, printers),
    )  # fmt: skip


def _problem(sheet: LabelSheet, page: int) -> str:
    if not sheet.labels:
        return ""
    try:
        sheet.page_svg(page)
    except Invalid as bad:
        return bad.sentence
    return ""


def _offsets_of(size: str, printers: Sequence[str]) -> list[OffsetRecord]:
    """Return the offsets that may move print on a size: its own, and those of printers for all that goes in."""
    kept = offsets(limit=_MANY).items
    return [one for one in kept if one.size == size or (not one.size and one.printer in printers)]
