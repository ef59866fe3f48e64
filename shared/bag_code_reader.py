"""Reading what suppliers already printed on the bag: the one door for scanned, pasted and photographed text.

ISO/IEC 15434 envelopes with ASC MH10.8.2 data identifiers, such fields without an envelope, GS1 element strings,
GS1 Digital Link addresses, and keys with values in braces, also as hand scanners mangle them. What cannot be
understood is refused with a sentence.
"""

from collections.abc import Iterable
from datetime import date

from shared.bag_code import BadBagCode, BagCode
from shared.data_identifiers import (
    build_envelope,
    looks_like_envelope,
    looks_like_fields,
    parse_envelope,
    parse_fields,
)
from shared.digital_link import looks_like_digital_link, parse_digital_link
from shared.gs1 import has_valid_check_digit, looks_like_element_string, parse_element_string
from shared.key_value_code import looks_like_key_values, parse_key_values
from shared.scanner_input import restore_separators, spell_separators, symbology_identifier

_MAX_LENGTH = 2_000
_GS1_SYMBOLS = {"]C1", "]d2", "]Q3", "]e0", "]J1"}
"""Symbology identifiers that promise GS1 element strings (GenSpecs, section 5.1.3)."""


def looks_like_bag_code(text: str) -> bool:
    """Tell whether a text begins as a bag code does, so that it is worth reading as one."""
    encoded = restore_separators(text)
    return (
        looks_like_envelope(encoded)
        or looks_like_digital_link(encoded)
        or looks_like_key_values(encoded)
        or looks_like_fields(encoded)
        or symbology_identifier(text) in _GS1_SYMBOLS
        or looks_like_element_string(encoded)
    )


def parse_bag_code(text: str, today: date) -> BagCode:
    """Read a bag code as scanned, pasted or photographed; the text itself is kept in `raw`.

    `today` settles the century of two-digit years and what is out of date. Raises BadBagCode with a sentence.
    """
    if len(text) > _MAX_LENGTH:
        raise BadBagCode(f"{len(text)} characters are no bag code: scan one code at a time.")
    encoded = restore_separators(text)
    if looks_like_envelope(encoded):
        return parse_envelope(encoded, text, today)
    if symbology_identifier(text) in _GS1_SYMBOLS or looks_like_element_string(encoded):
        return parse_element_string(encoded, text, today)
    if looks_like_digital_link(encoded):
        return parse_digital_link(encoded, text, today)
    if looks_like_key_values(encoded):
        return parse_key_values(encoded, text, today)
    if looks_like_fields(encoded):
        return parse_fields(encoded, text, today)
    if encoded.upper().startswith(("HTTP://", "HTTPS://", "WWW.")):
        raise BadBagCode("This is a web address, not a bag code: look for the supplier's other code on the bag.")
    raise BadBagCode("This is no bag code that can be read here: scan another code on the bag, or type it.")


def element_string_from_gtin(digits: str) -> str:
    """Write the bare number of a product's bar code (GTIN of 8, 12, 13 or 14 digits) as an element string.

    "" for a text that is none, its check digit included. Eight digits are as often something else: ask it only
    of what came out of such a bar code.
    """
    plain = digits.strip()
    is_gtin = len(plain) in {8, 12, 13, 14} and has_valid_check_digit(plain)
    return f"(01){plain.zfill(14)}" if is_gtin else ""


def envelope_from_barcodes(texts: Iterable[str]) -> str:
    """Join bar codes that hold one field each (part number, quantity, lot ...) into the bag code they stand for.

    "" unless they are at least two different fields, a part number among them.
    """
    return spell_separators(build_envelope(texts))
