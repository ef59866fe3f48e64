"""Scannable codes: what stands under and inside the square of every label we print.

A code is nine characters: a type letter, seven random characters of an unambiguous alphabet, and a check
character by ISO 7064 MOD 37-36. Nine, because `HTTPS://BENCH.LAN/S/` and nine more make 29 characters,
exactly what a version 2 QR symbol holds in alphanumeric mode at error level Q (ISO/IEC 18004, table 7).

The alphabet has no 0 1 I L O (look alike), no A E U (a code never spells a word) and no Y Z (a hand scanner
set to the other keyboard swaps them). The check character is drawn from it too: a draw that would end in
any other is drawn again. MOD 37-36 catches every single wrong character but not every swap of neighbours (C
and D after certain beginnings pass unseen), so a code with such a swap is never drawn and never accepted
either. Hence, for every code: one character wrong, or two neighbours swapped, is no code.
"""

import re
import secrets
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import unquote

from shared.keyboard_layouts import undo_keyboard_layout
from shared.text import quoted

CODE_KINDS = {"B": "bin", "L": "lot", "P": "piece", "J": "job", "O": "order"}
"""What each type letter stands for. Add a line for a new kind; never reuse a letter."""

CODE_ALPHABET = "23456789BCDFGHJKMNPQRSTVWX"
CODE_LENGTH = 9

_LETTER_OF_KIND = {kind: letter for letter, kind in CODE_KINDS.items()}
_ISO_7064 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_CHARACTER_VALUES = {character: value for value, character in enumerate(_ISO_7064)}
_FIRST_CHARACTER_FIXES = {"1": "L", "I": "L", "0": "O", "8": "B"}
_SEPARATORS = re.compile(r"[\s\-_.\u2010-\u2015\u2212\u200b-\u200f\ufeff]+")
_NOT_IN_A_CODE = re.compile(r"[^0-9A-Z]")


class BadCode(ValueError):
    """The text is not a code; the message is a sentence that says what is wrong with it."""


@dataclass(frozen=True, slots=True)
class Code:
    """A valid code: its nine characters and the kind of thing it labels."""

    text: str
    kind: str

    def __str__(self) -> str:
        return self.text


def generate_code(kind: str, choose: Callable[[Sequence[str]], str] = secrets.choice) -> str:
    """Draw a code for a kind of thing ("bin", "lot", ...), about 5 thousand million to choose from.

    `choose` picks one element of a sequence. Two draws can meet, so the keeper of codes must insist on each
    being unique and draw again. Raises ValueError for a kind that has no type letter.
    """
    if kind not in _LETTER_OF_KIND:
        raise ValueError(f"No type letter for {kind!r}; codes exist for {', '.join(_LETTER_OF_KIND)}.")
    while True:
        stem = _LETTER_OF_KIND[kind] + "".join(choose(CODE_ALPHABET) for _ in range(CODE_LENGTH - 2))
        text = stem + check_character(stem)
        if text[-1] in CODE_ALPHABET and _is_sound(text):
            return text


def check_character(stem: str) -> str:
    """Work out the ISO 7064 MOD 37-36 check character that follows upper-case letters and digits.

    ISO 7064, hybrid system for alphanumeric strings: fold each value into a running product modulo 37, and
    choose the last value so that the sum leaves 1 modulo 36.
    """
    return _ISO_7064[(1 - _iso_7064_product(stem)) % 36]


def parse_code(text: str) -> Code:
    """Read a code as typed, or out of any address that ends in one, whatever its host.

    Raises BadCode with a sentence that names the slip.
    """
    typed = undo_keyboard_layout(unicodedata.normalize("NFKC", text).strip())
    last_part = _code_in_url(typed) if _looks_like_url(typed) else typed
    if last_part is None:
        raise BadCode(f"{quoted(typed)} is an address that does not end in a code: scan our own label.")
    code = normalise_code(last_part)
    _check_code(code, typed)
    return Code(code, CODE_KINDS[code[0]])


def normalise_code(text: str) -> str:
    """Write a typed code in upper case without spaces and dashes, valid or not.

    Only the first character is ever read as another one: it is always a letter, so 1 and I mean L, 0 means
    O and 8 means B. Further on no two characters of the alphabet share a look, so nothing is guessed there.
    """
    bare = _strip_separators(text)
    return _FIRST_CHARACTER_FIXES.get(bare[:1], bare[:1]) + bare[1:]


def codes_one_typo_away(text: str) -> Iterator[str]:
    """Yield every code that one slip turns into this text, each once.

    A slip is one wrong character, two neighbours swapped, one character left out or one too many. Which of
    them are known is for the caller to look up ("did you mean ...?").
    """
    bare = _strip_separators(text)[: 2 * CODE_LENGTH]
    readings = dict.fromkeys((normalise_code(bare), bare))  # 8J... is a mistyped BJ... or a swapped J8...
    seen = set(readings)
    for candidate in (candidate for reading in readings for candidate in _one_typo_away(reading)):
        if candidate not in seen:
            seen.add(candidate)
            if _is_valid_code(candidate):
                yield candidate


