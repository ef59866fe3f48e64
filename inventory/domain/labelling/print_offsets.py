"""How far off a printer prints: measured once, kept, and made good on every label from then on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import clean_text, get_row
from inventory.domain.labelling.label_sizes import resolve_size, size_choices
from inventory.domain.labelling.print_queue import queues
from inventory.store.connection import transaction
from inventory.store.tables import Person, PrintOffset
from labels.errors import InvalidMedia
from labels.layout.media import check_offset

MAX_PRINTER_NAME = 128


@dataclass(frozen=True)
class PrintOffsetRecord:
    """Print is moved so many mm ``right`` and ``down`` (negative: left, up).

    ``size`` is empty for whatever goes into the printer, ``printer`` for whatever prints on the size.
    """

    id: int
    size: str
    printer: str
    right: float
    down: float
    person: str
    at: datetime


@dataclass(frozen=True)
class PrintOffsetsScreen:
    """The kept offsets, and what another may be kept of: ``sizes`` (key and name) and ``queues``."""

    offsets: Sequence[PrintOffsetRecord]
    sizes: Sequence[tuple[str, str]]
    queues: Sequence[str]

    def named(self, size: str) -> str:
        """Return the name of a size by its key."""
        return dict(self.sizes).get(size, size)


def save_offset(
    size: str, right: float, down: float, *, printer: str = "", by: int | None = None
) -> PrintOffsetRecord:
    """Keep an offset of a size, of a printer (*size* empty), or of a size in a printer; it replaces the one before.

    Raises Invalid beyond 10 mm either way.
    """
    with transaction():
        target = {"size": _resolve_size_key(size), "printer": clean_text(printer, "printer", MAX_PRINTER_NAME)}
        if not any(target.values()):
            raise Invalid("Say which size or which printer is off: choose one.", errors={"size": ["choose one"]})
        right, down = _validated_offset(right, down)
        values = {"right": right, "down": down, "person": by, "at": clock.now()}
        PrintOffset.insert(**target, **values).on_conflict(
            conflict_target=[PrintOffset.size, PrintOffset.printer],
            update={getattr(PrintOffset, name): value for name, value in values.items()},
        ).execute()
        return offset(PrintOffset.get(*_same_target(target)).id)


def delete_offset(offset_id: int) -> None:
    """Forget an offset: print is not moved for it any more."""
    with transaction():
        get_row(PrintOffset, offset_id, "print offset")
        PrintOffset.delete().where(PrintOffset.id == offset_id).execute()


def offset(offset_id: int) -> PrintOffsetRecord:
    """Return one kept offset."""
    get_row(PrintOffset, offset_id, "print offset")
    return _record(_with_person().where(PrintOffset.id == offset_id).get())


def offsets(*, size: str = "", printer: str = "", after: str | None = None, limit: int = 50) -> ResultPage:
    """Return the kept offsets in the order in which they were first kept; those of a size or a printer if named."""
    query = _with_person()
    if size.strip():
        query = query.where(PrintOffset.size == _resolve_size_key(size))
    if printer.strip():
        query = query.where(PrintOffset.printer == printer.strip())
    return paginate(query, PrintOffset.id, after, limit, _record)


def print_offsets_screen(setting: str) -> PrintOffsetsScreen:
    """Return what is kept, beside the sizes to choose from and the CUPS queues of *setting*."""
    return PrintOffsetsScreen(offsets(limit=200).items, tuple(size_choices()), queues(setting))


def offset_for(size: str, printer: str = "") -> tuple[float, float]:
    """Return how far print is moved, mm right and down.

    What is kept of the size in that printer goes before what is kept of the printer, and that before the size's.
    """
    rows = PrintOffset.select().where(PrintOffset.size << [size, ""], PrintOffset.printer << [printer, ""])
    offsets_by_target = {(row.size, row.printer): (row.right, row.down) for row in rows}
    targets = ((size, printer), ("", printer), (size, ""))
    return next(
        (offsets_by_target[target] for target in targets if any(target) and target in offsets_by_target), (0.0, 0.0)
    )


def offset_text(offset: tuple[float, float]) -> str:
    """Say how far print is moved: "1.5 mm right, 0.5 mm up"; empty when it is not."""
    (right, down), directions = offset, []
    if right:
        directions.append(f"{abs(right):g} mm {'right' if right > 0 else 'left'}")
    if down:
        directions.append(f"{abs(down):g} mm {'down' if down > 0 else 'up'}")
    return ", ".join(directions)


def _resolve_size_key(key: str) -> str:
    return resolve_size(key).key if key.strip() else ""


def _same_target(target: dict[str, str]) -> tuple[Any, Any]:
    return PrintOffset.size == target["size"], PrintOffset.printer == target["printer"]


def _validated_offset(right: Any, down: Any) -> tuple[float, float]:
    if any(isinstance(value, bool) or not isinstance(value, int | float) for value in (right, down)):
        raise Invalid("An offset is millimetres, such as 1.5 or -0.5: measure it with a ruler.")
    try:
        check_offset((right, down))
    except InvalidMedia as bad:
        raise Invalid(str(bad), reason="label", errors={"right": [str(bad)]}) from None
    return round(float(right), 2), round(float(down), 2)


def _with_person() -> Any:
    return PrintOffset.select(PrintOffset, Person).join(Person, JOIN.LEFT_OUTER)


def _record(row: Any) -> PrintOffsetRecord:
    return from_row(PrintOffsetRecord, row, person=row.person.shown_as if row.person_id else "")
