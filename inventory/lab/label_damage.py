"""How well labels read from a phone: synthetic photographs of drawn labels, decoded again, against stated
bars.

A photograph is a pinhole view of a flat label on a dark surface: turned, tilted, blurred, pale, noisy,
soiled. It stands in for a camera, it does not replace one: lens faults, glare and curved surfaces are not
in it.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import zxingcpp
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from labels.content.label_content import bin_label
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import roll_media
from labels.output import raster
from labels.symbols.decoder import read_symbols
from labels.symbols.qr_symbol import encode_qr
from labels.units import MM_PER_INCH
from shared.codes import generate_code, label_url

STILL_PX_PER_MM = 13.0
"""Pixels a millimetre of a phone's still picture from 30 cm."""

VIDEO_PX_PER_MM = 6.4
"""Pixels a millimetre of one frame of a phone's video from 30 cm."""

_SURFACE_GREY = 60
_DISTANCE_MM = 300.0
_OVERSAMPLING = 3
_BASE_URL = "https://bench.lan"
_QR_FORMAT = zxingcpp.barcode_formats_from_str("QRCode")

GreyImage = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class PhotoConditions:
    """How a photograph is taken: angles in degrees, blur and noise in pixels and grey steps (standard
    deviations).

    `contrast` is the share of the full grey range between ink and paper, `soiled` the share of the label's
    area that opaque spots cover.
    """

    px_a_mm: float = STILL_PX_PER_MM
    turn: float = 0.0
    tilt: float = 0.0
    blur: float = 0.6
    contrast: float = 0.8
    noise: float = 3.0
    soiled: float = 0.0


@dataclass(frozen=True, slots=True)
class ReadRateResult:
    """The share of photographs of one kind that read as they should; `bar` is what is asked for, if anything."""

    name: str
    tried: int
    read: int
    bar: float | None = None

    @property
    def rate(self) -> float:
        """Share read, 0 to 1."""
        return self.read / self.tried

    @property
    def is_ok(self) -> bool:
        """Whether the bar, if there is one, is met."""
        return self.bar is None or self.rate >= self.bar


def simulate_photo(dots: raster.Bitmap, dpi: int, shot: PhotoConditions, chance: np.random.Generator) -> GreyImage:
    """Photograph a drawn label: an array of grey pixels, 0 dark to 255 light."""
    label = raster.to_image(dots).convert("L")
    _add_dirt(label, shot.soiled, chance)
    view, size = _perspective(label.size, dpi / MM_PER_INCH, shot, chance)
    seen = label.transform(
        size, Image.Transform.PERSPECTIVE, view, Image.Resampling.BILINEAR, fillcolor=_SURFACE_GREY
    )
    sharp = seen.reduce(_OVERSAMPLING).filter(ImageFilter.GaussianBlur(shot.blur))
    grey = 128 + (np.asarray(sharp, dtype=np.float32) - 128) * shot.contrast
    return np.clip(grey + chance.normal(0, shot.noise, grey.shape), 0, 255).astype(np.uint8)


def measure_read_rate(
    name: str, layouts: Sequence[LabelLayout], shots: Iterable[PhotoConditions], seed: int, bar: float | None = None
) -> ReadRateResult:
    """Photograph every label in every way and count those that read as they should."""
    chance = np.random.default_rng(seed)
    drawn = [raster.draw_label(layout) for layout in layouts]
    tried = read = 0
    for shot in shots:
        for layout, dots in zip(layouts, drawn, strict=True):
            symbols, _ = read_symbols(simulate_photo(dots, layout.dpi, shot, chance), _QR_FORMAT)
            tried += 1
            read += [symbol.text for symbol in symbols] == [layout.face.link]
    return ReadRateResult(name, tried, read, bar)


def measure_all(labels: int = 20, seed: int = 1) -> list[ReadRateResult]:
    """Measure how labels read over size, turn, tilt, contrast, blur, noise and soiling.

    `labels` is how many different labels each series photographs.
    """
    return list(measure_series(labels, seed))


def measure_series(labels: int = 20, seed: int = 1) -> Iterator[ReadRateResult]:
    """Give the findings of `check` one by one, as they are measured: those with a bar first."""
    large, small = sample_layouts(0.50, labels, seed), sample_layouts(0.25, labels, seed)
    still, video = PhotoConditions(), PhotoConditions(px_a_mm=VIDEO_PX_PER_MM)
    yield measure_read_rate(
        "0.50 mm a module, 6.4 px/mm, turned 0 to 45 degrees", large, _at_all_turns(video), seed, 1.0
    )
    yield measure_read_rate(
        "0.25 mm a module, 13 px/mm, turned 0 to 45 degrees", small, _at_all_turns(still), seed, 1.0
    )
    yield measure_read_rate(
        "0.50 mm, 6.4 px/mm, tilted 30 degrees", large, _at_all_turns(replace(video, tilt=30)), seed, 1.0
    )
    yield measure_read_rate(
        "0.25 mm, 13 px/mm, tilted 30 degrees", small, _at_all_turns(replace(still, tilt=30)), seed, 1.0
    )
    for percent in (80, 60, 40, 30):
        pale = replace(video, contrast=percent / 100)
        yield measure_read_rate(f"0.50 mm, 6.4 px/mm, contrast {percent} %", large, _at_all_turns(pale), seed, 1.0)
    yield from _series_without_targets(labels, seed)