def format_code(code: str) -> str:
    """Write a code in groups of three for people: "B7KM4Q2XR" as "B7K-M4Q-2XR"."""
    return "-".join(code[start : start + 3] for start in range(0, len(code), 3))


def name_or_code(name: str | None, code: str) -> str:
    """Return what people call a labelled thing: its name, or its code in groups where it has none."""
    return name or format_code(code)


def label_url(address: str, code: str) -> str:
    """Build the text of a label's symbol from a service address ("https://bench.lan") and a code.

    All in upper case, so that QR alphanumeric mode holds it. Scheme and host may be written in any case
    (RFC 3986, section 6.2.2.1); the service reads the rest in any case.
    """
    return f"{address.rstrip('/')}/s/{code}".upper()


def _strip_separators(text: str) -> str:
    return _SEPARATORS.sub("", unicodedata.normalize("NFKC", text).upper())


def _iso_7064_product(text: str) -> int:
    product = 36
    for character in text:
        product = 2 * ((product + _CHARACTER_VALUES[character]) % 36 or 36) % 37
    return product


def _has_valid_check(text: str) -> bool:
    return (_iso_7064_product(text[:-1]) + _CHARACTER_VALUES[text[-1]]) % 36 == 1


def _is_sound(text: str) -> bool:
    """Tell whether the check character agrees and would notice any swap of neighbours."""
    return _has_valid_check(text) and not any(
        swapped != text and _has_valid_check(swapped) for swapped in _neighbour_swaps(text)
    )


def _is_valid_code(text: str) -> bool:
    return (
        len(text) == CODE_LENGTH and text[0] in CODE_KINDS and set(text[1:]) <= set(CODE_ALPHABET) and _is_sound(text)
    )


def _neighbour_swaps(text: str) -> Iterator[str]:
    for position in range(len(text) - 1):
        yield text[:position] + text[position + 1] + text[position] + text[position + 2 :]


def _one_typo_away(text: str) -> Iterator[str]:
    if len(text) == CODE_LENGTH:
        yield from _neighbour_swaps(text)
        for position in range(CODE_LENGTH):
            for character in CODE_ALPHABET if position else CODE_KINDS:
                yield text[:position] + character + text[position + 1 :]
    elif len(text) == CODE_LENGTH - 1:
        for position in range(CODE_LENGTH):
            for character in CODE_ALPHABET if position else CODE_KINDS:
                yield text[:position] + character + text[position:]
    elif len(text) == CODE_LENGTH + 1:
        for position in range(CODE_LENGTH + 1):
            yield text[:position] + text[position + 1 :]


def _looks_like_url(text: str) -> bool:
    return "/" in text or "?" in text or text[:4].upper() == "HTTP"


def _code_in_url(address: str) -> str | None:
    """Find the nine characters an address ends in: of its path, else of its query.

    A hand scanner set to another keyboard types other signs for `:` and `/`, so any sign may stand before
    them.
    """
    path, _, query = unquote(address).upper().partition("#")[0].partition("?")
    for part in (path, query):
        last = _NOT_IN_A_CODE.split(part.rstrip("/&= "))[-1]
        grouped_last = re.split(r"[/=]", part.rstrip("/&= "))[-1]
        for candidate in (last, normalise_code(grouped_last)):
            if len(candidate) == CODE_LENGTH and not _NOT_IN_A_CODE.search(candidate):
                return candidate
    return None


_LENGTH_HINTS = {-1: "one may be left out", 1: "there may be one too many"}


def _check_code(code: str, typed: str) -> None:
    if not code:
        raise BadCode(f"Nothing to read: scan a label, or type the {CODE_LENGTH} characters beside its square.")
    if wrong := _NOT_IN_A_CODE.search(code):
        raise BadCode(f"{quoted(typed)} is no code: {wrong.group()!r} never stands in one.")
    if len(code) != CODE_LENGTH:
        slip = _LENGTH_HINTS.get(
            len(code) - CODE_LENGTH, "that is too few" if len(code) < CODE_LENGTH else "that is too many"
        )
        raise BadCode(f"{quoted(typed)} has {len(code)} characters and a code has {CODE_LENGTH}: {slip}.")
    if code[0] not in CODE_KINDS:
        kinds = ", ".join(f"{letter} ({kind})" for letter, kind in CODE_KINDS.items())
        raise BadCode(f"{format_code(code)} begins with {code[0]}, but a code begins with one of {kinds}.")
    for position, character in enumerate(code[1:], start=2):
        if character not in CODE_ALPHABET:
            raise BadCode(
                f"Character {position} of {format_code(code)} was read as {character}, which never stands there "
                "(nor do 0 1 A E I L O U Y Z): look at the label again."
            )
    if not _is_sound(code):
        raise BadCode(
            f"The characters of {format_code(code)} do not agree with each other: one is wrong, or two "
            "neighbours are swapped. Compare them with the label."
        )
