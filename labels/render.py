"""The door to label drawing: faces in, PNG, SVG or PDF out, every symbol read back first."""

from collections.abc import Sequence

from labels.content.label_content import LabelContent
from labels.errors import InvalidMedia
from labels.layout.imposition import SheetPage, impose, lay_out_labels
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import LabelMedia
from labels.output import raster, raster_pdf, svg, vector_pdf
from labels.output.proofread import proofread_label, proofread_labels


def render_png(face: LabelContent, media: LabelMedia, dpi: int = 300) -> bytes:
    """Draw one label as a one-bit PNG of one pixel a printer dot.

    Raises LabelTooSmall, InvalidMedia or Misprint, each with a sentence.
    """
    layout = lay_out(face, media, dpi)
    drawn = raster.draw_label(layout)
    proofread_label(layout, drawn)
    return raster.to_png(drawn, dpi)


def render_svg(face: LabelContent, media: LabelMedia, dpi: int = 300) -> str:
    """Draw one label as an SVG document of its true size. Raises as render_png does."""
    layout = lay_out(face, media, dpi)
    proofread_label(layout)
    return svg.write_label(layout)


def render_pdf(
    faces: Sequence[LabelContent],
    media: LabelMedia,
    start: int = 1,
    dpi: int = 300,
    *,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    as_dots: bool = False,
) -> bytes:
    """Draw labels as PDF from position `start` of the first sheet, moved by an offset that corrects the
    printer.

    `as_dots` gives the exact one-bit picture at the printer's resolution in place of shapes. Raises as
    render_png does, and LabelError for no labels or too many.
    """
    pages = _proofread_pages(lay_out_labels(faces, media, dpi), media, start, dpi, offset_mm)
    return raster_pdf.write_pages(pages) if as_dots else vector_pdf.write_pages(pages)


def render_page_svg(
    faces: Sequence[LabelContent],
    media: LabelMedia,
    start: int = 1,
    dpi: int = 300,
    *,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    page: int = 1,
) -> str:
    """Draw one page of a job as SVG, for looking at before printing. Raises as render_pdf does."""
    pages = _proofread_pages(lay_out_labels(faces, media, dpi), media, start, dpi, offset_mm)
    if not 1 <= page <= len(pages):
        raise InvalidMedia(f"There is no page {page}: these labels fill {len(pages)}.")
    return svg.write_page(pages[page - 1])


def _proofread_pages(
    layouts: list[LabelLayout], media: LabelMedia, start: int, dpi: int, offset_mm: tuple[float, float]
) -> list[SheetPage]:
    proofread_labels(layouts)
    return impose(layouts, media, dpi, start=start, offset_mm=offset_mm)
