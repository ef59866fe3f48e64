"""Labels as pictures of one bit a dot, at the printer's own resolution.

A picture is an array of booleans, True where the paper stays light. Letters are stamped one by one from a
store of drawn letters, at the places that `typesetting` measured: that is several times as fast as drawing
each line anew.
"""

import struct
import zlib
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from labels.graphics.shapes import Box, Disc, Polygon, Shape, Text
from labels.graphics.typesetting import advance_width, load_font
from labels.layout.imposition import SheetPage
from labels.layout.label_layout import LabelLayout
from labels.symbols.qr_symbol import QUIET_ZONE, SizedSymbol

Bitmap = NDArray[np.bool_]


def blank_bitmap(width: int, height: int) -> Bitmap:
    """Make a light canvas of dots."""
    return np.ones((height, width), dtype=np.bool_)


def draw_label(layout: LabelLayout, canvas: Bitmap | None = None) -> Bitmap:
    """Draw a label, one element a printer dot, True where it stays light.

    `canvas` may be the place of the label on a larger canvas; default is one of its own.
    """
    if canvas is None:
        canvas = blank_bitmap(layout.width, layout.height)
    _paste(canvas, symbol_bitmap(layout.symbol), layout.symbol_x, layout.symbol_y)
    return draw_shapes(canvas, layout.ink)


def draw_shapes(canvas: Bitmap, inks: Iterable[Shape]) -> Bitmap:
    """Draw ink in order over what a canvas shows."""
    for ink in inks:
        if isinstance(ink, Text):
            _draw_text(canvas, ink)
        elif isinstance(ink, Box):
            _draw_box(canvas, ink)
        elif isinstance(ink, Disc):
            _draw_disc(canvas, ink)
        else:
            _draw_polygon(canvas, ink)
    return canvas


def draw_page(page: SheetPage) -> Bitmap:
    """Draw a page of labels; what a correction moved over its edge is cut off."""
    canvas = blank_bitmap(page.width, page.height)
    for placed in page.labels:
        darken(canvas, ~draw_label(placed.layout), placed.x, placed.y)
    return canvas


def darken(canvas: Bitmap, dark: Bitmap, x: int, y: int) -> None:
    """Darken the dots that a picture marks, its top left corner at (x, y), as far as they lie on the canvas."""
    _stamp(canvas, dark, x, y, light=False)


def symbol_bitmap(sized: SizedSymbol) -> Bitmap:
    """Draw a symbol with its light border."""
    light = np.pad(~sized.symbol.modules, QUIET_ZONE, constant_values=True)
    return light.repeat(sized.dots, axis=1).repeat(sized.dots, axis=0)


def to_image(dots: Bitmap) -> Image.Image:
    """Turn drawn dots into a one-bit picture."""
    return Image.frombytes("1", (dots.shape[1], dots.shape[0]), np.packbits(dots, axis=1).tobytes())


def to_png(dots: Bitmap, dpi: int) -> bytes:
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
            _png_chunk(b"IHDR", struct.pack(">IIBBBBB", wide, tall, 1, 0, 0, 0, 0)),  # one bit, grey
            _png_chunk(b"pHYs", struct.pack(">IIB", dots_a_metre, dots_a_metre, 1)),
            _png_chunk(
                b"IDAT", zlib.compress(rows.tobytes(), 1)
            ),  # twice as fast as the usual level, a quarter larger
            _png_chunk(b"IEND", b""),
        )
    )


def _png_chunk(kind: bytes, data: bytes) -> bytes:
    body = kind + data
    return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))


def _paste(canvas: Bitmap, piece: Bitmap, x: int, y: int) -> None:
    canvas[y : y + piece.shape[0], x : x + piece.shape[1]] = piece


def _stamp(canvas: Bitmap, mask: Bitmap, x: int, y: int, light: bool) -> None:
    """Colour the dots that a mask marks, as far as they lie on the canvas."""
    top, left = max(0, -y), max(0, -x)
    target = canvas[max(0, y) : y + mask.shape[0], max(0, x) : x + mask.shape[1]]
    mask = mask[top : top + target.shape[0], left : left + target.shape[1]]
    if light:
        target |= mask
    else:
        target &= ~mask


def _draw_box(canvas: Bitmap, box: Box) -> None:
    canvas[max(0, box.y) : box.y + box.height, max(0, box.x) : box.x + box.width] = box.white


def _draw_disc(canvas: Bitmap, disc: Disc) -> None:
    _stamp(canvas, _disc_mask(disc.radius), disc.x - disc.radius, disc.y - disc.radius, disc.white)


def _draw_polygon(canvas: Bitmap, area: Polygon) -> None:
    left, top = min(x for x, _ in area.points), min(y for _, y in area.points)
    mask = _polygon_mask(tuple((x - left, y - top) for x, y in area.points))
    _stamp(canvas, mask, left, top, area.white)


def _draw_text(canvas: Bitmap, text: Text) -> None:
    letters, right, up = text_line_bitmap(text.text, text.size, text.bold)
    _stamp(canvas, letters, text.x + right, text.base + up, text.white)


@lru_cache(maxsize=4096)
def text_line_bitmap(text: str, size: int, bold: bool) -> tuple[Bitmap, int, int]:
    """Draw one line, True where there is a letter; also tell how far it lies right of and below its base point."""
    stamps: list[tuple[Bitmap, int, int]] = []
    x = 0
    for character in text:
        letter, right, up = _glyph_bitmap(character, size, bold)
        if letter.size:
            stamps.append((letter, x + right, up))
        x += advance_width(character, size, bold)
    left, top = min([offset for _, offset, _ in stamps], default=0), min([up for _, _, up in stamps], default=0)
    right = max([offset + letter.shape[1] for letter, offset, _ in stamps], default=0)
    bottom = max([up + letter.shape[0] for letter, _, up in stamps], default=0)
    whole = np.zeros((bottom - top, right - left), dtype=np.bool_)
    for letter, offset, up in stamps:
        whole[up - top : up - top + letter.shape[0], offset - left : offset - left + letter.shape[1]] |= letter
    return whole, left, top


@lru_cache(maxsize=8192)
def _glyph_bitmap(character: str, size: int, bold: bool) -> tuple[Bitmap, int, int]:
    """Draw one letter; also tell how far its picture lies right of and below (mostly: above) its base point."""
    left, top, right, bottom = (int(side) for side in load_font(size, bold).getbbox(character, mode="1", anchor="ls"))
    image = Image.new("1", (max(0, right - left), max(0, bottom - top)))
    pen = ImageDraw.Draw(image)
    pen.fontmode = "1"
    pen.text((-left, -top), character, fill=1, font=load_font(size, bold), anchor="ls")
    return np.asarray(image), left, top


@lru_cache(maxsize=256)
def _disc_mask(radius: int) -> Bitmap:
    rows, columns = np.ogrid[-radius : radius + 1, -radius : radius + 1]
    return np.asarray(rows * rows + columns * columns <= radius * radius + radius)


@lru_cache(maxsize=1024)
def _polygon_mask(points: tuple[tuple[int, int], ...]) -> Bitmap:
    size = (max(x for x, _ in points) + 1, max(y for _, y in points) + 1)
    image = Image.new("1", size)
    ImageDraw.Draw(image).polygon(points, fill=1)
    return np.asarray(image)
