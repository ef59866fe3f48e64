"""Photos of labels and bags: every symbol on them, and what each is. A photo is read and forgotten, never kept.

Its bytes come from outside: how large the picture would be is looked at before any of it is decoded, one photo is
decoded at a time, and few may wait for it, so that many at once can take neither the machine's memory nor all threads
of the service.
"""

from __future__ import annotations

import ctypes
import io
import sys
import threading
import time
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Annotated

import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageOps

from inventory.domain.buying.bag_receipts import MAX_CODE_LENGTH, is_bag_text, resolve_bag_code
from inventory.domain.common.code_lookup import describe_things, resolve_code
from inventory.domain.common.described import About
from inventory.domain.common.errors import Busy, DomainError, Invalid
from inventory.domain.common.records import ResolvedCode
from labels.symbols.decoder import read_symbols
from shared.bag_code_reader import element_string_from_gtin, envelope_from_barcodes
from shared.scanner_input import spell_separators

FORMATS = ("JPEG", "PNG", "WEBP")
MAX_PIXELS = 64_000_000  # the largest photo of most phones is 48 or 50 million
FIRST_PASS_PIXELS = 4096  # along the longer side: finer than that is looked at only when nothing was found
MAX_SECONDS = 1.5  # of computing, after which nothing more is tried; 0.8 is usual for a photo without a symbol
MAX_SYMBOLS = 20
MAX_WAITING = 2  # photos, while one is read
SYMBOL_USES = ("label", "bag", "other")

_PRODUCT_CODES = {"EAN-13", "EAN-8", "UPC-A", "UPC-E"}
_one_at_a_time = threading.Lock()
waiting_slots = threading.BoundedSemaphore(1 + MAX_WAITING)  # for the photo that is read and those that wait
_libc = ctypes.CDLL(None) if sys.platform.startswith("linux") else None


@dataclass(frozen=True)
class ScannedSymbol:
    """One symbol that was scanned: its text, what it is, and how to call it.

    ``kind`` of symbol and ``place`` on the photo ("top left") are empty where they are not known. ``what``: label
    (one of ours, ``scan`` says of what), bag (a supplier's code) or other (``sentence`` says why it is no use).
    """

    text: Annotated[str, "Its text, separators spelled; of a bag, POST /bag-codes takes it."]
    kind: Annotated[str, "The kind of symbol."]
    place: Annotated[str, "Where on the photo, such as top left."]
    what: Annotated[str, About("A label of ours, a supplier's bag, or neither.", choices=SYMBOL_USES)]
    title: Annotated[str, "What to call it."]
    scan: Annotated[ResolvedCode | None, "What our label is on."] = None
    sentence: Annotated[str, "Why it is no use, if it is none."] = ""


def read_photo(photo: bytes) -> tuple[ScannedSymbol, ...]:
    """Read every symbol on a JPEG, PNG or WebP, from the top left on, each text once.

    Raises Invalid with a sentence: no picture (reason bad_photo), too many dots (too_large), no symbol
    (nothing_found). Raises Busy while others wait for theirs.
    """
    with _wait_for_turn():
        symbols = _read_symbols(photo)
    if not symbols:
        raise Invalid(
            "No code was found on this photo. Hold the phone closer, so that the code fills a third of the picture, "
            "everything sharp and no glare on it; or type what stands beside it.",
            reason="nothing_found", errors={"photo": ["no code found"]},
        )  # fmt: skip
    return symbols


@contextmanager
def _wait_for_turn() -> Iterator[None]:
    """Wait for the photo that is being read, unless enough wait already."""
    if not waiting_slots.acquire(blocking=False):
        raise Busy("Other photos are being read: send this one again in a moment.", wait_seconds=3)
    try:
        with _one_at_a_time:
            try:
                yield
            finally:
                _release_memory()
    finally:
        waiting_slots.release()


def _release_memory() -> None:
    """Give back what a photo took: glibc would keep some hundred megabytes for each thread that read one."""
    trim = getattr(_libc, "malloc_trim", None)
    if trim is not None:
        trim(0)


def symbols_from_texts(texts: Iterable[str]) -> tuple[ScannedSymbol, ...]:
    """Say what some scanned texts are, as the symbols of a photo."""
    unique = dict.fromkeys(text.strip()[:MAX_CODE_LENGTH] for text in texts)
    return tuple(identify_symbol(text) for text in list(unique)[:MAX_SYMBOLS] if text)


def identify_symbol(text: str, kind: str = "", place: str = "") -> ScannedSymbol:
    """Say what one scanned text is."""
    if is_bag_text(text):
        return _identify_bag(text, kind, place)
    try:
        resolved = resolve_code(text)
    except DomainError as refused:
        return ScannedSymbol(text, kind, place, "other", _shortened(text), sentence=_unusable_reason(text, refused))
    description = describe_things([(resolved.what, resolved.id)])[0]
    return ScannedSymbol(
        text, kind, place, "label", " · ".join(filter(None, (description.title, description.detail))), resolved
    )


def _identify_bag(text: str, kind: str, place: str) -> ScannedSymbol:
    try:
        code = resolve_bag_code(text)
    except Invalid as refused:
        return ScannedSymbol(text, kind, place, "other", _shortened(text), sentence=refused.sentence)
    numbers = " · ".join(code.part_numbers) or _shortened(text)
    return ScannedSymbol(text, kind, place, "bag", numbers)


