"""GS1 Digital Link: a web address that holds GS1 elements, as newer bags carry it.

The address ends in a path of identifiers and values that begins with the product (01), such as
``/01/09521234543213/10/ABC?17=281231`` (GS1 Digital Link Standard: URI Syntax 1.6). Dates, counts and weights stand
in the query; what is no identifier there belongs to the shop behind the address.
"""

from __future__ import annotations

import re
from datetime import date
from urllib.parse import parse_qsl, unquote, urlsplit

from shared.bag_code import BagCode, BagCodeBuilder
from shared.gs1 import read_checked_element

_PATH_PATTERN = re.compile(r"/(01)/(\d{8}|\d{12,14})((?:/(?:22|10|21)/[^/]+){0,3})/?", re.ASCII)
_GTIN_DIGITS = 14


def looks_like_digital_link(text: str) -> bool:
    """Tell whether a text is a web address whose path names a product by its GTIN."""
    return _product_path(text) is not None


def parse_digital_link(text: str, raw: str, today: date) -> BagCode:
    """Read the elements of a Digital Link; raise BadBagCode when none of them is of use."""
    match = _product_path(text)
    assert match is not None
    reading = BagCodeBuilder(raw, "GS1 Digital Link", today)
    read_checked_element("01", match[2].zfill(_GTIN_DIGITS), reading)
    qualifiers = match[3].strip("/").split("/") if match[3] else []
    pairs = [*zip(qualifiers[::2], qualifiers[1::2], strict=True), *parse_qsl(urlsplit(text).query)]
    for identifier, value in pairs:
        if identifier.isascii() and identifier.isdigit():
            read_checked_element(identifier, unquote(value), reading)
        else:
            reading.other(identifier, "Part of the address", value)
    return reading.result()


def _product_path(text: str) -> re.Match[str] | None:
    if not re.match(r"https?://[^/\s]+/", text, re.IGNORECASE):
        return None
    try:
        path = urlsplit(text).path
    except ValueError:
        return None
    found = path.find("/01/")
    return _PATH_PATTERN.fullmatch(path, found) if found >= 0 else None
