"""Labels: what is drawn and printed, the sheets and rolls of the shop's own, and how far print is moved."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, EditSchema, QuerySchema, ResponseSchema
from inventory.domain.labelling.label_content import MAX_LABELS
from inventory.domain.labelling.label_sheet import MAX_COPIES
from inventory.domain.labelling.label_sizes import MAX_GAP_MM
from inventory.domain.labelling.print_offsets import MAX_PRINTER_NAME
from labels.layout.media import MAX_COLUMNS, MAX_OFFSET_MM, MAX_ROWS, MAX_SIDE_MM, STANDARD_MEDIA

MEDIA_HELP = (
    f"a sheet or roll ({', '.join(STANDARD_MEDIA)}), one of the shop's own such as own-3, or a roll such as 62x29"
)
_CODES_HELP = "Codes of bins, lots, pieces and jobs"
_SHELF_ENDS_HELP = "true: a bin's code gets the label for the end of its shelf, or the front of its drawer."


def _millimetres(about: str, most: float = MAX_SIDE_MM, *, minimum: float = 0.0, **more: Any) -> fields.BoundedNumber:
    return fields.BoundedNumber(f"{about}, in mm.", minimum=minimum, maximum=most, **more)


class LabelQuery(QuerySchema):
    """On what a label is printed."""

    media = fields.Text(f"The size: {MEDIA_HELP}.", maximum=40, default="a4-3x8")
    dpi = fields.QueryInteger(
        "Dots an inch of the printer; left out, what is kept with the size, else 300.", minimum=150, maximum=1200
    )


class LabelSheetQuery(LabelQuery):
    """Which labels go on a sheet, and from where."""

    codes = fields.Text(f"{_CODES_HELP}, with commas between.", minimum=1, maximum=20_000, required=True)
    start = fields.QueryInteger("The first place to use on a half-used sheet.", minimum=1, maximum=5000, default=1)
    copies = fields.QueryInteger("Labels of each.", minimum=1, maximum=MAX_COPIES, default=1)
    shelf_ends = fields.QueryBoolean(_SHELF_ENDS_HELP, default=False)
    dots = fields.QueryBoolean("true: as the exact dots of the printer, not as shapes.", default=False)


class PrintLabelsIn(BodySchema):
    """What is printed where."""

    printer = fields.Text("The queue, one of /printers.", minimum=1, maximum=MAX_PRINTER_NAME, required=True)
    codes = fields.List(
        fields.Text("A code.", minimum=1, maximum=200),
        f"{_CODES_HELP}.",
        minimum=1,
        maximum=MAX_LABELS,
        required=True,
    )
    media = fields.Text(f"The size: {MEDIA_HELP}.", maximum=40, default="a4-3x8")
    dpi = fields.Integer(
        "Dots an inch of the printer; left out, what is kept with the size, else 300.", minimum=150, maximum=1200
    )
    start = fields.Integer("The first place to use on a half-used sheet.", minimum=1, maximum=5000, default=1)
    copies = fields.Integer("Labels of each.", minimum=1, maximum=MAX_COPIES, default=1)
    shelf_ends = fields.Boolean(_SHELF_ENDS_HELP, default=False)


class LabelsPrintedOut(ResponseSchema):
    """Labels that a queue has taken."""

    printer = fields.Text("The queue.")
    request = fields.Text("What CUPS calls the job; empty when it does not say.")


class PrinterOut(ResponseSchema):
    """A CUPS queue that labels can be printed to."""

    name = fields.Text("Its name.")


class LabelSizeFields(BodySchema):
    """A sheet or roll as it was measured."""

    name = fields.Text("What it is called.", minimum=1, maximum=80, required=True, example="Drawer fronts, 5 x 13")
    label_width = _millimetres("Width of a label", required=True)
    label_height = _millimetres("Height of a label", required=True)
    page_width = _millimetres(
        "Width of the sheet; left out or null: as wide as its labels, for a roll", nullable=True
    )
    page_height = _millimetres(
        "Height of the sheet; left out or null: as high as its labels, for a roll", nullable=True
    )
    columns = fields.Integer("Labels across.", minimum=1, maximum=MAX_COLUMNS, default=1)
    rows = fields.Integer("Labels down.", minimum=1, maximum=MAX_ROWS, default=1)
    left = _millimetres(
        "From the left edge to the first label; left out or null: the labels stand in the middle", nullable=True
    )
    top = _millimetres(
        "From the top edge to the first label; left out or null: the labels stand in the middle", nullable=True
    )
    gap_x = _millimetres("Between columns", MAX_GAP_MM, default=0.0)
    gap_y = _millimetres("Between rows", MAX_GAP_MM, default=0.0)
    margin = _millimetres("Kept free of print on each label; left out or null: 1.5, on a roll 1", nullable=True)
    dpi = fields.Integer("Dots an inch of the printer that it goes into.", minimum=150, maximum=1200, default=300)


class LabelSizeIn(LabelSizeFields):
    """A sheet or roll of the shop's own, to be kept."""


