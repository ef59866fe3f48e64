"""Bags and photos that the tests share: codes as suppliers print them, drawn by zxing-cpp, photographed plainly."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import numpy as np
import zxingcpp
from PIL import Image

from inventory.domain.labelling import photo_codes

GS, RS, EOT = "\x1d", "\x1e", "\x04"
BARCODE_FORMATS = zxingcpp.BarcodeFormat


def iso15434_envelope(*fields: str) -> str:
    """Write an ISO/IEC 15434 envelope with MH10.8.2 fields, as a symbol holds it."""
    return f"[)>{RS}06{GS}{GS.join(fields)}{RS}{EOT}"


def draw_symbol(text: str, symbol: Any = BARCODE_FORMATS.DataMatrix, scale: int = 6, **how: Any) -> Image.Image:
    """Draw a text as a symbol with its light border."""
    barcode = zxingcpp.create_barcode(text, symbol, **how)
    picture = zxingcpp.write_barcode_to_image(barcode, scale=scale, add_quiet_zones=True)
    return Image.fromarray(np.asarray(picture)).convert("L")


def take_photo(*symbols: Image.Image, kind: str = "JPEG", size: tuple[int, int] = (1600, 1200), **how: Any) -> bytes:
    """Photograph symbols side by side, from the top left on, on a grey bench."""
    bench = Image.new("L", size, 170)
    x = y = tallest = 40
    for symbol in symbols:
        if x + symbol.width > size[0]:
            x, y, tallest = 40, y + tallest + 40, 0
        bench.paste(symbol, (x, y))
        x, tallest = x + symbol.width + 80, max(tallest, symbol.height)
    return encode_image(bench, kind, **how)


@contextmanager
def photo_queue() -> Iterator[None]:
    """Let as many photos wait as may."""
    with ExitStack() as waiting:
        for _ in range(1 + photo_codes.MAX_WAITING):
            waiting.enter_context(photo_codes.waiting_slots)
        yield


def encode_image(picture: Image.Image, kind: str = "JPEG", **how: Any) -> bytes:
    """Write a picture as the bytes of a file."""
    out = io.BytesIO()
    picture.save(out, kind, **how)
    return out.getvalue()
