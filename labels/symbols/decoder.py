"""Reading symbols off a photograph, in more than one way where the first finds nothing.

The usual way holds each dot against its surroundings; of a sharp, even photograph it misses one in some hundreds,
most of those turned by half a right angle. Those read against one grey for the whole picture, or at twice the size.

A picture that looks like symbols all over, such as one of pure noise, takes several times as long as a usual one.
Once it has taken long, the rest is tried at half the size.
"""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image

GreyImage = NDArray[np.uint8]
FoundSymbols = tuple[list[zxingcpp.Barcode], GreyImage]

_LOCAL_BINARIZER, _GLOBAL_BINARIZER = zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram
_MAX_UPSCALED_SIDE = (
    2000  # dots along the longer side: up to here, what was not found is looked for at twice the size
)
_SLOW_SECONDS = (
    1.0  # seconds of computing; a usual photograph of 12 million dots takes 0.4 the usual way, one of noise 1.5
)


def read_symbols(grey: GreyImage, formats: zxingcpp.BarcodeFormats | None = None) -> FoundSymbols:
    """Return the symbols that a grey picture (0 dark to 255 light) shows, of *formats* or any.

    With them comes the picture in which they were found, whose dots their places are in: the same one, a larger, or
    a smaller.
    """
    symbols = _read_both_ways(grey, formats)
    if not symbols[0] and max(grey.shape) <= _MAX_UPSCALED_SIDE:
        return _read_both_ways(_resize(grey, 2), formats)
    return symbols


def _read_both_ways(grey: GreyImage, formats: zxingcpp.BarcodeFormats | None) -> FoundSymbols:
    began = time.thread_time()
    if symbols := _read_barcodes(grey, formats, _LOCAL_BINARIZER):
        return symbols, grey
    if time.thread_time() - began > _SLOW_SECONDS:
        grey = _resize(grey, 0.5)
    return _read_barcodes(grey, formats, _GLOBAL_BINARIZER), grey


def _read_barcodes(
    grey: GreyImage, formats: zxingcpp.BarcodeFormats | None, binarizer: zxingcpp.Binarizer
) -> list[zxingcpp.Barcode]:
    options: dict[str, Any] = {} if formats is None else {"formats": formats}
    return list(zxingcpp.read_barcodes(grey, binarizer=binarizer, **options))


def _resize(grey: GreyImage, factor: float) -> GreyImage:
    picture = Image.fromarray(grey)
    resampling = Image.Resampling.BICUBIC if factor > 1 else Image.Resampling.BILINEAR
    return np.asarray(picture.resize((round(picture.width * factor), round(picture.height * factor)), resampling))
