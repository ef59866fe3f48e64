"""Squares that hold keys and values in braces, as some suppliers print them: ``{on:4711,pm:WB-H4,qty:25}`` or JSON.

No standard says what the keys mean: those that many use are taken (common practice, no published source), the rest is
shown as it stands.
"""

from __future__ import annotations

import json
import re
from datetime import date

from shared.bag_code import BadBagCode, BagCode, BagCodeBuilder

_PAIR_PATTERN = re.compile(r"\s*([A-Za-z][\w .-]{0,30}?)\s*:\s*([^,]*)")
_BRACED_PATTERN = re.compile(r"\{\s*[A-Za-z][\w .-]{0,30}\s*:[^{}]*\}")
_FIELDS = {
    **dict.fromkeys(("pm", "mpn", "mfrpn", "manufacturerpartnumber", "partnumber", "partno", "pn"), "supplier_part"),
    **dict.fromkeys(("pc", "sku", "spn", "supplierpartnumber", "orderno", "ordercode"), "distributor_part"),
    **dict.fromkeys(("cpn", "customerpart", "customerpartnumber"), "customer_part"),
    **dict.fromkeys(("mfr", "mfg", "maker", "manufacturer", "brand"), "maker"),
    **dict.fromkeys(("lot", "lotno", "batch", "lotnumber"), "lot"),
    **dict.fromkeys(("dc", "datecode"), "date_code"),
    **dict.fromkeys(("sn", "serial", "serialnumber"), "serial"),
    **dict.fromkeys(("po", "purchaseorder", "ponumber"), "order"),
    **dict.fromkeys(("on", "so", "salesorder"), "supplier_order"),
    **dict.fromkeys(("coo", "country", "origin"), "country"),
}
_COUNTS = {"qty", "quantity", "q", "pcs"}


def looks_like_key_values(text: str) -> bool:
    """Tell whether a text is keys and values in one pair of braces, a part number or a quantity among them."""
    return bool({*_FIELDS, *_COUNTS} & {_plain(key) for key, _ in _pairs(text)})


def parse_key_values(text: str, raw: str, today: date) -> BagCode:
    """Read keys and values; raise BadBagCode when none of them is of use."""
    reading = BagCodeBuilder(raw, "keys and values", today)
    for key, value in _pairs(text):
        name = _plain(key)
        if not value:
            continue
        if name in _COUNTS:
            reading.count(value)
        elif name in _FIELDS:
            reading.note(_FIELDS[name], value)
        else:
            reading.other(key, "", value)
    return reading.result()


def _pairs(text: str) -> list[tuple[str, str]]:
    if text.startswith('{"'):
        return _json_pairs(text)
    if not _BRACED_PATTERN.fullmatch(text):
        return []
    matches = [_PAIR_PATTERN.fullmatch(pair) for pair in text[1:-1].split(",")]
    return [(match[1], match[2].strip()) for match in matches if match]


def _json_pairs(text: str) -> list[tuple[str, str]]:
    try:
        data = json.loads(text, parse_float=str, parse_int=str)
    except (ValueError, RecursionError):
        return []
    if not isinstance(data, dict):
        raise BadBagCode("The code holds a list, not the names of a bag's fields: type the bag by hand.")
    return [(key, str(value).strip()) for key, value in data.items() if isinstance(value, (str, int, float))]


def _plain(key: str) -> str:
    return re.sub(r"[^a-z0-9]", "", key.lower())
