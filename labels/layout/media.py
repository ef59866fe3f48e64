"""Label sheets and rolls: sizes, positions, resolution, and the offset that corrects a printer.

Sizes are in millimetres. A roll is a sheet of one label.
"""

import re
from dataclasses import dataclass

from labels.errors import InvalidMedia

RESOLUTIONS = (203, 300, 600)
"""Dots an inch of the printers that benches own: thermal transfer, office laser and better."""

MIN_SIDE_MM, MAX_SIDE_MM = 8.0, 450.0
MAX_COLUMNS, MAX_ROWS = 50, 100
MAX_OFFSET_MM = 10.0


@dataclass(frozen=True, slots=True)
class LabelMedia:
    """A sheet of `columns` by `rows` labels; distances in mm from the top left corner.

    `margin_mm` is kept free of print on each label, light border of the symbol excepted.
    """

    name: str
    label_width: float
    label_height: float
    page_width: float
    page_height: float
    columns: int = 1
    rows: int = 1
    left: float = 0.0
    top: float = 0.0
    step_x: float = 0.0
    step_y: float = 0.0
    margin_mm: float = 1.0

    def __post_init__(self) -> None:
        _check_media(self)

    @property
    def labels_a_page(self) -> int:
        """How many labels one sheet holds."""
        return self.columns * self.rows

    @property
    def is_roll(self) -> bool:
        """Whether each label is a page of its own."""
        return self.labels_a_page == 1

    def corner(self, place: int) -> tuple[float, float]:
        """Give the top left corner in mm of place 0, 1, ... counted along rows from the top left."""
        row, column = divmod(place, self.columns)
        return self.left + column * self.step_x, self.top + row * self.step_y


def roll_media(width: float, height: float, *, margin_mm: float = 1.0) -> LabelMedia:
    """Describe a roll of single labels. Raises InvalidMedia for sizes that make no sense."""
    return LabelMedia(f"Roll, {width:g} x {height:g} mm", width, height, width, height, margin_mm=margin_mm)


def sheet_media(
    page: tuple[float, float],
    grid: tuple[int, int],
    label: tuple[float, float],
    *,
    corner: tuple[float, float] | None = None,
    step: tuple[float, float] | None = None,
    name: str = "",
    margin_mm: float = 1.5,
) -> LabelMedia:
    """Describe a sheet: page size, columns and rows, label size, and where the first label begins.

    Without `step` labels touch; without `corner` the grid is centred. Raises InvalidMedia when labels lie off
    the page or on each other.
    """
    columns, rows = grid
    step_x, step_y = step or label
    used = ((columns - 1) * step_x + label[0], (rows - 1) * step_y + label[1])
    left, top = corner or ((page[0] - used[0]) / 2, (page[1] - used[1]) / 2)
    title = name or f"Sheet {page[0]:g} x {page[1]:g} mm, {columns} x {rows} of {label[0]:g} x {label[1]:g} mm"
    return LabelMedia(title, *label, *page, columns, rows, left, top, step_x, step_y, margin_mm)


_A4_MM = (210.0, 297.0)
_LETTER_MM = (215.9, 279.4)


def find_media(key: str) -> LabelMedia:
    """Return one of STANDARD_MEDIA by key, or a roll written as "62x29" (mm); raise InvalidMedia otherwise."""
    if key in STANDARD_MEDIA:
        return STANDARD_MEDIA[key]
    size = re.fullmatch(r"\s*(\d{1,3}(?:\.\d{1,2})?)\s*[x×]\s*(\d{1,3}(?:\.\d{1,2})?)\s*(?:mm)?\s*", key)
    if size is None:
        raise InvalidMedia(
            f"No label size {key[:40]!r}: choose one of {', '.join(STANDARD_MEDIA)}, or write it as 62x29 (mm)."
        )
    return roll_media(float(size[1]), float(size[2]))


def check_start_position(media: LabelMedia, start: int) -> int:
    """Return the first place to use on a half-used sheet, counted from 1; raise InvalidMedia if there is none."""
    if not 1 <= start <= media.labels_a_page:
        raise InvalidMedia(
            f"Position {start} is not on the sheet: it has {media.labels_a_page} labels, counted from 1."
        )
    return start


def check_dpi(dpi: int) -> int:
    """Return a printer resolution between 150 and 1200 dots an inch; raise InvalidMedia for another."""
    if not 150 <= dpi <= 1200:
        raise InvalidMedia(f"{dpi} dots an inch is no usual printer resolution: choose 203, 300 or 600.")
    return dpi


def check_offset(offset_mm: tuple[float, float]) -> tuple[float, float]:
    """Return a printer's correction in mm, right and down; raise InvalidMedia beyond 10 mm either way."""
    if not all(abs(side) <= MAX_OFFSET_MM for side in offset_mm):
        raise InvalidMedia(
            f"An offset of {offset_mm[0]:g} and {offset_mm[1]:g} mm is too much: at most 10 mm each way."
        )
    return offset_mm


def _check_media(media: LabelMedia) -> None:
    sizes = (media.label_width, media.label_height, media.page_width, media.page_height)
    if not all(MIN_SIDE_MM <= side <= MAX_SIDE_MM for side in sizes):
        raise InvalidMedia(
            f"Labels and sheets are {MIN_SIDE_MM:g} to {MAX_SIDE_MM:g} mm along each side: check the sizes."
        )
    if not (1 <= media.columns <= MAX_COLUMNS and 1 <= media.rows <= MAX_ROWS):
        raise InvalidMedia("A sheet has 1 to 50 columns and 1 to 100 rows of labels.")
    if not 0 <= media.margin_mm <= min(media.label_width, media.label_height) / 4:
        raise InvalidMedia("The margin of a label is at most a quarter of its shorter side.")
    right, bottom = media.corner(media.labels_a_page - 1)
    on_page = (
        min(media.left, media.top) >= -0.01
        and right + media.label_width <= media.page_width + 0.01
        and bottom + media.label_height <= media.page_height + 0.01
    )
    apart = (media.columns == 1 or media.step_x >= media.label_width - 0.01) and (
        media.rows == 1 or media.step_y >= media.label_height - 0.01
    )
    if not (on_page and apart):
        raise InvalidMedia("Labels lie off the page or on each other: check size, distance and first corner.")


STANDARD_MEDIA: dict[str, LabelMedia] = {
    "a4-3x8": sheet_media(
        _A4_MM, (3, 8), (70.0, 37.0), corner=(0, 0.5), name="A4, 3 x 8 of 70 x 37 mm", margin_mm=4.0
    ),
    "a4-2x7": sheet_media(_A4_MM, (2, 7), (99.1, 38.1), step=(101.6, 38.1), name="A4, 2 x 7 of 99.1 x 38.1 mm"),
    "letter-3x10": sheet_media(
        _LETTER_MM, (3, 10), (66.7, 25.4), step=(69.85, 25.4), name="Letter, 3 x 10 of 66.7 x 25.4 mm"
    ),
    "roll-62x29": roll_media(62.0, 29.0),
    "roll-50x30": roll_media(50.0, 30.0),
    "roll-40x12": roll_media(40.0, 12.0, margin_mm=0.5),
}
"""Sizes offered by name. Own sizes: `roll_media`, `sheet_media`, or find_media("62x29")."""
