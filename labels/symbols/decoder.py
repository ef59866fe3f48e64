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

Grey = NDArray[np.uint8]
Found = tuple[list[zxingcpp.Barcode], Grey]

_USUAL, _OTHER = zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram
_SMALL = 2000  # dots along the longer side: up to here, what was not found is looked for at twice the size
_LONG = 1.0  # seconds of computing; a usual photograph of 12 million dots takes 0.4 the usual way, one of noise 1.5


def read_symbols(grey: Grey, formats: zxingcpp.BarcodeFormats | None = None) -> Found:
    """Return the symbols that a grey picture (0 dark to 255 light) shows, of *formats* or any.

    With them comes the picture in which they were found, whose dots their places are in: the same one, a larger, or
    a smaller.
    """
    found = _read(grey, formats)
    if not found[0] and max(grey.shape) <= _SMALL:
        return _read(_scaled(grey, 2), formats)
    return found


def _read(grey: Grey, formats: zxingcpp.BarcodeFormats | None) -> Found:
    began = time.thread_time()
    if found := _tried(grey, formats, _USUAL):
        return found, grey
    if time.thread_time() - began > _LONG:
        grey = _scaled(grey, 0.5)
    return _tried(grey, formats, _OTHER), grey


def _tried(grey: Grey, formats: zxingcpp.BarcodeFormats | None, way: zxingcpp.Binarizer) -> list[zxingcpp.Barcode]:
    wanted: dict[str, Any] = {} if formats is None else {"formats": formats}
    return list(zxingcpp.read_barcodes(grey, binarizer=way, **wanted))


def _scaled(grey: Grey, by: float) -> Grey:
    picture = Image.fromarray(grey)
    way = Image.Resampling.BICUBIC if by > 1 else Image.Resampling.BILINEAR
    return np.asarray(picture.resize((round(picture.width * by), round(picture.height * by)), way))