def format_report(findings: Sequence[ReadRateResult]) -> str:
    """Write findings as a table: name, share read, bar, ok or short."""
    wide = max(len(finding.name) for finding in findings)
    lines = []
    for finding in findings:
        bar = "" if finding.bar is None else f"{finding.bar:7.1%}  {'ok' if finding.is_ok else 'short'}"
        lines.append(f"{finding.name:<{wide}}  {finding.rate:7.1%} of {finding.tried:4d}  {bar}".rstrip())
    return "\n".join(lines)


def sample_layouts(module_mm: float, count: int, seed: int) -> list[LabelLayout]:
    """Lay out labels of different codes whose symbol has modules of a size in mm, for a 203 dpi printer."""
    chance = np.random.default_rng(seed)
    pick = lambda choices: choices[int(chance.integers(len(choices)))]  # noqa: E731 - the way codes draw
    codes = [generate_code("bin", pick) for _ in range(count)]
    side = encode_qr(label_url(_BASE_URL, codes[0])).side * module_mm + 0.3
    media = roll_media(max(40.0, side * 2.6), max(9.0, side), margin_mm=0.5)
    return [lay_out(bin_label(code, _BASE_URL, f"A{number}"), media, 203) for number, code in enumerate(codes)]


def _series_without_targets(labels: int, seed: int) -> Iterator[ReadRateResult]:
    """Give the series that show where reading ends."""
    large = sample_layouts(0.50, labels, seed)
    for size in (0.25, 0.375, 0.50):
        for px in (4.5, VIDEO_PX_PER_MM, 9.0):
            name = f"{size:.2f} mm a module, {px:g} px/mm"
            yield measure_read_rate(
                name, sample_layouts(size, labels, seed), _at_all_turns(PhotoConditions(px)), seed
            )
    for name, values in (("tilt", (45.0, 60.0)), ("blur", (1.0, 1.5, 2.0)), ("noise", (10.0, 20.0, 40.0))):
        for value in values:
            shots = [
                replace(shot, **{name: value}) for shot in _at_all_turns(PhotoConditions(px_a_mm=VIDEO_PX_PER_MM))
            ]
            yield measure_read_rate(f"0.50 mm, 6.4 px/mm, {name} {value:g}", large, shots, seed)
    for percent in (2, 5, 10, 15):
        dirty = PhotoConditions(px_a_mm=VIDEO_PX_PER_MM, soiled=percent / 100)
        yield measure_read_rate(f"0.50 mm, 6.4 px/mm, soiled {percent} %", large, _at_all_turns(dirty), seed)


def _at_all_turns(shot: PhotoConditions) -> list[PhotoConditions]:
    return [replace(shot, turn=turn) for turn in (0.0, 10.0, 20.0, 30.0, 45.0)]


def _add_dirt(label: Image.Image, share: float, chance: np.random.Generator) -> None:
    """Put opaque spots, dark and light, until they would cover the share of the label if none overlapped."""
    pen = ImageDraw.Draw(label)
    left = share * label.width * label.height
    while left > 0:
        across, down = (float(part) for part in chance.uniform(0.02, 0.08, 2) * min(label.size))
        x, y = (float(part) for part in chance.uniform(0, 1, 2) * label.size)
        pen.ellipse((x - across, y - down, x + across, y + down), fill=int(chance.choice([40, 110, 230])))
        left -= math.pi * across * down


def _perspective(
    label: tuple[int, int], dots_a_mm: float, shot: PhotoConditions, chance: np.random.Generator
) -> tuple[tuple[float, ...], tuple[int, int]]:
    """Work out where each pixel of the photograph looks on the label, and the photograph's size.

    The plane's homography of a pinhole camera: first turn in the plane, then tilt about an axis in it.
    """
    axis = float(chance.uniform(0, math.pi))
    tilted = _rotation_matrix(axis, math.radians(shot.tilt)) @ _rotation_matrix(None, math.radians(shot.turn))
    scale = shot.px_a_mm * _OVERSAMPLING
    project = np.diag([scale * _DISTANCE_MM, scale * _DISTANCE_MM, 1.0])
    plane = np.column_stack([tilted[:, 0], tilted[:, 1], [0.0, 0.0, _DISTANCE_MM]])
    to_mm = np.array([[1, 0, -label[0] / 2], [0, 1, -label[1] / 2], [0, 0, dots_a_mm]]) / dots_a_mm
    forward = project @ plane @ to_mm
    corners = forward @ np.array([[0, label[0], 0, label[0]], [0, 0, label[1], label[1]], [1, 1, 1, 1]])
    seen = corners[:2] / corners[2]
    edge = 20 * _OVERSAMPLING
    low = seen.min(axis=1) - edge - chance.uniform(0, _OVERSAMPLING, 2)
    size = np.ceil((seen.max(axis=1) + edge - low) / _OVERSAMPLING).astype(int) * _OVERSAMPLING
    shift = np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1]])
    back = np.linalg.inv(shift @ forward)
    return tuple((back / back[2, 2]).ravel()[:8].tolist()), (int(size[0]), int(size[1]))


def _rotation_matrix(axis: float | None, angle: float) -> NDArray[np.float64]:
    """Rotate about an axis in the plane that lies at an angle to its rows, or (None) within the plane."""
    cosine, sine = math.cos(angle), math.sin(angle)
    if axis is None:
        return np.array([[cosine, -sine, 0], [sine, cosine, 0], [0, 0, 1]])
    turn = _rotation_matrix(None, axis)
    about_x = np.array([[1, 0, 0], [0, cosine, -sine], [0, sine, cosine]])
    return np.asarray(turn @ about_x @ turn.T)
