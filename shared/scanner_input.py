"""Text as hand scanners type it, put back as the symbol had it.

The separators of bag codes are control characters (ISO/IEC 646): GS between fields, RS between formats, EOT
at the end. No keyboard has them, so scanners type words or signs for them, or nothing; browsers drop them
too.
"""

import re

from shared.keyboard_layouts import undo_keyboard_layout

GS, RS, EOT = "\x1d", "\x1e", "\x04"

_SEPARATOR_SPELLINGS = (
    (GS, r"[{<\[(](?:GS|FNC1|0X1D)[}>\])]|\^\]|[~^]d?029|%1D|&#29;|\\X1D|\\U001D|\\035|\u241d|\u2194|\xe8(?=\d{2})"),
    (RS, r"[{<\[(](?:RS|0X1E)[}>\])]|\^\^|[~^]d?030|%1E|&#30;|\\X1E|\\U001E|\\036|\u241e"),
    (EOT, r"[{<\[(](?:EOT|0X04)[}>\])]|[~^]d?004|%04|&#4;|\^D(?=\s*$)|\\X04|\\U0004|\\004|\u2404"),
)
_SEPARATOR_PATTERNS = tuple((sign, re.compile(pattern, re.IGNORECASE)) for sign, pattern in _SEPARATOR_SPELLINGS)
_HEADER_PATTERN = re.compile(r"(\[\)>)([^\w]{0,6})(0[56])([^\w\x1d]{1,6})(?=\w)", re.ASCII)
_FIELD_START = re.compile(r"\d{0,3}([A-Za-z])", re.ASCII)
_SYMBOLOGY_PATTERN = re.compile(r"\][A-Za-z]\d(?=.)", re.DOTALL)
_CHARACTER_SET_PATTERN = re.compile(r"^\\\d{6}", re.ASCII)
_PADDING_CHARACTERS = " \t\r\n\x00\ufeff"


def restore_separators(scanned: str) -> str:
    """Return the text with real separators and without the reader's own prefix.

    The prefix is a symbology identifier such as "]d1", and may be a character set such as "\\000026" as well
    (ISO/IEC 15424).
    """
    text = undo_keyboard_layout(_strip_padding(scanned))
    text = _CHARACTER_SET_PATTERN.sub("", text[len(symbology_identifier(text)) :])
    for sign, pattern in _SEPARATOR_PATTERNS:
        text = pattern.sub(sign, text)
    return _restore_capitals(_restore_from_header(text))


def _restore_from_header(text: str) -> str:
    """Take what stands in an envelope's header in place of its separators for them all over: a tab, "|", "#" ...

    An envelope begins "[)>", RS, the number of its format, GS: what a scanner types there for the two, it types
    everywhere.
    """
    match = _HEADER_PATTERN.match(text)
    if match is None:
        return text
    header, rs, kind, gs = match.groups()
    body = text[match.end() :].replace(gs, GS)
    if rs and rs not in (RS, gs):
        body = body.replace(rs, RS)
    return f"{header}{RS}{kind}{GS}{body}"


def _restore_capitals(text: str) -> str:
    """Turn capitals and small letters round when all identifiers of an envelope are small: caps lock was on."""
    if not text.startswith("[)>"):
        return text
    fields = [field for field in re.split(f"[{GS}{RS}]", text[3:])[1:] if field.strip(EOT)]
    starts = [match[1] for field in fields if (match := _FIELD_START.match(field))]
    return text.swapcase() if starts and all(start.islower() for start in starts) else text


def symbology_identifier(scanned: str) -> str:
    """Return the symbology identifier a scanner put in front, such as "]C1", or ""."""
    match = _SYMBOLOGY_PATTERN.match(_strip_padding(scanned))
    return match[0] if match else ""


def spell_separators(scanned: str) -> str:
    """Write the separators of a scanned text as words ({GS}), so that it can be shown, kept, and read again."""
    text = restore_separators(scanned) if _is_envelope_mangled(scanned) else _strip_padding(scanned)
    for sign, pattern in _SEPARATOR_PATTERNS:
        text = pattern.sub(sign, text)
    for sign, word in ((GS, "{GS}"), (RS, "{RS}"), (EOT, "{EOT}")):
        text = text.replace(sign, word)
    return text


def _is_envelope_mangled(scanned: str) -> bool:
    """Tell whether a keyboard or a header shows that the text is not as the symbol had it."""
    plain = _strip_padding(scanned)
    return undo_keyboard_layout(plain) != plain or _HEADER_PATTERN.match(plain) is not None


def _strip_padding(scanned: str) -> str:
    """Leave out what readers pad with: space around it, and NUL anywhere, which no field of a bag may hold."""
    return scanned.replace("\x00", "").strip(_PADDING_CHARACTERS)
