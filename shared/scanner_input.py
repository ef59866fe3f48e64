"""Text as hand scanners type it, put back as the symbol had it.

The separators of bag codes are control characters (ISO/IEC 646): GS between fields, RS between formats, EOT
at the end. No keyboard has them, so scanners type words or signs for them, or nothing; browsers drop them
too.
"""

import re

GS, RS, EOT = "\x1d", "\x1e", "\x04"

_SEPARATOR_SPELLINGS = (
    (GS, r"[{<\[(](?:GS|FNC1|0X1D)[}>\])]|\^\]|\\X1D|\\U001D|\\035|\u241d|\u2194|\xe8(?=\d{2})"),
    (RS, r"[{<\[(](?:RS|0X1E)[}>\])]|\^\^|\\X1E|\\U001E|\\036|\u241e"),
    (EOT, r"[{<\[(](?:EOT|0X04)[}>\])]|\^D(?=\s*$)|\\X04|\\U0004|\\004|\u2404"),
)
_SEPARATOR_PATTERNS = tuple((sign, re.compile(pattern, re.IGNORECASE)) for sign, pattern in _SEPARATOR_SPELLINGS)
_SYMBOLOGY_PATTERN = re.compile(r"\][A-Za-z]\d(?=.)", re.DOTALL)
_CHARACTER_SET_PATTERN = re.compile(r"^\\\d{6}", re.ASCII)
_PADDING_CHARACTERS = " \t\r\n\x00\ufeff"


def restore_separators(scanned: str) -> str:
    """Return the text with real separators and without the reader's own prefix.

    The prefix is a symbology identifier such as "]d1", and may be a character set such as "\\000026" as well
    (ISO/IEC 15424).
    """
    text = _strip_padding(scanned)
    text = _CHARACTER_SET_PATTERN.sub("", text[len(symbology_identifier(text)) :])
    for sign, pattern in _SEPARATOR_PATTERNS:
        text = pattern.sub(sign, text)
    return text


def symbology_identifier(scanned: str) -> str:
    """Return the symbology identifier a scanner put in front, such as "]C1", or ""."""
    match = _SYMBOLOGY_PATTERN.match(_strip_padding(scanned))
    return match[0] if match else ""


def spell_separators(scanned: str) -> str:
    """Write the separators of a scanned text as words ({GS}), so that it can be shown, kept, and read again."""
    text = _strip_padding(scanned)
    for sign, pattern in _SEPARATOR_PATTERNS:
        text = pattern.sub(sign, text)
    for sign, word in ((GS, "{GS}"), (RS, "{RS}"), (EOT, "{EOT}")):
        text = text.replace(sign, word)
    return text


def _strip_padding(scanned: str) -> str:
    """Leave out what readers pad with: space around it, and NUL anywhere, which no field of a bag may hold."""
    return scanned.replace("\x00", "").strip(_PADDING_CHARACTERS)
