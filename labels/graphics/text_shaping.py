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
_FORM = {
    (False, False): "isolated",
    (True, False): "final",
    (False, True): "initial",
    (True, True): "medial",
}
"""Form of a letter by whether it joins the one before and the one after."""


def runs_right_to_left(text: str) -> bool:
    """Tell whether the first letter with a direction makes this a paragraph that begins at the right.

    Unicode Standard Annex 9, rules P2 and P3: so do all its lines, whatever letter each begins with.
    """
    return not text.isascii() and auto_detect_base_direction(text) is TextDirection.RTL


def visual(line: str, right_to_left: bool | None = None) -> str:
    """Put one line of text into the order in which its characters are drawn from left to right.

    `right_to_left` is the direction of the paragraph that it is a line of; None: the line is one by itself.
    """
    begins_right = runs_right_to_left(line) if right_to_left is None else right_to_left
    if not begins_right and (
        line.isascii() or not any(unicodedata.bidirectional(each) in _RIGHT_TO_LEFT for each in line)
    ):
        return line
    direction = TextDirection.RTL if begins_right else TextDirection.LTR
    return BidiParagraph(_joined(line), direction).get_reordered_string()


def _joined(text: str) -> str:
    """Give each Arabic letter the form that joins it to its neighbours, lam and alef their common one."""
    letters = list(text)
    shaped: list[str] = []
    at = 0
    while at < len(letters):
        pair = _forms().get("".join(letters[at : at + 2])) if letters[at] == _LAM else None
        taken = 2 if pair else 1
        forms = pair or _forms().get(letters[at], {})
        joins_before = "final" in forms and _joins_forward(_neighbour(letters, at, -1))
        joins_after = "initial" in forms and _joins_backward(_neighbour(letters, at, 1))
        shaped.append(forms.get(_FORM[joins_before, joins_after], letters[at]))
        at += taken
    return "".join(shaped)


def _neighbour(letters: list[str], at: int, step: int) -> str:
    """Find the next letter in a direction, past marks that stand on a letter."""
    at += step
    while 0 <= at < len(letters) and unicodedata.combining(letters[at]):
        at += step
    return letters[at] if 0 <= at < len(letters) else ""


def _joins_forward(letter: str) -> bool:
    return letter == _KASHIDA or "initial" in _forms().get(letter, {})


def _joins_backward(letter: str) -> bool:
    return letter == _KASHIDA or "final" in _forms().get(letter, {})


@lru_cache(maxsize=1)
def _forms() -> dict[str, dict[str, str]]:
    """List the forms of each Arabic letter, and of lam with each alef, from Unicode's own decompositions."""
    forms: dict[str, dict[str, str]] = {}
    for point in (*range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFC00), *range(0xFE80, 0xFEFD)):
        form, *parts = unicodedata.decomposition(chr(point)).split() or [""]
        if form and (len(parts) == 1 or (point >= 0xFEF5 and len(parts) == 2)):
            base = "".join(chr(int(part, 16)) for part in parts)
            forms.setdefault(base, {}).setdefault(form.strip("<>"), chr(point))
    return forms
