"""What can go wrong with a label.

LabelError
├── LabelTooSmall   the label or the symbol is too small for what it must carry
├── InvalidMedia     sizes, positions or resolutions that make no sense
└── Misprint     a drawn symbol does not read back as what it should say

Every message is a sentence that says what to do next.
"""


class LabelError(ValueError):
    """A label cannot be made as asked."""


class LabelTooSmall(LabelError):
    """The label is too small; `needs_mm` is the least that would do, as width and height."""

    def __init__(self, sentence: str, needs_mm: tuple[float, float]) -> None:
        super().__init__(sentence)
        self.needs_mm = needs_mm


class InvalidMedia(LabelError):
    """The sheet, roll, position or resolution makes no sense."""


class Misprint(LabelError):
    """A symbol that was drawn does not read back as what it should say."""
