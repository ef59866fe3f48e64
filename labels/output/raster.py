"""Labels as pictures of one bit a dot, at the printer's own resolution.

A picture is an array of booleans, True where the paper stays light. Letters are stamped one by one from a
store of drawn letters, at the places that `lettering` measured: that is several times as fast as drawing
each line anew.
"""

import struct
import zlib
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from labels.graphics.shapes import Box, Disc, Ink, Polygon, Text
from labels.graphics.typesetting import advance, font
from labels.layout.imposition import Page
from labels.layout.label_layout import Layout
from labels.symbols.qr_symbol import QUIET, SizedSymbol

Dots = NDArray[np.bool_]


def blank(width: int, height: int) -> Dots:
    """Make a light canvas of dots."""
    return np.ones((height, width), dtype=np.bool_)


def draw(layout: Layout, canvas: Dots | None = None) -> Dots:
    """Draw a label, one element a printer dot, True where it stays light.

    `canvas` may be the place of the label on a larger canvas; default is one of its own.
    """
    if canvas is None:
        canvas = blank(layout.width, layout.height)
    _lay(canvas, symbol_dots(layout.symbol), layout.symbol_x, layout.symbol_y)
    return draw_ink(canvas, layout.ink)


def draw_ink(canvas: Dots, inks: Iterable[Ink]) -> Dots:
    """Draw ink in order over what a canvas shows."""
    for ink in inks:
        if isinstance(ink, Text):
            _text(canvas, ink)
        elif isinstance(ink, Box):
            _box(canvas, ink)
        elif isinstance(ink, Disc):
            _disc(canvas, ink)
        else:
            _polygon(canvas, ink)
    return canvas


def draw_page(page: Page) -> Dots:
    """Draw a page of labels; what a correction moved over its edge is cut off."""
    canvas = blank(page.width, page.height)
    for placed in page.labels:
        add_dark(canvas, ~draw(placed.layout), placed.x, placed.y)
    return canvas


def add_dark(canvas: Dots, dark: Dots, x: int, y: int) -> None:
    """Darken the dots that a picture marks, its top left corner at (x, y), as far as they lie on the canvas."""
    _stamp(canvas, dark, x, y, light=False)


def symbol_dots(sized: SizedSymbol) -> Dots:
    """Draw a symbol with its light border."""
    light = np.pad(~sized.symbol.modules, QUIET, constant_values=True)
    return light.repeat(sized.dots, axis=1).repeat(sized.dots, axis=0)


def picture(dots: Dots) -> Image.Image:
    """Turn drawn dots into a one-bit picture."""
    return Image.frombytes("1", (dots.shape[1], dots.shape[0]), np.packbits(dots, axis=1).tobytes())


def png(dots: Dots, dpi: int) -> bytes:
    """Write drawn dots as a one-bit PNG that states its resolution (PNG specification, third edition, 11.2 and 11.3).

    Its chunks are written here: Pillow's writer weighs filters that one-bit pictures gain nothing from, and takes
    five times as long.
    """
    tall, wide = dots.shape
    rows = np.zeros((tall, 1 + (wide + 7) // 8), dtype=np.uint8)  # each row begins with its filter: 0, none
    rows[:, 1:] = np.packbits(dots, axis=1)
    dots_a_metre = round(dpi / 0.0254)
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", wide, tall, 1, 0, 0, 0, 0)),  # one bit, grey
            _chunk(b"pHYs", struct.pack(">IIB", dots_a_metre, dots_a_metre, 1)),
            _chunk(b"IDAT", zlib.compress(rows.tobytes(), 1)),  # twice as fast as the usual level, a quarter larger
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    body = kind + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))


def _lay(canvas: Dots, piece: Dots, x: int, y: int) -> None:
    canvas[y : y + piece.shape[0], x : x + piece.shape[1]] = piece


def _stamp(canvas: Dots, mask: Dots, x: int, y: int, light: bool) -> None:
    """Colour the dots that a mask marks, as far as they lie on the canvas."""
    top, left = max(0, -y), max(0, -x)
    target = canvas[max(0, y) : y + mask.shape[0], max(0, x) : x + mask.shape[1]]
    mask = mask[top : top + target.shape[0], left : left + target.shape[1]]
    if light:
        target |= mask
    else:
        target &= ~mask


def _box(canvas: Dots, box: Box) -> None:
    canvas[max(0, box.y) : box.y + box.height, max(0, box.x) : box.x + box.width] = box.white


def _disc(canvas: Dots, disc: Disc) -> None:
    _stamp(canvas, _disc_mask(disc.radius), disc.x - disc.radius, disc.y - disc.radius, disc.white)


def _polygon(canvas: Dots, area: Polygon) -> None:
    left, top = min(x for x, _ in area.points), min(y for _, y in area.points)
    mask = _polygon_mask(tuple((x - left, y - top) for x, y in area.points))
    _stamp(canvas, mask, left, top, area.white)


def _text(canvas: Dots, text: Text) -> None:
    letters, right, up = line(text.text, text.size, text.bold)
    _stamp(canvas, letters, text.x + right, text.base + up, text.white)


@lru_cache(maxsize=4096)
def line(text: str, size: int, bold: bool) -> tuple[Dots, int, int]:
    """Draw one line, True where there is a letter; also tell how far it lies right of and below its base point."""
    stamps: list[tuple[Dots, int, int]] = []
    x = 0
    for character in text:
        letter, right, up = _letter(character, size, bold)
        if letter.size:
            stamps.append((letter, x + right, up))
        x += advance(character, size, bold)
    left, top = min([at for _, at, _ in stamps], default=0), min([up for _, _, up in stamps], default=0)
    right = max([at + letter.shape[1] for letter, at, _ in stamps], default=0)
    bottom = max([up + letter.shape[0] for letter, _, up in stamps], default=0)
    whole = np.zeros((bottom - top, right - left), dtype=np.bool_)
    for letter, at, up in stamps:
        whole[up - top : up - top + letter.shape[0], at - left : at - left + letter.shape[1]] |= letter
    return whole, left, top


@lru_cache(maxsize=8192)
def _letter(character: str, size: int, bold: bool) -> tuple[Dots, int, int]:
    """Draw one letter; also tell how far its picture lies right of and below (mostly: above) its base point."""
    left, top, right, bottom = (int(each) for each in font(size, bold).getbbox(character, mode="1", anchor="ls"))
    image = Image.new("1", (max(0, right - left), max(0, bottom - top)))
    pen = ImageDraw.Draw(image)
    pen.fontmode = "1"
    pen.text((-left, -top), character, fill=1, font=font(size, bold), anchor="ls")
    return np.asarray(image), left, top


@lru_cache(maxsize=256)
def _disc_mask(radius: int) -> Dots:
    rows, columns = np.ogrid[-radius : radius + 1, -radius : radius + 1]
    return np.asarray(rows * rows + columns * columns <= radius * radius + radius)


@lru_cache(maxsize=1024)
def _polygon_mask(points: tuple[tuple[int, int], ...]) -> Dots:
    size = (max(x for x, _ in points) + 1, max(y for _, y in points) + 1)
    image = Image.new("1", size)
    ImageDraw.Draw(image).polygon(points, fill=1)
    return np.asarray(image)
