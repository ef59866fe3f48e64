"""Reading symbols off a photograph, in more than one way where the first finds nothing.

The usual way holds each dot against its surroundings; of a sharp, even photograph it misses one in some hundreds,
most of those turned by half a right angle. Those read against one grey for the whole picture, or at twice the size.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image

Grey = NDArray[np.uint8]

_WAYS = (zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram)
_SMALL = 2000  # dots along the longer side: up to here, what was not found is looked for at twice the size


def read_symbols(grey: Grey, formats: zxingcpp.BarcodeFormats | None = None) -> tuple[list[zxingcpp.Barcode], Grey]:
    """Return the symbols that a grey picture (0 dark to 255 light) shows, of *formats* or any.

    With them comes the picture in which they were found, whose dots their places are in: the same one, or a larger.
    """
    found = _read(grey, formats)
    if not found and max(grey.shape) <= _SMALL:
        grey = _twice(grey)
        found = _read(grey, formats)
    return found, grey


def _read(grey: Grey, formats: zxingcpp.BarcodeFormats | None) -> list[zxingcpp.Barcode]:
    wanted: dict[str, Any] = {} if formats is None else {"formats": formats}
    for way in _WAYS:
        found = zxingcpp.read_barcodes(grey, binarizer=way, **wanted)
        if found:
            return list(found)
    return []


def _twice(grey: Grey) -> Grey:
    picture = Image.fromarray(grey)
    return np.asarray(picture.resize((2 * picture.width, 2 * picture.height), Image.Resampling.BICUBIC))
