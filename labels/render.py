"""The door to label drawing: faces in, PNG, SVG or PDF out, every symbol read back first."""

from collections.abc import Sequence

from labels.content.label_content import LabelFace
from labels.errors import BadMedia
from labels.layout.imposition import Page, impose, lay_out_all
from labels.layout.label_layout import Layout, lay_out
from labels.layout.media import Media
from labels.output import raster, raster_pdf, svg, vector_pdf
from labels.output.proofread import proofread, proofread_all


def draw_png(face: LabelFace, media: Media, dpi: int = 300) -> bytes:
    """Draw one label as a one-bit PNG of one pixel a printer dot.

    Raises DoesNotFit, BadMedia or Misprint, each with a sentence.
    """
    layout = lay_out(face, media, dpi)
    drawn = raster.draw(layout)
    proofread(layout, drawn)
    return raster.png(drawn, dpi)


def draw_svg(face: LabelFace, media: Media, dpi: int = 300) -> str:
    """Draw one label as an SVG document of its true size. Raises as draw_png does."""
    layout = lay_out(face, media, dpi)
    proofread(layout)
    return svg.label(layout)


def draw_pdf(
    faces: Sequence[LabelFace],
    media: Media,
    start: int = 1,
    dpi: int = 300,
    *,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    as_dots: bool = False,
) -> bytes:
    """Draw labels as PDF from position `start` of the first sheet, moved by an offset that corrects the
    printer.

    `as_dots` gives the exact one-bit picture at the printer's resolution in place of shapes. Raises as
    draw_png does, and LabelError for no labels or too many.
    """
    pages = _pages(lay_out_all(faces, media, dpi), media, start, dpi, offset_mm)
    return raster_pdf.dots(pages) if as_dots else vector_pdf.shapes(pages)


def draw_page(
    faces: Sequence[LabelFace],
    media: Media,
    start: int = 1,
    dpi: int = 300,
    *,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    page: int = 1,
) -> str:
    """Draw one page of a job as SVG, for looking at before printing. Raises as draw_pdf does."""
    pages = _pages(lay_out_all(faces, media, dpi), media, start, dpi, offset_mm)
    if not 1 <= page <= len(pages):
        raise BadMedia(f"There is no page {page}: these labels fill {len(pages)}.")
    return svg.page(pages[page - 1])


def _pages(layouts: list[Layout], media: Media, start: int, dpi: int, offset_mm: tuple[float, float]) -> list[Page]:
    proofread_all(layouts)
    return impose(layouts, media, dpi, start=start, offset_mm=offset_mm)
