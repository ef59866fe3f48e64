"""Proofreading: what was drawn is read back by an independent reader before it leaves."""

from collections.abc import Iterable

import numpy as np
import zxingcpp

from labels.errors import Misprint
from labels.layout.label_layout import LabelLayout
from labels.output import raster
from labels.symbols.qr_symbol import QUIET_ZONE
from shared.codes import format_code

_QR_FORMAT = zxingcpp.barcode_formats_from_str("QRCode")


def proofread_label(layout: LabelLayout, drawn: raster.Bitmap | None = None) -> None:
    """Read a drawn label back with zxing-cpp and compare; raise Misprint, which names the label, on any
    difference.

    `drawn` is the label as drawn, when it is at hand.
    """
    canvas = raster.draw_label(layout) if drawn is None else drawn
    patch = _symbol_area(layout, canvas)
    if not _border_is_light(layout, patch):
        raise Misprint(f"{_label_name(layout)}: something was printed into the light border of its symbol.")
    barcodes = zxingcpp.read_barcodes(patch.astype(np.uint8) * np.uint8(255), formats=_QR_FORMAT)
    texts = [barcode.text for barcode in barcodes]
    if texts != [layout.face.link]:
        read = f"reads as {texts[0][:80]!r}" if texts else "does not read"
        raise Misprint(f"{_label_name(layout)} {read} instead of {layout.face.link!r}: nothing was printed.")


def proofread_labels(layouts: Iterable[LabelLayout]) -> None:
    """Proofread labels one by one; raise Misprint at the first that is wrong."""
    for layout in layouts:
        proofread_label(layout)


def _symbol_area(layout: LabelLayout, canvas: raster.Bitmap) -> raster.Bitmap:
    side = layout.symbol.side_dots
    return canvas[layout.symbol_y : layout.symbol_y + side, layout.symbol_x : layout.symbol_x + side]


def _border_is_light(layout: LabelLayout, patch: raster.Bitmap) -> bool:
    side, quiet = layout.symbol.side_dots, QUIET_ZONE * layout.symbol.dots
    edges = (patch[:quiet], patch[-quiet:], patch[:, :quiet], patch[:, -quiet:])
    return patch.shape == (side, side) and all(bool(edge.all()) for edge in edges)


def _label_name(layout: LabelLayout) -> str:
    head = f" ({layout.face.head})" if layout.face.head else ""
    return f"Label {format_code(layout.face.code)}{head}"
