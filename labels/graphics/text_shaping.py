"""Text in the order and shape in which it is drawn, for scripts that run from right to left.

Order is that of Unicode Standard Annex 9 as the library `fpdf2` works it out. Arabic letters take the shape
that their neighbours ask for, out of the presentation forms that Unicode lists for each (block FE70 to
FEFC).
"""

import unicodedata
from functools import lru_cache

from fpdf.bidi import BidiParagraph, auto_detect_base_direction
from fpdf.enums import TextDirection

_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})
_LAM = "\u0644"
_KASHIDA = "\u0640"
_JOINING_FORMS = {
    (False, False): "isolated",
    (True, False): "final",
    (False, True): "initial",
    (True, True): "medial",
}
"""Form of a letter by whether it joins the one before and the one after."""


def is_right_to_left(text: str) -> bool:
    """Tell whether the first letter with a direction makes this a paragraph that begins at the right.

    Unicode Standard Annex 9, rules P2 and P3: so do all its lines, whatever letter each begins with.
    """
    return not text.isascii() and auto_detect_base_direction(text) is TextDirection.RTL


def to_visual_order(line: str, right_to_left: bool | None = None) -> str:
    """Put one line of text into the order in which its characters are drawn from left to right.

    `right_to_left` is the direction of the paragraph that it is a line of; None: the line is one by itself.
    """
    begins_right = is_right_to_left(line) if right_to_left is None else right_to_left
    if not begins_right and (
        line.isascii() or not any(unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line)
    ):
        return line
    direction = TextDirection.RTL if begins_right else TextDirection.LTR
    return BidiParagraph(_shape_arabic(line), direction).get_reordered_string()


def _shape_arabic(text: str) -> str:
    """Give each Arabic letter the form that joins it to its neighbours, lam and alef their common one."""
    letters = list(text)
    shaped: list[str] = []
    position = 0
    while position < len(letters):
        pair = (
            _presentation_forms().get("".join(letters[position : position + 2]))
            if letters[position] == _LAM
            else None
        )
        taken = 2 if pair else 1
        forms = pair or _presentation_forms().get(letters[position], {})
        joins_before = "final" in forms and _joins_forward(_base_neighbour(letters, position, -1))
        joins_after = "initial" in forms and _joins_backward(_base_neighbour(letters, position, 1))
        shaped.append(forms.get(_JOINING_FORMS[joins_before, joins_after], letters[position]))
        position += taken
    return "".join(shaped)


def _base_neighbour(letters: list[str], position: int, step: int) -> str:
    """Find the next letter in a direction, past marks that stand on a letter."""
    position += step
    while 0 <= position < len(letters) and unicodedata.combining(letters[position]):
        position += step
    return letters[position] if 0 <= position < len(letters) else ""


def _joins_forward(letter: str) -> bool:
    return letter == _KASHIDA or "initial" in _presentation_forms().get(letter, {})


def _joins_backward(letter: str) -> bool:
    return letter == _KASHIDA or "final" in _presentation_forms().get(letter, {})


@lru_cache(maxsize=1)
def _presentation_forms() -> dict[str, dict[str, str]]:
    """List the forms of each Arabic letter, and of lam with each alef, from Unicode's own decompositions."""
    forms: dict[str, dict[str, str]] = {}
    for point in (*range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFC00), *range(0xFE80, 0xFEFD)):
        form, *parts = unicodedata.decomposition(chr(point)).split() or [""]
        if form and (len(parts) == 1 or (point >= 0xFEF5 and len(parts) == 2)):
            base = "".join(chr(int(part, 16)) for part in parts)
            forms.setdefault(base, {}).setdefault(form.strip("<>"), chr(point))
    return forms
