"""Labels: what is drawn and printed, the sheets and rolls of the shop's own, and how far print is moved."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body, Edit, Query
from inventory.domain.labelling.label_content import MOST
from inventory.domain.labelling.label_sheet import MOST_COPIES
from inventory.domain.labelling.label_sizes import MOST_GAP_MM
from inventory.domain.labelling.print_offsets import LONGEST_PRINTER
from labels.layout.media import MEDIA, MOST_COLUMNS, MOST_MM, MOST_OFFSET_MM, MOST_ROWS

KNOWN = f"a sheet or roll ({', '.join(MEDIA)}), one of the shop's own such as own-3, or a roll such as 62x29"
_CODES = "Codes of bins, lots, pieces and jobs"
_SHELF_ENDS = "true: a bin's code gets the label for the end of its shelf, or the front of its drawer."


def _mm(about: str, most: float = MOST_MM, *, least: float = 0.0, **more: Any) -> fields.Share:
    return fields.Share(f"{about}, in mm.", least=least, most=most, **more)


class LabelQuery(Query):
    """On what a label is printed."""

    media = fields.Text(f"The size: {KNOWN}.", most=40, default="a4-3x8")
    dpi = fields.Asked(
        "Dots an inch of the printer; left out, what is kept with the size, else 300.", least=150, most=1200
    )


class SheetQuery(LabelQuery):
    """Which labels go on a sheet, and from where."""

    codes = fields.Text(f"{_CODES}, with commas between.", least=1, most=20_000, required=True)
    start = fields.Asked("The first place to use on a half-used sheet.", least=1, most=5000, default=1)
    copies = fields.Asked("Labels of each.", least=1, most=MOST_COPIES, default=1)
    shelf_ends = fields.AskedFlag(_SHELF_ENDS, default=False)
    dots = fields.AskedFlag("true: as the exact dots of the printer, not as shapes.", default=False)


class PrintIn(Body):
    """What is printed where."""

    printer = fields.Text("The queue, one of /printers.", least=1, most=LONGEST_PRINTER, required=True)
    codes = fields.Many(fields.Text("A code.", least=1, most=200), f"{_CODES}.", least=1, most=MOST, required=True)
    media = fields.Text(f"The size: {KNOWN}.", most=40, default="a4-3x8")
    dpi = fields.Whole(
        "Dots an inch of the printer; left out, what is kept with the size, else 300.", least=150, most=1200
    )
    start = fields.Whole("The first place to use on a half-used sheet.", least=1, most=5000, default=1)
    copies = fields.Whole("Labels of each.", least=1, most=MOST_COPIES, default=1)
    shelf_ends = fields.Flag(_SHELF_ENDS, default=False)


class PrintedOut(Answer):
    """Labels that a queue has taken."""

    printer = fields.Text("The queue.")
    request = fields.Text("What CUPS calls the job; empty when it does not say.")


class PrinterOut(Answer):
    """A CUPS queue that labels can be printed to."""

    name = fields.Text("Its name.")


class SizeFields(Body):
    """A sheet or roll as it was measured."""

    name = fields.Text("What it is called.", least=1, most=80, required=True, example="Drawer fronts, 5 x 13")
    label_width = _mm("Width of a label", required=True)
    label_height = _mm("Height of a label", required=True)
    page_width = _mm("Width of the sheet; left out or null: as wide as its labels, for a roll", nullable=True)
    page_height = _mm("Height of the sheet; left out or null: as high as its labels, for a roll", nullable=True)
    columns = fields.Whole("Labels across.", least=1, most=MOST_COLUMNS, default=1)
    rows = fields.Whole("Labels down.", least=1, most=MOST_ROWS, default=1)
    left = _mm(
        "From the left edge to the first label; left out or null: the labels stand in the middle", nullable=True
    )
    top = _mm("From the top edge to the first label; left out or null: the labels stand in the middle", nullable=True)
    gap_x = _mm("Between columns", MOST_GAP_MM, default=0.0)
    gap_y = _mm("Between rows", MOST_GAP_MM, default=0.0)
    margin = _mm("Kept free of print on each label; left out or null: 1.5, on a roll 1", nullable=True)
    dpi = fields.Whole("Dots an inch of the printer that it goes into.", least=150, most=1200, default=300)


class SizeIn(SizeFields):
    """A sheet or roll of the shop's own, to be kept."""


class SizeEdit(Edit, SizeFields):
    """What to change of it."""

    active = fields.Flag("Still in use.")


class SizeOut(Answer):
    """A sheet or roll of the shop's own."""

    id = fields.Ident("Its id.")
    key = fields.Text("What it is chosen by wherever labels are drawn.", example="own-3")
    name = fields.Text("What it is called.")
    label_width = _mm("Width of a label")
    label_height = _mm("Height of a label")
    page_width = _mm("Width of the sheet")
    page_height = _mm("Height of the sheet")
    columns = fields.Whole("Labels across.")
    rows = fields.Whole("Labels down.")
    left = _mm("From the left edge to the first label")
    top = _mm("From the top edge to the first label")
    gap_x = _mm("Between columns")
    gap_y = _mm("Between rows")
    margin = _mm("Kept free of print on each label")
    dpi = fields.Whole("Dots an inch of the printer that it goes into.")
    active = fields.Flag("Still in use.")
    created = fields.Moment("When it was kept.")
    version = fields.Whole("Counts its edits.")


class SizesQuery(PageQuery):
    """Which sizes to list."""

    active = fields.AskedFlag("true: those in use; false: the others.", default=True)


class OffsetIn(Body):
    """How far print is to be moved: of a size, of a printer, or of a size in a printer."""

    size = fields.Text(f"The size: {KNOWN}. Empty: whatever goes into the printer.", most=40, default="")
    printer = fields.Text("The queue. Empty: whatever printer.", most=LONGEST_PRINTER, default="")
    right = _mm("To the right; negative: to the left", MOST_OFFSET_MM, least=-MOST_OFFSET_MM, required=True)
    down = _mm("Down; negative: up", MOST_OFFSET_MM, least=-MOST_OFFSET_MM, required=True)


class OffsetOut(Answer):
    """How far print is moved."""

    id = fields.Ident("Its id.")
    size = fields.Text("The key of the size; empty: whatever goes into the printer.")
    printer = fields.Text("The queue; empty: whatever printer.")
    right = _mm("To the right; negative: to the left", MOST_OFFSET_MM, least=-MOST_OFFSET_MM)
    down = _mm("Down; negative: up", MOST_OFFSET_MM, least=-MOST_OFFSET_MM)
    person = fields.Text("Who kept it; empty: not noted.")
    at = fields.Moment("When it was kept.")


class OffsetsQuery(PageQuery):
    """Which offsets to list."""

    size = fields.Text("The key of a size.", most=40)
    printer = fields.Text("The name of a queue.", most=LONGEST_PRINTER)
