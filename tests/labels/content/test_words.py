"""The words, marks and drawings that tell a part from its likes."""

from dataclasses import replace

import numpy as np
import pytest

from inventory.domain.catalogue.attributes import ATTRIBUTES
from labels.content import part_content
from labels.content.label_content import bin_label
from labels.content.part_content import build_part_content, choose_picture, spec_text
from labels.graphics.pictures import PartPicture, draw_pins, draw_sign
from labels.graphics.shapes import Box
from labels.layout.label_layout import lay_out
from labels.layout.media import roll_media
from labels.output import raster
from tests.labels.sample_labels import ADDRESS, random_code


@pytest.mark.parametrize(
    ("kind", "attributes", "marks"),
    [
        ("connector", {"ways": 4, "pitch_mm": 2, "mounting": "through hole"}, ("4-way", "2.0 mm", "through hole")),
        ("connector", {"ways": "5", "pitch_mm": "2.5 mm", "gender": "female"}, ("5-way", "2.5 mm", "female")),
        ("connector", {"pitch_mm": 2.54, "ways": "10 ways"}, ("10-way", "2.54 mm")),
        ("fan", {"size_mm": 60, "volts": 24, "amps": "0,15", "wires": 3}, ("60 mm", "24 V", "3-wire", "0.15 A")),
        ("supply", {"outputs": "24 V / 6 A", "watts": 150}, ("24 V / 6 A", "150 W")),
        ("consumable", {"container": "250 ml"}, ("250 ml",)),
        ("other", {"volts": None, "watts": ""}, ()),
        ("module", {}, ()),
    ],
)
def test_it_marks_what_the_trade_mixes_up(kind: str, attributes: dict[str, object], marks: tuple[str, ...]) -> None:
    assert build_part_content("Part", kind, attributes).marks == marks


def test_a_label_reads_only_attributes_that_parts_have() -> None:
    for kind, keys in part_content._SPEC_ATTRIBUTES.items():
        assert set(keys) <= {attribute.key for attribute in ATTRIBUTES[kind]}


def test_pitch_always_shows_its_decimal() -> None:
    assert spec_text("pitch_mm", {"pitch_mm": 2}) == "2.0 mm"
    assert spec_text("pitch_mm", {"pitch_mm": "1.25"}) == "1.25 mm"


@pytest.mark.parametrize(
    ("kind", "attributes", "name", "picture"),
    [
        ("connector", {"pitch_mm": 2.0, "ways": 4}, "Header", PartPicture("header", 2.0, 4)),
        ("connector", {"pitch_mm": "0.5 mm", "ways": 24}, "FFC socket", PartPicture("flex", 0.5, 24)),
        ("connector", {}, "5-pole circular", PartPicture("circular")),
        ("connector", {"pitch_mm": "fine", "ways": "many"}, "Header", None),
        ("fan", {}, "Fan", PartPicture("fan")),
        ("other", {}, "Thing", None),
    ],
)
def test_it_chooses_a_drawing(
    kind: str, attributes: dict[str, object], name: str, picture: PartPicture | None
) -> None:
    assert choose_picture(kind, attributes, name) == picture


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize(("pitch", "ways"), [(1.25, 6), (2.0, 4), (2.5, 5), (2.54, 12), (5.08, 3)])
def test_pins_are_drawn_at_true_pitch(pitch: float, ways: int, dpi: int) -> None:
    boxes = [
        ink for ink in draw_pins(PartPicture("header", pitch, ways), 10, 10, 2000, 200, dpi) if isinstance(ink, Box)
    ]
    pins = [box for box in boxes if box.width == box.height and not box.white]
    centres = [pin.x + pin.width // 2 for pin in pins]
    assert len(pins) == ways
    for way, centre in enumerate(centres):
        assert (centre - centres[0]) * 25.4 / dpi == pytest.approx(way * pitch, abs=25.4 / dpi)


def test_a_connector_too_long_for_the_label_is_drawn_open_at_its_end() -> None:
    ink = draw_pins(PartPicture("header", 2.54, 40), 0, 0, 300, 40, 203)
    right = max(each.x + each.width for each in ink if isinstance(each, Box))
    pins = [each for each in ink if isinstance(each, Box) and each.width == each.height and not each.white]
    assert right <= 300
    assert 5 < len(pins) < 40


@pytest.mark.parametrize("kind", ["circular", "fan", "supply", "module", "consumable", "hardware"])
@pytest.mark.parametrize("side", [24, 65, 130])
def test_each_sign_stays_in_its_square_and_is_neither_blank_nor_black(kind: str, side: int) -> None:
    layout = lay_out(bin_label(random_code("bin"), ADDRESS, "A1"), roll_media(60, 40), 300)
    ink = tuple(draw_sign(PartPicture(kind), 400, 200, side))
    canvas = raster.draw_label(replace(layout, ink=ink))
    symbol = layout.symbol
    canvas[layout.symbol_y : layout.symbol_y + symbol.side_dots, : layout.symbol_x + symbol.side_dots] = True
    rows, columns = np.nonzero(~canvas)
    assert 0.05 < len(rows) / side**2 < 0.7
    assert rows.min() >= 199
    assert columns.min() >= 399
    assert rows.max() <= 200 + side
    assert columns.max() <= 400 + side


def test_signs_of_different_kinds_differ() -> None:
    drawn = {kind: tuple(draw_sign(PartPicture(kind), 0, 0, 60)) for kind in ("fan", "supply", "module", "hardware")}
    assert len(set(drawn.values())) == len(drawn)


def test_what_a_part_does_not_have_is_no_mark() -> None:
    """A box that says "none" tells nobody of what there is none."""
    inlet = build_part_content(
        "Mains inlet, panel", "connector", {"mounting": "panel", "gender": "plug", "latch": "none"}
    )
    assert inlet.marks == ("panel", "plug")
