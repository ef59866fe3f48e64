"""Text from outside: quoted in a sentence, or read for the number that it begins with."""

import re


def quoted(text: str, limit: int = 40) -> str:
    """Return *text* in quotes for a sentence, cut to *limit* characters, "?" for what cannot be printed."""
    shown = "".join(character if character.isprintable() else "?" for character in text)
    return f"'{shown[:limit]}…'" if len(shown) > limit else f"'{shown}'"


def leading_number(value: object) -> float:
    """Return the number, with either decimal sign, that a value begins with ("2,5 mm" is 2.5); 0.0 for none."""
    match = re.match(r"\s*(\d+(?:[.,]\d+)?)", str(value))
    return float(match[1].replace(",", ".")) if match else 0.0