class LabelSizeEdit(EditSchema, LabelSizeFields):
    """What to change of it."""

    active = fields.Boolean("Still in use.")


class LabelSizeOut(ResponseSchema):
    """A sheet or roll of the shop's own."""

    id = fields.Id("Its id.")
    key = fields.Text("What it is chosen by wherever labels are drawn.", example="own-3")
    name = fields.Text("What it is called.")
    label_width = _millimetres("Width of a label")
    label_height = _millimetres("Height of a label")
    page_width = _millimetres("Width of the sheet")
    page_height = _millimetres("Height of the sheet")
    columns = fields.Integer("Labels across.")
    rows = fields.Integer("Labels down.")
    left = _millimetres("From the left edge to the first label")
    top = _millimetres("From the top edge to the first label")
    gap_x = _millimetres("Between columns")
    gap_y = _millimetres("Between rows")
    margin = _millimetres("Kept free of print on each label")
    dpi = fields.Integer("Dots an inch of the printer that it goes into.")
    active = fields.Boolean("Still in use.")
    created = fields.DateTime("When it was kept.")
    version = fields.Integer("Counts its edits.")


class LabelSizesQuery(PageQuery):
    """Which sizes to list."""

    active = fields.QueryBoolean("true: those in use; false: the others.", default=True)


class PrintOffsetIn(BodySchema):
    """How far print is to be moved: of a size, of a printer, or of a size in a printer."""

    size = fields.Text(f"The size: {MEDIA_HELP}. Empty: whatever goes into the printer.", maximum=40, default="")
    printer = fields.Text("The queue. Empty: whatever printer.", maximum=MAX_PRINTER_NAME, default="")
    right = _millimetres("To the right; negative: to the left", MAX_OFFSET_MM, minimum=-MAX_OFFSET_MM, required=True)
    down = _millimetres("Down; negative: up", MAX_OFFSET_MM, minimum=-MAX_OFFSET_MM, required=True)


class PrintOffsetOut(ResponseSchema):
    """How far print is moved."""

    id = fields.Id("Its id.")
    size = fields.Text("The key of the size; empty: whatever goes into the printer.")
    printer = fields.Text("The queue; empty: whatever printer.")
    right = _millimetres("To the right; negative: to the left", MAX_OFFSET_MM, minimum=-MAX_OFFSET_MM)
    down = _millimetres("Down; negative: up", MAX_OFFSET_MM, minimum=-MAX_OFFSET_MM)
    person = fields.Text("Who kept it; empty: not noted.")
    at = fields.DateTime("When it was kept.")


class PrintOffsetsQuery(PageQuery):
    """Which offsets to list."""

    size = fields.Text("The key of a size.", maximum=40)
    printer = fields.Text("The name of a queue.", maximum=MAX_PRINTER_NAME)
