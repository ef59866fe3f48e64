"""Reading from a phone: the bars that every printed label must meet, on synthetic photographs."""

from dataclasses import replace

import numpy as np
import pytest
import zxingcpp

from inventory.lab.label_damage import (
    STILL_PX_PER_MM,
    VIDEO_PX_PER_MM,
    PhotoConditions,
    ReadRateResult,
    format_report,
    measure_read_rate,
    sample_layouts,
    simulate_photo,
)
from labels.layout.label_layout import LabelLayout
from labels.output import raster
from labels.symbols import decoder

LARGE, SMALL = sample_layouts(0.50, 6, 42), sample_layouts(0.25, 6, 42)
TURNS = (0.0, 17.0, 45.0)


@pytest.mark.parametrize(
    ("labels", "px_a_mm"), [(LARGE, VIDEO_PX_PER_MM), (SMALL, STILL_PX_PER_MM)], ids=["video", "still"]
)
@pytest.mark.parametrize(
    "how", [{}, {"tilt": 30.0}, {"contrast": 0.3}], ids=["undamaged", "tilted 30 degrees", "contrast 30 %"]
)
def test_every_label_reads(labels: list[LabelLayout], px_a_mm: float, how: dict[str, float]) -> None:
    shots = [replace(PhotoConditions(px_a_mm=px_a_mm, turn=turn), **how) for turn in TURNS]
    finding = measure_read_rate("bar", labels, shots, seed=5, bar=1.0)
    assert finding.rate == 1.0
    assert finding.tried == 18


def test_the_photographs_are_hard_enough_to_fail() -> None:
    """A measure that always says 100 % measures nothing."""
    assert measure_read_rate("far", SMALL, [PhotoConditions(px_a_mm=3.0)], seed=5).rate == 0
    assert measure_read_rate("blurred", LARGE, [PhotoConditions(px_a_mm=VIDEO_PX_PER_MM, blur=3.0)], seed=5).rate == 0


def test_a_label_without_its_light_border_does_not_read_on_a_dark_surface() -> None:
    layout = LARGE[0]
    quiet, side = 4 * layout.symbol.dots, layout.symbol.side_dots
    dots = raster.symbol_bitmap(layout.symbol)[quiet : side - quiet, quiet : side - quiet]
    picture = simulate_photo(dots, layout.dpi, PhotoConditions(px_a_mm=VIDEO_PX_PER_MM), np.random.default_rng(1))
    assert zxingcpp.read_barcodes(picture) == []


def test_a_picture_of_noise_is_given_up_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Noise looks like symbols all over; what took long is looked at once more, at half the size."""
    noise = np.random.default_rng(1).integers(0, 256, (2100, 2100), dtype=np.uint8)
    monkeypatch.setattr(decoder, "_SLOW_SECONDS", 0.0)
    symbols, candidates = decoder.read_symbols(noise)
    assert (symbols, candidates.shape) == ([], (1050, 1050))


def test_a_photograph_is_as_large_as_the_label_seen_from_there() -> None:
    layout = LARGE[0]
    flat = simulate_photo(raster.draw_label(layout), 203, PhotoConditions(px_a_mm=10), np.random.default_rng(1))
    assert flat.shape[1] == pytest.approx(layout.width / 203 * 25.4 * 10 + 40, abs=3)
    assert flat.shape[0] == pytest.approx(layout.height / 203 * 25.4 * 10 + 40, abs=3)


def test_the_report_says_ok_or_short() -> None:
    text = format_report(
        [ReadRateResult("near", 10, 10, 1.0), ReadRateResult("far", 10, 9, 1.0), ReadRateResult("dirty", 10, 5)]
    )
    assert text == (
        "near    100.0% of   10   100.0%  ok\nfar      90.0% of   10   100.0%  short\ndirty    50.0% of   10"
    )
