"""Pages of labels as PDF of the very dots that the printer puts on paper.

Written here, because a roll is a thousand small pages that say much the same: what several labels share is one
picture, drawn once and laid wherever it belongs (`stamps`). Every picture has one sample a dot and is laid on whole
dots, so that nothing is ever scaled. It is packed twice, as fax group 4 (ITU-T T.6) and the codes of that as Flate.
"""

import io
import math
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from PIL import Image

from labels.layout.imposition import SheetPage
from labels.output import raster, stamps
from labels.output.raster import Bitmap
from labels.output.stamps import Stamp, Stampable
from labels.units import POINTS_PER_INCH

_STRIP_OFFSETS, _STRIP_LENGTHS = 273, 279  # TIFF 6.0, section 8
_INSET_DOTS = 0.02
"""Dots by which a picture keeps off the edges of the dots that it covers. Some readers darken every dot that it
touches, by however little a rounded number, and stretch it over them; to others a fiftieth makes no difference."""

_CATALOG_NUMBER, _PAGES_NUMBER, _INFO_NUMBER, _FIRST_FREE_NUMBER = 1, 2, 3, 4
"""Numbers of the objects of the file; pages, what draws them, and pictures follow."""


@dataclass(frozen=True, slots=True)
class _ImageObject:
    """A picture in the file: its object's number, its size, and where it lies from the dot that it is placed by."""

    number: int
    width: int
    height: int
    x: int
    y: int


def write_pages(pages: Sequence[SheetPage], title: str = "Labels") -> bytes:
    """Write pages of one size as PDF 1.4 (ISO 32000-1), dot for dot as `raster.draw_page` draws them."""
    first = pages[0]
    box = f"[0 0 {_side_in_points(first.width, first.dpi)} {_side_in_points(first.height, first.dpi)}]"
    drawing = _PdfObjects(stamps.repeated_elements(pages))
    kids = " ".join(f"{drawing.page(page)} 0 R" for page in pages)
    return _write_file([
        f"<</Type/Catalog/Pages {_PAGES_NUMBER} 0 R>>".encode(),
        f"<</Type/Pages/Count {len(pages)}/MediaBox{box}/Kids[{kids}]>>".encode(),
        f"<</Title({_escaped_string(title)})/Creator(Benchproof)>>".encode(),
        *drawing.objects,
    ])  # fmt: skip


class _PdfObjects:
    """The objects of pages and pictures, in the order of their numbers; a shared picture is among them once."""

    def __init__(self, common: frozenset[Stampable]) -> None:
        self.objects: list[bytes] = []
        self._common = common
        self._known: dict[Stampable, _ImageObject | None] = {}

    def page(self, page: SheetPage) -> int:
        """Add a page with all that draws it; return its object's number."""
        own = self._picture(stamps.unique_stamp(page, self._common))
        laid = [(own, 0, 0)] if own else []
        for mark, x, y in stamps.placed_repeated_elements(page, self._common):
            if mark not in self._known:
                self._known[mark] = self._picture(stamps.draw_stamp(mark))
            if picture := self._known[mark]:
                laid.append((picture, x, y))
        content = self._add(_pdf_stream("/Filter/FlateDecode", zlib.compress(_content_stream(page, laid), 9)))
        names = "".join(f"/{number} {number} 0 R" for number in sorted({picture.number for picture, _, _ in laid}))
        links = f"/Parent {_PAGES_NUMBER} 0 R/Contents {content} 0 R/Resources<</XObject<<{names}>>>>"
        return self._add(f"<</Type/Page{links}>>".encode())

    def _picture(self, stamp: Stamp) -> _ImageObject | None:
        """Add the picture of a stamp, if anything is on it."""
        if not stamp.dark.size:
            return None
        tall, wide = stamp.dark.shape
        return _ImageObject(self._add(_image_stream(stamp.dark)), wide, tall, stamp.x, stamp.y)

    def _add(self, body: bytes) -> int:
        self.objects.append(body)
        return _FIRST_FREE_NUMBER + len(self.objects) - 1


def _content_stream(page: SheetPage, laid: Iterable[tuple[_ImageObject, int, int]]) -> bytes:
    """Lay pictures on a page, in dots; those of PDF are counted from the bottom (ISO 32000-1, 8.3.2.3)."""
    dot = f"{POINTS_PER_INCH / page.dpi:.8f}"
    commands = [f"{dot} 0 0 {dot} 0 0 cm"]
    for image, x, y in laid:
        left, bottom = x + image.x + _INSET_DOTS, page.height - (y + image.y + image.height) + _INSET_DOTS
        wide, tall = image.width - 2 * _INSET_DOTS, image.height - 2 * _INSET_DOTS
        commands.append(f"q {wide:.2f} 0 0 {tall:.2f} {left:.2f} {bottom:.2f} cm/{image.number} Do Q")
    return "\n".join(commands).encode()


def _image_stream(dark: Bitmap) -> bytes:
    """Pack a picture that darkens what it marks and leaves the rest as it is (ISO 32000-1, 8.9.6.2)."""
    tall, wide = dark.shape
    fax = f"/DecodeParms[null<</K -1/Columns {wide}/Rows {tall}>>]"  # its dark, 0 once decoded, is ours
    size = f"/Width {wide}/Height {tall}/ImageMask true"
    head = f"/Type/XObject/Subtype/Image{size}/Filter[/FlateDecode/CCITTFaxDecode]{fax}"
    return _pdf_stream(head, zlib.compress(_encode_group_4(raster.to_image(dark)), 9))


def _encode_group_4(picture: Image.Image) -> bytes:
    """Encode a one-bit picture as one run of group 4 codes, by way of a TIFF of a single strip."""
    tiff = io.BytesIO()
    picture.save(tiff, "TIFF", compression="group4", strip_size=(picture.width + 7) // 8 * picture.height)
    with Image.open(tiff) as strip:
        tags = strip.tag_v2  # type: ignore[attr-defined]
        (begin,), (length,) = tags[_STRIP_OFFSETS], tags[_STRIP_LENGTHS]
    return tiff.getvalue()[begin : begin + length]


def _pdf_stream(head: str, body: bytes) -> bytes:
    return f"<<{head}/Length {len(body)}>>stream\n".encode() + body + b"\nendstream"


def _write_file(objects: Iterable[bytes]) -> bytes:
    """Put objects one after the other, and behind them the table of where each begins (ISO 32000-1, 7.5)."""
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places: list[int] = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer<</Size %d/Root %d 0 R/Info %d 0 R>>\n" % (len(places) + 1, _CATALOG_NUMBER, _INFO_NUMBER)
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % table


def _side_in_points(dots: int, dpi: int) -> float:
    """Give a page's side in points, so little short of its last dot's edge that no reader adds another."""
    return math.floor((dots - _INSET_DOTS / 10) * POINTS_PER_INCH / dpi * 1e5) / 1e5


def _escaped_string(text: str) -> str:
    plain = text.encode("ascii", "replace").decode()
    return plain.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
