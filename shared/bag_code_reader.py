"""Reading what suppliers already printed on the bag: the one door for scanned, pasted and photographed text.

ISO/IEC 15434 envelopes with ASC MH10.8.2 data identifiers, and GS1 element strings, also as hand scanners
mangle them. What cannot be understood is refused with a sentence.
"""

from collections.abc import Iterable
from datetime import date

from shared.bag_code import BadBagCode, BagCode
from shared.data_identifiers import envelope_of, is_envelope, read_envelope
from shared.gs1 import has_valid_check_digit, is_element_string, read_elements
from shared.scanner_input import as_encoded, spelled, symbology

__all__ = ["BadBagCode", "BagCode", "from_fields", "from_gtin", "is_bag_code", "read_bag_code", "spelled"]

_LONGEST = 2_000
_GS1_SYMBOLS = {"]C1", "]d2", "]Q3", "]e0", "]J1"}
"""Symbology identifiers that promise GS1 element strings (GenSpecs, section 5.1.3)."""


def is_bag_code(text: str) -> bool:
    """Tell whether a text begins as a bag code does, so that it is worth reading as one."""
    encoded = as_encoded(text)
    return is_envelope(encoded) or symbology(text) in _GS1_SYMBOLS or is_element_string(encoded)


def read_bag_code(text: str, today: date) -> BagCode:
    """Read a bag code as scanned, pasted or photographed; the text itself is kept in `raw`.

    `today` settles the century of two-digit years and what is out of date. Raises BadBagCode with a sentence.
    """
    if len(text) > _LONGEST:
        raise BadBagCode(f"{len(text)} characters are no bag code: scan one code at a time.")
    encoded = as_encoded(text)
    if is_envelope(encoded):
        return read_envelope(encoded, text, today)
    if symbology(text) in _GS1_SYMBOLS or is_element_string(encoded):
        return read_elements(encoded, text, today)
    if encoded.upper().startswith(("HTTP://", "HTTPS://", "WWW.")):
        raise BadBagCode("This is a web address, not a bag code: look for the supplier's other code on the bag.")
    raise BadBagCode("This is no bag code that can be read here: scan another code on the bag, or type it.")


def from_gtin(digits: str) -> str:
    """Write the bare number of a product's bar code (GTIN of 8, 12, 13 or 14 digits) as an element string.

    "" for a text that is none, its check digit included. Eight digits are as often something else: ask it only
    of what came out of such a bar code.
    """
    plain = digits.strip()
    is_gtin = len(plain) in {8, 12, 13, 14} and has_valid_check_digit(plain)
    return f"(01){plain.zfill(14)}" if is_gtin else ""


def from_fields(texts: Iterable[str]) -> str:
    """Join bar codes that hold one field each (part number, quantity, lot ...) into the bag code they stand for.

    "" unless they are at least two different fields, a part number among them.
    """
    return spelled(envelope_of(texts))
