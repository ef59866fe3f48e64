"""Fitting what a face says into the room beside its symbol.

Everything shrinks together, down to a stated minimum; only when that does not do, words are left out, the
least important first. What tells a part from similar ones stays longer than its name, the caution stays to the
last, and nothing ever runs over the edge.
"""

from bisect import bisect_left
from dataclasses import dataclass

from labels.content.label_content import LabelContent
from labels.graphics.pictures import true_width_mm
from labels.graphics.shapes import Shape
from labels.graphics.typesetting import WrappedText, clean_text, shorten_text, wrap_text
from labels.layout.blocks import (
    Block,
    CautionBand,
    Heading,
    Paragraph,
    PinDrawing,
    SpecChips,
    caution_band_inset,
    chip_rows,
    heading_tab_width,
)
from labels.units import to_dots
from shared.codes import format_code
from shared.hazards import HAZARDS

MIN_LETTER_MM = 2.12
"""Smallest letters on any label: 6 point, which a person still reads from a phone's distance."""

_PREFERRED_LETTER_MM = {"tab": 2.6, "code": 3.2, "title": 3.4, "marks": 3.6, "details": 2.6, "caution": 2.5}
_MIN_LETTER_MM_BY_ROLE = {"head": 2.6, "code": 2.4, "marks": 2.3}
_SCALES = (0.44, 0.52, 0.6, 0.68, 0.76, 0.84, 0.92, 1.0, 1.2, 1.4)
_MIN_SCALE = _SCALES[0]
_FIRST_SCALE_WITH_PINS = 3
_SIGN_MM = 5.5
_PINS_MM = 3.6


@dataclass(frozen=True, slots=True)
class ColumnArea:
    """The rectangle of dots that a column may fill."""

    x: int
    y: int
    width: int
    height: int
    dpi: int

    def dots(self, mm: float) -> int:
        return max(1, to_dots(mm, self.dpi))


@dataclass(frozen=True, slots=True)
class _ContentLimits:
    """How much is said at most; `inline` puts marks and title into one paragraph of `title_lines`."""

    title_lines: int
    mark_rows: int = 2
    details: int = 9
    detail_lines: int = 1
    cautions: int = 2
    pins: bool = False
    inline: bool = False
    titles_of_cautions: bool = False
    complete: bool = False


_UNCUT_WITH_PINS = _ContentLimits(6, mark_rows=3, detail_lines=2, pins=True, complete=True)
_UNCUT = _ContentLimits(6, mark_rows=3, detail_lines=2, complete=True)
_CONTENT_LIMITS = (
    _ContentLimits(6, mark_rows=3),
    _ContentLimits(4),
    _ContentLimits(3, cautions=1),
    _ContentLimits(2, details=2, cautions=1),
    _ContentLimits(2, details=1, cautions=1),
    _ContentLimits(2, details=0, cautions=1),
    _ContentLimits(1, mark_rows=1, details=1, cautions=1),
    _ContentLimits(1, mark_rows=1, details=0, cautions=1),
    _ContentLimits(2, inline=True, details=0, cautions=1),
    _ContentLimits(1, inline=True, details=0, cautions=1),
    _ContentLimits(1, inline=True, details=0, cautions=1, titles_of_cautions=True),
    _ContentLimits(0, inline=True, details=0, cautions=1, titles_of_cautions=True),
)


@dataclass(frozen=True, slots=True)
class FittedColumn:
    """A column that fits: its ink, and whether every word found room."""

    ink: tuple[Shape, ...]
    whole: bool


def fit_column(face: LabelContent, room: ColumnArea, *, include_code: bool) -> FittedColumn | None:
    """Arrange a face in a room of dots, or return None when not even its code and caution fit."""
    picture = face.picture
    attempt: _ColumnAttempt | None = None
    if picture is not None and picture.is_true_size and room.dots(true_width_mm(picture)) <= 2 * room.width:
        attempt = _largest_fit(face, room, _UNCUT_WITH_PINS, _SCALES[_FIRST_SCALE_WITH_PINS:], include_code)
    attempt = attempt or _largest_fit(face, room, _UNCUT, _SCALES, include_code)
    for cut in _CONTENT_LIMITS:
        attempt = attempt or _try_fit(face, room, cut, _MIN_SCALE, include_code)
    return FittedColumn(tuple(attempt.ink()), attempt.whole) if attempt else None


def _largest_fit(
    face: LabelContent, room: ColumnArea, cut: _ContentLimits, scales: tuple[float, ...], with_code: bool
) -> "_ColumnAttempt | None":
    """Find the largest of rising scales at which a face fits: what fits large also fits smaller."""
    fitting: list[_ColumnAttempt] = []

    def is_too_large(scale: float) -> bool:
        attempt = _try_fit(face, room, cut, scale, with_code)
        if attempt is not None:
            fitting.append(attempt)
        return attempt is None

    bisect_left(scales, True, key=is_too_large)
    return fitting[-1] if fitting else None


def _try_fit(
    face: LabelContent, room: ColumnArea, cut: _ContentLimits, scale: float, with_code: bool
) -> "_ColumnAttempt | None":
    attempt = _ColumnAttempt(face, room, scale, cut)
    return attempt if attempt.arrange(with_code) and attempt.height <= room.height else None


