"""Text on labels: the shipped font, how wide a line is, how it wraps, shrinks and shortens.

Sizes are in printer dots of the em square. Lines are measured as they will be drawn, so that what fits here
fits on paper. The font is DejaVu Sans Condensed, whose free licence lies beside it in `fonts/`.
"""

import io
import math
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from PIL import ImageFont

from labels.graphics.text_shaping import is_right_to_left, to_visual_order

FONT_FILES = {
    False: Path(__file__).parents[1] / "fonts" / "DejaVuSansCondensed.ttf",
    True: Path(__file__).parents[1] / "fonts" / "DejaVuSansCondensed-Bold.ttf",
}
"""Font file by whether it is bold."""

ASCENT, DESCENT = 0.76, 0.24
"""Room above and below the base line in em: capitals with accents lose nothing that matters."""

CAPITAL_HEIGHT = 0.729
"""Height of capitals in em, from the font's outlines."""

ACCENT_ROOM = 0.2
"""Room that accents take above capitals, in em."""

MISSING_GLYPH = "\N{WHITE SQUARE}"
"""Stands for a character that the font does not have."""

_WORD_PATTERN = re.compile(r"(?:\S|(?<=\d) (?=(?:%|°C|mm|cm|m|ml|l|mg|kg|g|V|A|W|Hz|Ω)(?:[\s,;]|$)))+\s*")
"""What a line does not break: a word, or a number with its unit."""

_BREAK_AFTER_PATTERN = re.compile(r"(?<=[\-/,;:_+])(?=\w)")


@dataclass(frozen=True, slots=True)
class WrappedText:
    """Lines of one text at one size; `whole` is false when words had to be left out.

    The text's direction is that of each of its lines.
    """

    lines: tuple[str, ...]
    size: int
    bold: bool
    whole: bool = True
    right_to_left: bool = False

    @property
    def height(self) -> int:
        """Dots from the top of the first line to the bottom of the last."""
        return len(self.lines) * line_height(self.size)

    @property
    def width(self) -> int:
        """Dots of the widest line."""
        return max((line_width(line, self.size, self.bold) for line in self.lines), default=0)


@lru_cache(maxsize=256)
def load_font(size: int, bold: bool) -> ImageFont.FreeTypeFont:
    """Open the shipped font at a size in dots."""
    return ImageFont.truetype(FONT_FILES[bold], size, layout_engine=ImageFont.Layout.BASIC)


def centred_baseline(top: int, tall: int, size: int) -> int:
    """Find the base line that puts capitals in the middle of something `tall` dots tall."""
    return top + (tall + round(size * CAPITAL_HEIGHT)) // 2


@lru_cache(maxsize=2)
def load_font_tables(bold: bool) -> TTFont:
    """Open the shipped font's own tables: which characters it has, and their outlines."""
    return TTFont(io.BytesIO(FONT_FILES[bold].read_bytes()), lazy=True)


def line_height(size: int) -> int:
    """Dots from one base line to the next."""
    return math.ceil(size * (ASCENT + DESCENT) * 1.06)


@lru_cache(maxsize=65536)
def advance_width(character: str, size: int, bold: bool) -> int:
    """Measure in dots how far one character moves the next one on."""
    return round(load_font(size, bold).getlength(character))


@lru_cache(maxsize=32768)
def line_width(text: str, size: int, bold: bool) -> int:
    """Measure one line in dots."""
    return sum(advance_width(character, size, bold) for character in to_visual_order(text))


@lru_cache(maxsize=4096)
def clean_text(text: str) -> str:
    """Make a text fit for one paragraph: composed, single spaces, MISSING_GLYPH for what the font cannot show."""
    plain = unicodedata.normalize("NFC", " ".join(text.split()))
    if plain.isascii() and plain.isprintable():
        return plain
    has = _font_characters()
    return "".join(
        character if ord(character) in has else MISSING_GLYPH
        for character in plain
        if unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Co", "Cn"}
    )


@lru_cache(maxsize=8192)
def wrap_text(text: str, size: int, bold: bool, room: int, most_lines: int) -> WrappedText | None:
    """Break a text into lines no wider than `room` dots, or return None when it needs more than `most_lines`."""
    lines: list[str] = []
    line = ""
    for piece in _break_points(text, size, bold, room):
        longer = line + piece
        if not line or line_width(longer.rstrip(), size, bold) <= room:
            line = longer
            continue
        lines.append(line.rstrip())
        line = piece.lstrip()
        if len(lines) == most_lines:
            return None
    if line.strip():
        lines.append(line.rstrip())
    fits = len(lines) <= most_lines and all(line_width(wrapped, size, bold) <= room for wrapped in lines)
    return WrappedText(tuple(lines), size, bold, right_to_left=is_right_to_left(text)) if fits else None


def shorten_text(text: str, size: int, bold: bool, room: int, most_lines: int) -> WrappedText:
    """Wrap a text and leave out as much of its end as it takes, with an ellipsis in its place."""
    if (whole := wrap_text(text, size, bold, room, most_lines)) is not None:
        return whole
    least, most = 0, len(text)
    best = WrappedText((), size, bold, whole=False)
    while least < most:
        middle = (least + most + 1) // 2
        cut = wrap_text(text[:middle].rstrip() + "…", size, bold, room, most_lines)
        if cut is None:
            most = middle - 1
        else:
            least, best = middle, WrappedText(cut.lines, size, bold, False, is_right_to_left(text))
    return best


def _break_points(text: str, size: int, bold: bool, room: int) -> list[str]:
    """Split a text where a line may end: after spaces and signs, and within a word too wide for any line."""
    pieces: list[str] = []
    for word in _WORD_PATTERN.findall(text):
        for part in _BREAK_AFTER_PATTERN.split(word):
            pieces.extend(
                [part] if line_width(part.rstrip(), size, bold) <= room else _chop_word(part, size, bold, room)
            )
    return pieces


def _chop_word(word: str, size: int, bold: bool, room: int) -> list[str]:
    parts, part = [], ""
    for character in word:
        if part and line_width(part + character, size, bold) > room:
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]


@lru_cache(maxsize=1)
def _font_characters() -> frozenset[int]:
    return frozenset(load_font_tables(False).getBestCmap()) & frozenset(load_font_tables(True).getBestCmap())
