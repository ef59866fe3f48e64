"""The page of labels: the sheet that was asked for, what else there is to label, and what it can be printed on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.common.errors import Invalid
from inventory.domain.labelling.label_content import LabelChoices, label_choices
from inventory.domain.labelling.label_sheet import LabelSheet, label_sheet
from inventory.domain.labelling.label_sizes import size_choices
from inventory.domain.labelling.print_offsets import PrintOffsetRecord, offset_for, offsets
from inventory.domain.labelling.print_queue import queues

_MAX_OFFSETS = 200


@dataclass(frozen=True)
class LabelsScreen:
    """A sheet before it is printed. ``problem`` says why it cannot be; ``queues`` tells how far each moves it."""

    sheet: LabelSheet
    problem: str
    choose: LabelChoices
    sizes: Sequence[tuple[str, str]]
    queues: Mapping[str, tuple[float, float]]
    offsets: Sequence[PrintOffsetRecord]


def labels_screen(
    things: Sequence[tuple[str, int]], address: str, setting: str, page: int, **how: Any
) -> LabelsScreen:
    """Gather the page of labels; *page* is the one looked at, *how* goes to label_sheet, *setting* names queues."""
    sheet = label_sheet(things, address, **how)
    printers = queues(setting)
    own_size = [(sheet.size.key, sheet.media.name)]
    known = size_choices()
    return LabelsScreen(
        sheet, _problem(sheet, page), label_choices(), known if own_size[0][0] in dict(known) else own_size + known,
        {printer: offset_for(sheet.size.key, printer) for printer in printers}, _offsets_of(sheet.size.key, printers),
    )  # fmt: skip


def _problem(sheet: LabelSheet, page: int) -> str:
    if not sheet.labels:
        return ""
    try:
        sheet.page_svg(page)
    except Invalid as bad:
        return bad.sentence
    return ""


def _offsets_of(size: str, printers: Sequence[str]) -> list[PrintOffsetRecord]:
    """Return the offsets that may move print on a size: its own, and those of printers for all that goes in."""
    records = offsets(limit=_MAX_OFFSETS).items
    return [record for record in records if record.size == size or (not record.size and record.printer in printers)]
