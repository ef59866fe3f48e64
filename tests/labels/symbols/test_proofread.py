"""Proofreading: a misprint stops the job and says which label."""

from dataclasses import replace

import pytest

from labels.content.label_content import bin_label
from labels.errors import Misprint
from labels.graphics.shapes import Box
from labels.layout import label_layout as layouts
from labels.layout.label_layout import LabelLayout, lay_out
from labels.layout.media import STANDARD_MEDIA
from labels.output.proofread import proofread_label, proofread_labels
from labels.render import render_pdf
from labels.symbols.qr_symbol import SizedSymbol, encode_qr
from shared.codes import format_code
from tests.labels.sample_labels import ADDRESS, HEADER, random_code

A4 = STANDARD_MEDIA["a4-3x8"]


def label(name: str = "A3-07") -> LabelLayout:
    return lay_out(bin_label(random_code("bin"), ADDRESS, name, HEADER), A4)


def test_it_lets_a_good_label_pass() -> None:
    proofread_label(label())


def test_it_stops_a_symbol_that_says_something_else() -> None:
    good = label()
    other = encode_qr("HTTPS://BENCH.LAN/S/B22222222")
    wrong = replace(good, symbol=SizedSymbol(other, good.symbol.dots, good.symbol.dpi))
    with pytest.raises(Misprint) as stop:
        proofread_label(wrong)
    assert str(stop.value) == (
        f"Label {format_code(good.face.code)} (A3-07) reads as 'HTTPS://BENCH.LAN/S/B22222222' instead of "
        f"'{good.face.link}': nothing was printed."
    )


def test_it_stops_a_covered_finder_pattern() -> None:
    good = label()
    side = good.symbol.side_dots
    blot = Box(good.symbol_x + side // 8, good.symbol_y + side // 8, side // 3, side // 3)
    with pytest.raises(Misprint, match=r"\(A3-07\) does not read instead of"):
        proofread_label(replace(good, ink=(*good.ink, blot)))


@pytest.mark.parametrize("inward", [1, 20])
def test_it_stops_ink_in_the_light_border(inward: int) -> None:
    good = label()
    edge = good.symbol_x + good.symbol.side_dots
    blot = Box(edge - inward, good.symbol_y + 30, 40, 4)
    with pytest.raises(Misprint, match="something was printed into the light border of its symbol"):
        proofread_label(replace(good, ink=(*good.ink, blot)))


def test_it_names_the_first_wrong_label_of_many() -> None:
    wrong = label("C9-01")
    wrong = replace(wrong, ink=(Box(0, 0, wrong.width, wrong.height),))
    with pytest.raises(Misprint, match="C9-01"):
        proofread_labels([label(), wrong, label()])


def test_no_pdf_leaves_when_a_label_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """The encoder is made to err, the reader is the real one."""
    monkeypatch.setattr(layouts, "encode_qr", lambda text, level: encode_qr(text + "X", level))
    with pytest.raises(Misprint, match="nothing was printed"):
        render_pdf([bin_label(random_code("bin"), ADDRESS, "A3-07", HEADER)], A4)
