"""Measures drawing labels, beside what the same symbols cost when a general library makes them."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

import segno

from labels import render
from labels.content.label_content import LabelContent, lot_label
from labels.content.part_content import build_part_content
from labels.layout.media import STANDARD_MEDIA, find_media
from shared.codes import generate_code

LABEL_COUNT = 1000
ADDRESS = "https://bench.lan"
T = TypeVar("T")


@dataclass(frozen=True)
class LabelTimes:
    """Seconds and bytes of drawing NUMBER labels."""

    floor: float  # seconds: only their symbols, by segno
    drawn: float  # seconds: one by one as PNG, each read back
    pdf: float  # seconds: all on A4 sheets as shapes, each read back
    pdf_bytes: int
    roll: float  # seconds: all on a roll of 62 x 29 mm as the printer's dots
    roll_bytes: int


def label_figures() -> LabelTimes:
    """Draw labels of lots, every one different."""
    faces = [_face(number) for number in range(LABEL_COUNT)]
    links = [face.link for face in faces]
    render.render_pdf(faces[:20], STANDARD_MEDIA["a4-3x8"])  # to warm up
    floor, _ = _time_call(lambda: [segno.make(link, error="m", micro=False) for link in links])
    drawn, _ = _time_call(lambda: [render.render_png(face, find_media("62x29")) for face in faces])
    pdf, shapes = _time_call(lambda: render.render_pdf(faces, STANDARD_MEDIA["a4-3x8"]))
    roll, dots = _time_call(lambda: render.render_pdf(faces, find_media("62x29"), as_dots=True))
    return LabelTimes(floor, drawn, pdf, len(shapes), roll, len(dots))


def _face(number: int) -> LabelContent:
    attributes = {"pitch": 2.0, "ways": number % 12 + 2, "gender": "header", "mounting": "through hole"}
    part = build_part_content(
        f"{number % 12 + 2}-way 2.0 mm wire-to-board header, straight", "connector", attributes, []
    )
    return lot_label(
        generate_code("lot"), ADDRESS, part, received=date(2026, 1 + number % 12, 1 + number % 28),
        origin="Northgate Components", quantity=f"{number + 1} pieces", date_code="2614",
    )  # fmt: skip


def _time_call(act: Callable[[], T]) -> tuple[float, T]:
    start = time.perf_counter()
    result = act()
    return time.perf_counter() - start, result
