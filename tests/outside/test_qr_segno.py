"""Symbols against segno, an independent encoder of ISO/IEC 18004, and against qrcode's own choice of mask."""

import random

import numpy as np
import pytest
import qrcode
import segno
import zxingcpp

from labels.symbols.qr_symbol import encode_qr
from shared.codes import generate_code, label_url

chance = random.Random(18004)
HOSTS = ("https://bench.lan", "http://192.168.178.20:8017", "https://" + "long-name." * 12 + "example")
LINKS = [label_url(host, generate_code("bin", chance.choice)) for host in HOSTS for _ in range(5)]
TEXTS = [*LINKS, "0", "3141592653589793238462643", "X" * 701]
AS_BYTES = ["lower case goes as bytes", "Größe 5 µm – Ω", "x" * 700]


@pytest.mark.parametrize("level", "LMQH")
@pytest.mark.parametrize("text", TEXTS)
def test_it_makes_the_same_symbol_module_for_module_under_the_same_mask(text: str, level: str) -> None:
    ours = encode_qr(text, level)
    theirs = segno.make(text, error=level, micro=False, mask=ours.mask)
    assert (ours.version, ours.level) == (theirs.version, theirs.error)
    assert np.array_equal(ours.modules, np.array([list(row) for row in theirs.matrix], dtype=bool))


@pytest.mark.parametrize("level", "LMQH")
@pytest.mark.parametrize("text", AS_BYTES)
def test_it_takes_the_same_version_and_level_for_bytes(text: str, level: str) -> None:
    """Not module for module: segno 1.6 puts one more zero byte before the padding where none is due (7.4.10)."""
    ours = encode_qr(text, level)
    theirs = segno.make(text, error=level, micro=False, encoding="utf-8", eci=False)
    assert (ours.version, ours.level, ours.side - 8) == (
        theirs.version,
        theirs.error,
        theirs.symbol_size(border=0)[0],
    )


@pytest.mark.parametrize("text", TEXTS[::5] + AS_BYTES)
def test_it_chooses_the_mask_that_the_library_would_choose(text: str) -> None:
    ours = encode_qr(text, "Q")
    levels = {"L": 1, "M": 0, "Q": 3, "H": 2}
    slow = qrcode.QRCode(ours.version, error_correction=levels[ours.level], border=0)
    slow.add_data(text, optimize=0)
    slow.make(fit=False)
    assert np.array_equal(ours.modules, np.array(slow.get_matrix(), dtype=bool))


@pytest.mark.parametrize("text", TEXTS + AS_BYTES)
def test_an_independent_reader_reads_the_text_back(text: str) -> None:
    picture = np.kron(np.pad(~encode_qr(text).modules, 4, constant_values=True), np.ones((4, 4), dtype=bool))
    barcodes = zxingcpp.read_barcodes(picture.astype(np.uint8) * 255)
    assert [each.text for each in barcodes] == [text]
