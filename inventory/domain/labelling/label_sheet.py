"""A job of labels: what is labelled, on which size, from where on the sheet, moved how far; drawn, or sent off."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from inventory.domain.common.errors import Invalid
from inventory.domain.labelling import print_queue
from inventory.domain.labelling.label_content import MAX_LABELS, ThingLabel, create_blank_labels, labels_for
from inventory.domain.labelling.label_sizes import DEFAULT_DPI, DEFAULT_MEDIA, ResolvedSize, resolve_size
from inventory.domain.labelling.print_offsets import offset_for
from inventory.domain.labelling.print_queue import PrintRequest
from inventory.store.connection import transaction
from labels import render
from labels.content.label_content import LabelContent
from labels.errors import InvalidMedia, LabelError
from labels.layout.media import LabelMedia, check_start_position

DrawnT = TypeVar("DrawnT")
MAX_COPIES = 100


@dataclass(frozen=True)
class LabelSheet:
    """Labels and how they lie on the paper; ``offset`` is mm right and down. What cannot be drawn raises Invalid."""

    labels: tuple[ThingLabel, ...]
    size: ResolvedSize
    start: int
    dpi: int
    copies: int
    offset: tuple[float, float]

    @property
    def media(self) -> LabelMedia:
        """The sheet or roll."""
        return self.size.media

    @property
    def faces(self) -> list[LabelContent]:
        """The faces of the labels in order, copies beside each other."""
        return [label.face for label in self.labels for _ in range(self.copies)]

    @property
    def pages(self) -> int:
        """How many sheets it takes."""
        return -(-(self.start - 1 + len(self.labels) * self.copies) // self.media.labels_a_page)

    def pdf(self, *, as_dots: bool = False) -> bytes:
        """Make the file that is printed, of shapes or of the printer's very dots."""
        return _as_invalid(
            lambda: render.render_pdf(
                self.faces, self.media, self.start, self.dpi, offset_mm=self.offset, as_dots=as_dots
            )
        )  # fmt: skip

    def check(self) -> None:
        """Draw the first page, to find out whether the labels fit, before anything hangs on it."""
        self.page_svg(1)

    def page_svg(self, page: int) -> str:
        """Draw one page of it, counted from 1, and none of the others."""
        return _as_invalid(lambda: self._page(page))

    def png(self, nth: int) -> bytes:
        """Draw one label, counted from 1, as a picture of one pixel a printer dot."""
        return _as_invalid(lambda: render.render_png(self._face(nth), self.media, self.dpi))

    def svg(self, nth: int) -> str:
        """Draw one label, counted from 1, as shapes of its true size."""
        return _as_invalid(lambda: render.render_svg(self._face(nth), self.media, self.dpi))

    def print_on(self, printer: str, setting: str) -> PrintRequest:
        """Send it to one of the CUPS queues of *setting*: a roll as the printer's very dots, a sheet as shapes.

        Raises Conflict when the queue does not take it.
        """
        print_queue.check_queue(printer, setting)
        number = len(self.labels) * self.copies
        paper = (self.media.page_width, self.media.page_height)
        document = self.pdf(as_dots=self.media.is_roll)
        return print_queue.submit_print(printer, document, title=f"Labels, {number}", page_mm=paper)

    def _face(self, nth: int) -> LabelContent:
        if not 1 <= nth <= len(self.labels):
            raise Invalid("There is no such label to draw: choose at least one.")
        return self.labels[nth - 1].face

    def _page(self, page: int) -> str:
        check_start_position(self.media, self.start)
        if not self.labels:
            raise LabelError("There is no label to draw: choose at least one.")
        if not 1 <= page <= self.pages:
            raise InvalidMedia(f"There is no page {page}: these labels fill {self.pages}.")
        end = page * self.media.labels_a_page - (self.start - 1)
        faces = self.faces[max(0, end - self.media.labels_a_page) : end]
        start = self.start if page == 1 else 1
        return render.render_page_svg(faces, self.media, start, self.dpi, offset_mm=self.offset)


def label_sheet(
    things: Sequence[tuple[str, int]], address: str, *, media: str = DEFAULT_MEDIA, start: int = 1,
    dpi: int | None = None, copies: int = 1, printer: str = "", offset: tuple[float, float] | None = None,
) -> LabelSheet:  # fmt: skip
    """Put things (pairs such as ("bin", 3)) on a sheet or roll.

    *address* begins their symbols; *dpi* left out is what is kept with the size, else 300; *offset* left out is what
    is kept of the size and the *printer*. Raises NotFound for a thing there is not, Invalid for a size there is not
    and for more than 1000 labels.
    """
    if not 1 <= copies <= MAX_COPIES:
        raise Invalid(f"Print 1 to {MAX_COPIES} copies of a label.", errors={"copies": [f"1 to {MAX_COPIES}"]})
    if len(things) * copies > MAX_LABELS:
        raise Invalid(
            f"That makes {len(things) * copies} labels: print at most {MAX_LABELS} at a time.", reason="too_many"
        )
    size = resolve_size(media)
    moved = offset_for(size.key, printer) if offset is None else offset
    return LabelSheet(
        tuple(labels_for(things, address)), size, start, dpi or size.dpi or DEFAULT_DPI, copies, moved
    )  # fmt: skip


def blank_sheet(number: int, address: str, **options: Any) -> LabelSheet:
    """Make *number* (1 to 500) bin labels before there are bins, on a sheet or roll as label_sheet takes it.

    None is made of a size that they do not fit, or when anything else of the sheet cannot be. Raises Invalid.
    """
    with transaction():
        sheet = label_sheet(create_blank_labels(number), address, **options)
        sheet.check()
    return sheet


def _as_invalid(draws: Callable[[], DrawnT]) -> DrawnT:
    """Draw, and say as a refusal of ours why it cannot be drawn."""
    try:
        return draws()
    except LabelError as bad:
        raise Invalid(str(bad), reason="label") from None