def _unusable_reason(text: str, refused: DomainError) -> str:
    """Say why a text is no use: of a label of ours what is wrong with it, of anything else that it is none."""
    if refused.reason == "unknown_code" or refused.more.get("did_you_mean"):
        return refused.sentence
    if text[:4].upper() in ("HTTP", "WWW."):
        return "This is the address of a web page, not a label of ours and not a bag code."
    return "This is no label of ours and no bag code; it may be a number to search for."


def _shortened(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:59]}…"


# ---- the picture -----------------------------------------------------------------------------------------


def _open_picture(photo: bytes) -> Image.Image:
    """Open a picture as shades of grey, upright, no finer than needs be; its size is judged before it is decoded."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of sizes that are judged here
            opened: Image.Image = Image.open(io.BytesIO(photo), formats=FORMATS)
    except Image.DecompressionBombError:
        raise _too_large_error(None) from None
    except Exception:  # whatever a decoder does with bytes from outside, it means the same: no picture
        raise _bad_photo_error() from None
    if opened.width * opened.height > MAX_PIXELS:
        raise _too_large_error(opened.width * opened.height)
    return opened


def _to_grey(opened: Image.Image, most: int | None) -> NDArray[np.uint8]:
    try:
        if most is not None:
            opened.draft("L", (most, most))  # a JPEG is decoded to an eighth, a quarter or half where that is enough
        flat = _on_white(opened).convert("L")
        if most is not None and max(flat.size) > most:
            flat.thumbnail((most, most), Image.Resampling.BILINEAR)
        return np.asarray(ImageOps.exif_transpose(flat))
    except Exception:  # as above: broken off, or no picture after its first bytes
        raise _bad_photo_error() from None


def _on_white(picture: Image.Image) -> Image.Image:
    if not (picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info):
        return picture
    see_through = picture if picture.mode == "RGBA" else picture.convert("RGBA")
    white = Image.new("L", see_through.size, 255)
    white.paste(see_through.convert("L"), mask=see_through.getchannel("A"))
    return white


def _bad_photo_error() -> Invalid:
    sentence = "This is no photo that can be read: send a JPEG, PNG or WebP."
    return Invalid(sentence, reason="bad_photo", errors={"photo": [sentence]})


def _too_large_error(pixels: int | None) -> Invalid:
    size = "far too many" if pixels is None else f"{pixels / 1e6:.0f} million"
    most = MAX_PIXELS // 1_000_000
    sentence = f"The photo has {size} dots, and at most {most} million are read: take it in a smaller size."
    return Invalid(sentence, reason="too_large", errors={"photo": [sentence]})


# ---- its symbols -----------------------------------------------------------------------------------------


def _read_symbols(photo: bytes) -> tuple[ScannedSymbol, ...]:
    """Look at a photo no finer than is enough, and as fine as it is only where nothing was found and time is left."""
    began = time.thread_time()
    for most in (FIRST_PASS_PIXELS, None):
        grey = _to_grey(_open_picture(photo), most)
        barcodes, picture = read_symbols(grey)
        is_all = max(grey.shape) < FIRST_PASS_PIXELS
        if barcodes or is_all or time.thread_time() - began > MAX_SECONDS:
            return _identify_symbols(barcodes, picture.shape)
    return ()


def _identify_symbols(barcodes: Iterable[zxingcpp.Barcode], shape: tuple[int, ...]) -> tuple[ScannedSymbol, ...]:
    regions = [(*_photo_region(barcode, shape), barcode.position.top_left.x, barcode) for barcode in barcodes]
    symbols: dict[str, ScannedSymbol] = {}
    for down, across, _, barcode in sorted(regions, key=lambda region: (region[0], region[2]))[:MAX_SYMBOLS]:
        text = _symbol_text(barcode)
        symbols.setdefault(text, identify_symbol(text, str(barcode.format), _region_text(down, across)))
    envelope = envelope_from_barcodes(symbols)
    if envelope and not any(barcode.what == "bag" for barcode in symbols.values()):
        return identify_symbol(envelope, "bar codes read together"), *symbols.values()
    return tuple(symbols.values())


def _symbol_text(barcode: zxingcpp.Barcode) -> str:
    """Return the text of a symbol with its separators spelled out; GS1 elements keep their prefix."""
    if str(barcode.format) in _PRODUCT_CODES:
        return element_string_from_gtin(barcode.text) or barcode.text
    if barcode.content_type == zxingcpp.ContentType.GS1:
        return spell_separators(f"{barcode.symbology_identifier}{barcode.bytes.decode('utf-8', 'replace')}")
    return spell_separators(barcode.text)


def _photo_region(barcode: zxingcpp.Barcode, shape: tuple[int, ...]) -> tuple[int, int]:
    """Tell which ninth of the photo a symbol's middle is in: 0 to 2 down, 0 to 2 across."""
    corners = (
        barcode.position.top_left,
        barcode.position.top_right,
        barcode.position.bottom_right,
        barcode.position.bottom_left,
    )
    y, x = sum(corner.y for corner in corners) / 4, sum(corner.x for corner in corners) / 4
    return min(2, int(3 * y / shape[0])), min(2, int(3 * x / shape[1]))


def _region_text(down: int, across: int) -> str:
    words = (("top", "", "bottom")[down], ("left", "", "right")[across])
    return " ".join(word for word in words if word) or "middle"