class _ColumnAttempt:
    """One attempt: a face at a scale, cut so far. `whole` turns false when a word is left out."""

    def __init__(self, face: LabelContent, room: ColumnArea, scale: float, cut: _ContentLimits) -> None:
        self.face, self.room, self.scale, self.cut = face, room, scale, cut
        self.gap = room.dots(max(0.15, 0.7 * scale - 0.2))
        self.whole = cut.complete
        self.blocks: list[Block] = []

    def arrange(self, with_code: bool) -> bool:
        """List the blocks from top to bottom, the caution last; tell whether each is narrow enough."""
        blocks: list[Block | None] = [self._heading()]
        if with_code:
            blocks.append(self._code())
        blocks.extend(self._words())
        details = self.face.details[: self.cut.details]
        blocks.extend(self._paragraph(detail, "details", False, self.cut.detail_lines) for detail in details)
        if self.cut.pins and self.face.picture is not None:
            blocks.append(PinDrawing(self.face.picture, self.room.dots(_PINS_MM), self.room.dpi))
        if self.face.hazards:
            blocks.append(self._band())
        self.blocks = [block for block in blocks if block is not None]
        return len(self.blocks) == len(blocks)

    @property
    def height(self) -> int:
        """Dots from the top of the first block to the bottom of the last."""
        return sum(block.height for block in self.blocks) + self.gap * (len(self.blocks) - 1)

    def ink(self) -> list[Shape]:
        """Ink the blocks from the top, a caution at the very bottom, some of the spare room between."""
        room, inked = self.room, list[Shape]()
        spare = (room.height - self.height) // len(self.blocks)
        y = room.y
        for block in self.blocks:
            if isinstance(block, CautionBand):
                y = room.y + room.height - block.height
            inked.extend(block.ink(room.x, y, room.width))
            y += block.height + self.gap + min(spare, room.dots(1.0))
        return inked

    def size(self, what: str, preferred_mm: float = 0.0) -> int:
        """Letter size in dots at this scale, never under its minimum."""
        preferred = (preferred_mm or _PREFERRED_LETTER_MM[what]) * self.scale
        return self.room.dots(max(preferred, _MIN_LETTER_MM_BY_ROLE.get(what, MIN_LETTER_MM)))

    def _heading(self) -> Heading | None:
        """Put the head beside its tab where three quarters of its size fit, else under it, as large as fits."""
        word, word_size = clean_text(self.face.tab), self.size("tab")
        head = clean_text(self.face.short_head or self.face.head if self.cut.inline else self.face.head)
        preferred = self.size("head", self.face.head_mm)
        beside = self.room.width - heading_tab_width(word, word_size)
        lines = self._one_line(head, preferred, max(self._least_head, preferred * 3 // 4), beside)
        stacked = lines is None
        if lines is None:
            least = self._least_head
            lines = self._one_line(head, preferred, least, self.room.width) or shorten_text(
                head, least, True, self.room.width, 1
            )
        self.whole = self.whole and lines.whole
        return self._with_sign(Heading(word, word_size, lines, stacked), beside)

    @property
    def _least_head(self) -> int:
        return self.room.dots(_MIN_LETTER_MM_BY_ROLE["head"])

    def _one_line(self, text: str, preferred: int, least: int, room: int) -> WrappedText | None:
        size = preferred
        while room > 0:
            if (lines := wrap_text(text, size, True, room, 1)) is not None:
                return lines
            if size <= least:
                return None
            size = max(least, round(size * 0.92))
        return None

    def _with_sign(self, heading: Heading, beside: int) -> Heading:
        picture, side = self.face.picture, self.room.dots(_SIGN_MM * min(1.0, self.scale))
        fits = not heading.stacked and heading.head.width + side + 2 * self.gap <= beside
        if picture is None or not picture.is_sign or not fits or self.scale < 0.6:
            return heading
        return Heading(heading.word, heading.word_size, heading.head, sign=picture, sign_side=side)

    def _code(self) -> Paragraph | None:
        lines = wrap_text(format_code(self.face.code), self.size("code"), True, self.room.width, 1)
        return Paragraph(lines) if lines else None

    def _words(self) -> list[Block | None]:
        """Make the title and the marks, or one paragraph of both, marks first."""
        title, marks = self.face.title, self.face.marks
        if self.cut.inline:
            words = " ".join([*marks, title]).strip()
            lines = self.cut.title_lines
            return [self._paragraph(words, "title", True, lines)] if words and lines else []
        blocks: list[Block | None] = []
        if title:
            blocks.append(self._paragraph(title, "title", True, self.cut.title_lines, self.face.title_mm))
        if marks:
            blocks.append(self._chips())
        return blocks

    def _paragraph(self, text: str, what: str, bold: bool, most_lines: int, mm: float = 0.0) -> Paragraph | None:
        clean, size = clean_text(text), self.size(what, mm if self.cut.complete else 0.0)
        if self.cut.complete:
            whole = wrap_text(clean, size, bold, self.room.width, most_lines)
            return Paragraph(whole) if whole else None
        return Paragraph(shorten_text(clean, size, bold, self.room.width, most_lines))

    def _chips(self) -> SpecChips | None:
        marks = [clean_text(mark) for mark in self.face.marks]
        rows, whole = chip_rows(marks, self.size("marks"), self.room.width)
        if self.cut.complete and not (whole and len(rows) <= self.cut.mark_rows):
            return None
        return SpecChips(rows[: self.cut.mark_rows], self.size("marks"))

    def _band(self) -> CautionBand | None:
        """Set one line a caution where it fits, at the least size if need be; else wrap, or say its title only."""
        hazards = [HAZARDS[key] for key in self.face.hazards[: self.cut.cautions]]
        cautions = [caution.title.upper() if self.cut.titles_of_cautions else caution.line for caution in hazards]
        least = self.room.dots(MIN_LETTER_MM)
        for size, most_lines in ((self.size("caution"), 1), (least, 1), (least, 2)):
            inner = self.room.width - caution_band_inset(size) - self.gap
            wrapped = [wrap_text(caution, size, True, inner, most_lines) for caution in cautions]
            lines = [line for caution in wrapped if caution is not None for line in caution.lines]
            if None not in wrapped:
                return CautionBand(WrappedText(tuple(lines), size, True))
        return None
