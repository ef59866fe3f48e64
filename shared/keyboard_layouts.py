"""What a hand scanner types when it is set to an American keyboard and the computer to another: put back.

A scanner sends keys, not characters. The computer's layout turns them into others: on a German one Y and Z change
places and ":" becomes "Ö", on a French one the digits become signs. The beginnings that codes and addresses have
tell which layout it was. Where the keys are: German (DIN 2137) and French layouts of common computers, from memory.
"""

from __future__ import annotations

import re


def _table(typed: str, meant: str, swapped_letters: str) -> dict[int, str]:
    """Return a translation of what was typed into what was meant; letters given in pairs change places."""
    table = dict(zip(map(ord, typed), meant, strict=True))
    for pair in (swapped_letters, swapped_letters.upper()):
        for first, second in zip(pair[::2], pair[1::2], strict=True):
            table[ord(first)], table[ord(second)] = second, first
    return table


_GERMAN = _table("ß´ü+öä#-\"§&/()=?`Ü*ÖÄ°';:_", "-=[];'\\/@#^&*()_+{}:\"~|<>?", "yz")
_FRENCH = _table("&é\"'(-è_çà)°1234567890,;:!ùm$*M?./§%£µ^¨", "1234567890-_!@#$%^&*()m,./';]\\:M<>?\"}|[{", "aqwz")
_BEGINNINGS = (
    ("German", _GERMAN, re.compile(r"ü=:|\)0[01]=|https?Ö--", re.IGNORECASE)),
    ("French", _FRENCH, re.compile(r"\^0/|9à[&à]0|https?M!!", re.IGNORECASE)),
)


def undo_keyboard_layout(typed: str) -> str:
    """Return what the scanner meant when the text begins as a code does on another keyboard, else the text."""
    return next((typed.translate(table) for _, table, beginning in _BEGINNINGS if beginning.match(typed)), typed)


def keyboard_remedy(typed: str) -> str:
    """Return what to do about a scanner whose text begins as on another keyboard, or ""."""
    name = next((name for name, _, beginning in _BEGINNINGS if beginning.match(typed.strip())), "")
    return name and (
        f"The scanner types for an American keyboard, and this computer has a {name} one: put right this time. "
        f"Set the scanner's keyboard country to {name}, by the code in its manual."
    )
