"""The pieces a label's text column is built from; each knows its height in dots and how to ink itself."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from labels.graphics import pictures
from labels.graphics.pictures import PartPicture
from labels.graphics.shapes import Box, Shape, Text, rectangle_outline
from labels.graphics.text_shaping import to_visual_order
from labels.graphics.typesetting import (
    ACCENT_ROOM,
    ASCENT,
    CAPITAL_HEIGHT,
    WrappedText,
    centred_baseline,
    line_height,
    line_width,
    shorten_text,
)


class Block(Protocol):
    """Something `height` dots tall that can be inked at a place in a column `room` dots wide."""

    @property
    def height(self) -> int: ...

    def ink(self, x: int, y: int, room: int) -> list[Shape]: ...


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Lines of text, at the right where it runs from right to left."""

    lines: WrappedText

    @property
    def height(self) -> int:
        return self.lines.height

    def ink(self, x: int, y: int, room: int) -> list[Shape]:
        return [
            self._line(line, x, y + number * line_height(self.lines.size), room)
            for number, line in enumerate(self.lines.lines)
        ]

    def _line(self, line: str, x: int, y: int, room: int) -> Text:
        size, bold, right_to_left = self.lines.size, self.lines.bold, self.lines.right_to_left
        wide = line_width(line, size, bold)
        left = x + room - wide if right_to_left else x
        return Text(left, y + round(size * ASCENT), to_visual_order(line, right_to_left), size, bold, wide)


@dataclass(frozen=True, slots=True)
class Heading:
    """The kind of thing, white on a black tab, and beside or under it what the thing is called.

    A `sign` for the kind of part stands at the right where the words leave room for it.
    """

    word: str
    word_size: int
    head: WrappedText
    stacked: bool = False
    sign: PartPicture | None = None
    sign_side: int = 0

    @property
    def height(self) -> int:
        if self.stacked:
            return self._tab_height + self._pad + self.head.height
        return self._rise + max(self.head.height, self._tab_height, self.sign_side if self.sign else 0)

    def ink(self, x: int, y: int, room: int) -> list[Shape]:
        y += 0 if self.stacked else self._rise
        tab = heading_tab_width(self.word, self.word_size) - self._pad
        inked: list[Shape] = [Box(x, y, tab, self._tab_height)]
        wide = line_width(self.word, self.word_size, True)
        base = centred_baseline(y, self._tab_height, self.word_size)
        inked.append(Text(x + self._pad, base, to_visual_order(self.word), self.word_size, True, wide, white=True))
        if self.sign is not None:
            left = x + room - self.sign_side
            inked.extend(pictures.draw_sign(self.sign, left, y, self.sign_side))
        if self.stacked:
            return inked + Paragraph(self.head).ink(x, y + self._tab_height + self._pad, room)
        left = x + heading_tab_width(self.word, self.word_size)
        return inked + Paragraph(self.head).ink(left, y - self._lift, room - (left - x))

    @property
    def _pad(self) -> int:
        return _tab_pad(self.word_size)

    @property
    def _lift(self) -> int:
        """Dots by which a large head rises so that its capitals begin level with the tab."""
        return round(self.head.size * (ASCENT - CAPITAL_HEIGHT))

    @property
    def _rise(self) -> int:
        """Dots that accents on a head's capitals need above them."""
        return 0 if all(line.isascii() for line in self.head.lines) else round(self.head.size * ACCENT_ROOM)

    @property
    def _tab_height(self) -> int:
        return round(self.word_size * 1.3)


@dataclass(frozen=True, slots=True)
class SpecChips:
    """Short marks in outlined boxes, as many rows as `rows` says."""

    rows: tuple[tuple[str, ...], ...]
    size: int

    @property
    def height(self) -> int:
        return len(self.rows) * (self._tall + self._gap) - self._gap if self.rows else 0

    def ink(self, x: int, y: int, room: int) -> list[Shape]:
        inked: list[Shape] = []
        for number, row in enumerate(self.rows):
            left, top = x, y + number * (self._tall + self._gap)
            for mark in row:
                wide = chip_width(mark, self.size)
                inked.extend(rectangle_outline(left, top, wide, self._tall, max(2, self.size // 14)))
                inner = wide - 2 * _chip_pad(self.size)
                base = centred_baseline(top, self._tall, self.size)
                inked.append(Text(left + _chip_pad(self.size), base, to_visual_order(mark), self.size, True, inner))
                left += wide + self._gap
        return inked

    @property
    def _tall(self) -> int:
        return round(self.size * 1.22)

    @property
    def _gap(self) -> int:
        return max(2, round(self.size * 0.22))


@dataclass(frozen=True, slots=True)
class CautionBand:
    """Cautions in white on black behind a warning triangle."""

    lines: WrappedText

    @property
    def height(self) -> int:
        return self.lines.height + 2 * self._pad if self.lines.lines else 0

    def ink(self, x: int, y: int, room: int) -> list[Shape]:
        if not self.lines.lines:
            return []
        size = self.lines.size
        inked: list[Shape] = [Box(x, y, room, self.height)]
        inked.extend(pictures.draw_warning_sign(x + self._pad, y + (self.height - size) // 2, size))
        left = x + caution_band_inset(size)
        for number, line in enumerate(self.lines.lines):
            base = centred_baseline(y + self._pad + number * line_height(size), line_height(size), size)
            inked.append(
                Text(left, base, to_visual_order(line), size, True, line_width(line, size, True), white=True)
            )
        return inked

    @property
    def _pad(self) -> int:
        return max(1, self.lines.size // 8)


@dataclass(frozen=True, slots=True)
class PinDrawing:
    """A connector at true size in a strip of the column."""

    picture: PartPicture
    height: int
    dpi: int

    def ink(self, x: int, y: int, room: int) -> list[Shape]:
        return pictures.draw_pins(self.picture, x, y, room, self.height, self.dpi)


def chip_rows(marks: Sequence[str], size: int, room: int) -> tuple[tuple[tuple[str, ...], ...], bool]:
    """Set marks in rows no wider than `room`; also tell whether every mark is whole."""
    rows: list[list[str]] = []
    whole = True
    left = room
    gap = max(2, round(size * 0.22))
    for mark in marks:
        if chip_width(mark, size) > room:
            cut = shorten_text(mark, size, True, room - 2 * _chip_pad(size), 1)
            mark, whole = "".join(cut.lines), False
            if not mark:
                continue
        wide = chip_width(mark, size)
        if rows and wide <= left:
            rows[-1].append(mark)
        else:
            rows.append([mark])
            left = room
        left -= wide + gap
    return tuple(tuple(row) for row in rows), whole


def chip_width(mark: str, size: int) -> int:
    """Dots that one mark takes, box included."""
    return line_width(mark, size, True) + 2 * _chip_pad(size)


def heading_tab_width(word: str, size: int) -> int:
    """Dots that a tab takes, with the gap behind it."""
    return line_width(word, size, True) + 3 * _tab_pad(size)


def caution_band_inset(size: int) -> int:
    """Dots from the left of a band to its text: padding, triangle, gap."""
    return max(1, size // 8) + size + max(2, size // 4)


def _tab_pad(size: int) -> int:
    return max(2, round(size * 0.35))


def _chip_pad(size: int) -> int:
    return max(3, round(size * 0.3))
