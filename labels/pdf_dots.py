"""Pages of labels as PDF of the very dots that the printer puts on paper.

Written here, because a roll is a thousand small pages: every page shares one size and one drawing instruction, and
its picture is packed twice, as fax group 4 (ITU-T T.6) and the codes of that once more as Flate. A page so takes
three quarters of what a general writer makes of it.
"""

import io
import zlib
from collections.abc import Iterable, Sequence

from PIL import Image

from labels import raster
from labels.sheet import Page

_POINTS_PER_INCH = 72.0
_STRIP_OFFSETS, _STRIP_LENGTHS = 273, 279  # TIFF 6.0, section 8
_CATALOG, _PAGES, _CONTENT, _FACTS, _FIRST = 1, 2, 3, 4, 5
"""Numbers of the objects of the file; each page then takes two, itself and its picture."""


def dots(pages: Sequence[Page], title: str = "Labels") -> bytes:
    """Write pages of one size as PDF 1.4 (ISO 32000-1), one exact one-bit picture each."""
    first = pages[0]
    wide, tall = (_points(each, first.dpi) for each in (first.width, first.height))
    kids = " ".join(f"{_FIRST + 2 * at} 0 R" for at in range(len(pages)))
    drawing = f"q {wide} 0 0 {tall} 0 0 cm /I Do Q".encode()
    objects = [
        f"<</Type/Catalog/Pages {_PAGES} 0 R>>".encode(),
        f"<</Type/Pages/Count {len(pages)}/MediaBox[0 0 {wide} {tall}]/Kids[{kids}]>>".encode(),
        _stream("", drawing),
        f"<</Title({_escaped(title)})/Creator(Benchproof)>>".encode(),
    ]
    for number, page in enumerate(pages):
        objects.append(_page(_FIRST + 2 * number + 1))
        objects.append(_picture(page))
    return _file(objects)


def _page(picture: int) -> bytes:
    links = f"/Parent {_PAGES} 0 R/Contents {_CONTENT} 0 R/Resources<</XObject<</I {picture} 0 R>>>>"
    return f"<</Type/Page{links}>>".encode()


def _picture(page: Page) -> bytes:
    """Pack a page's dots; the fax code's 1 is our 1, a dot that stays light (ISO 32000-1, 7.4.6)."""
    fax = f"/DecodeParms[null<</K -1/BlackIs1 true/Columns {page.width}/Rows {page.height}>>]"
    size = f"/Width {page.width}/Height {page.height}/BitsPerComponent 1/ColorSpace/DeviceGray"
    head = f"/Type/XObject/Subtype/Image{size}/Filter[/FlateDecode/CCITTFaxDecode]{fax}"
    return _stream(head, zlib.compress(_group_4(raster.picture(raster.draw_page(page)))))


def _group_4(picture: Image.Image) -> bytes:
    """Encode a one-bit picture as one run of group 4 codes, by way of a TIFF of a single strip."""
    tiff = io.BytesIO()
    picture.save(tiff, "TIFF", compression="group4", strip_size=(picture.width + 7) // 8 * picture.height)
    with Image.open(tiff) as kept:
        tags = kept.tag_v2  # type: ignore[attr-defined]
        (begin,), (length,) = tags[_STRIP_OFFSETS], tags[_STRIP_LENGTHS]
    return tiff.getvalue()[begin : begin + length]


def _stream(head: str, body: bytes) -> bytes:
    return f"<<{head}/Length {len(body)}>>stream\n".encode() + body + b"\nendstream"


def _file(objects: Iterable[bytes]) -> bytes:
    """Put objects one after the other, and behind them the table of where each begins (ISO 32000-1, 7.5)."""
    out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
    places: list[int] = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer<</Size %d/Root %d 0 R/Info %d 0 R>>\n" % (len(places) + 1, _CATALOG, _FACTS)
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % table


def _points(dots: int, dpi: int) -> float:
    """Give a page's side in points, so near that its last dot is none more and none less."""
    return round(dots * _POINTS_PER_INCH / dpi, 4)


def _escaped(text: str) -> str:
    plain = text.encode("ascii", "replace").decode()
    return plain.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
