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

from labels.graphics.text_shaping import runs_right_to_left, visual

FONTS = {
    False: Path(__file__).parents[1] / "fonts" / "DejaVuSansCondensed.ttf",
    True: Path(__file__).parents[1] / "fonts" / "DejaVuSansCondensed-Bold.ttf",
}
"""Font file by whether it is bold."""

ASCENT, DESCENT = 0.76, 0.24
"""Room above and below the base line in em: capitals with accents lose nothing that matters."""

CAPITALS = 0.729
"""Height of capitals in em, from the font's outlines."""

ACCENTS = 0.2
"""Room that accents take above capitals, in em."""

MISSING = "\N{WHITE SQUARE}"
"""Stands for a character that the font does not have."""

_WORD = re.compile(r"(?:\S|(?<=\d) (?=(?:%|°C|mm|cm|m|ml|l|mg|kg|g|V|A|W|Hz|Ω)(?:[\s,;]|$)))+\s*")
"""What a line does not break: a word, or a number with its unit."""

_MAY_BREAK_AFTER = re.compile(r"(?<=[\-/,;:_+])(?=\w)")


@dataclass(frozen=True, slots=True)
class Lines:
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
        return max((width(line, self.size, self.bold) for line in self.lines), default=0)


@lru_cache(maxsize=256)
def font(size: int, bold: bool) -> ImageFont.FreeTypeFont:
    """Open the shipped font at a size in dots."""
    return ImageFont.truetype(FONTS[bold], size, layout_engine=ImageFont.Layout.BASIC)


def base_in(top: int, tall: int, size: int) -> int:
    """Find the base line that puts capitals in the middle of something `tall` dots tall."""
    return top + (tall + round(size * CAPITALS)) // 2


@lru_cache(maxsize=2)
def outlines(bold: bool) -> TTFont:
    """Open the shipped font's own tables: which characters it has, and their outlines."""
    return TTFont(io.BytesIO(FONTS[bold].read_bytes()), lazy=True)


def line_height(size: int) -> int:
    """Dots from one base line to the next."""
    return math.ceil(size * (ASCENT + DESCENT) * 1.06)


@lru_cache(maxsize=65536)
def advance(character: str, size: int, bold: bool) -> int:
    """Measure in dots how far one character moves the next one on."""
    return round(font(size, bold).getlength(character))


@lru_cache(maxsize=32768)
def width(text: str, size: int, bold: bool) -> int:
    """Measure one line in dots."""
    return sum(advance(character, size, bold) for character in visual(text))


@lru_cache(maxsize=4096)
def clean(text: str) -> str:
    """Make a text fit for one paragraph: composed, single spaces, MISSING for what the font cannot show."""
    plain = unicodedata.normalize("NFC", " ".join(text.split()))
    if plain.isascii() and plain.isprintable():
        return plain
    has = _characters()
    return "".join(
        each if ord(each) in has else MISSING
        for each in plain
        if unicodedata.category(each) not in {"Cc", "Cf", "Cs", "Co", "Cn"}
    )


@lru_cache(maxsize=8192)
def wrap(text: str, size: int, bold: bool, room: int, most_lines: int) -> Lines | None:
    """Break a text into lines no wider than `room` dots, or return None when it needs more than `most_lines`."""
    lines: list[str] = []
    line = ""
    for piece in _pieces(text, size, bold, room):
        longer = line + piece
        if not line or width(longer.rstrip(), size, bold) <= room:
            line = longer
            continue
        lines.append(line.rstrip())
        line = piece.lstrip()
        if len(lines) == most_lines:
            return None
    if line.strip():
        lines.append(line.rstrip())
    fits = len(lines) <= most_lines and all(width(each, size, bold) <= room for each in lines)
    return Lines(tuple(lines), size, bold, right_to_left=runs_right_to_left(text)) if fits else None


def shorten(text: str, size: int, bold: bool, room: int, most_lines: int) -> Lines:
    """Wrap a text and leave out as much of its end as it takes, with an ellipsis in its place."""
    if (whole := wrap(text, size, bold, room, most_lines)) is not None:
        return whole
    least, most = 0, len(text)
    best = Lines((), size, bold, whole=False)
    while least < most:
        middle = (least + most + 1) // 2
        cut = wrap(text[:middle].rstrip() + "…", size, bold, room, most_lines)
        if cut is None:
            most = middle - 1
        else:
            least, best = middle, Lines(cut.lines, size, bold, False, runs_right_to_left(text))
    return best


def _pieces(text: str, size: int, bold: bool, room: int) -> list[str]:
    """Split a text where a line may end: after spaces and signs, and within a word too wide for any line."""
    pieces: list[str] = []
    for word in _WORD.findall(text):
        for part in _MAY_BREAK_AFTER.split(word):
            pieces.extend([part] if width(part.rstrip(), size, bold) <= room else _chopped(part, size, bold, room))
    return pieces


def _chopped(word: str, size: int, bold: bool, room: int) -> list[str]:
    parts, part = [], ""
    for character in word:
        if part and width(part + character, size, bold) > room:
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]


@lru_cache(maxsize=1)
def _characters() -> frozenset[int]:
    return frozenset(outlines(False).getBestCmap()) & frozenset(outlines(True).getBestCmap())
