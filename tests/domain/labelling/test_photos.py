"""Photos of labels and bags: every symbol is read and named; what is no such photo is refused, and costs little."""

from __future__ import annotations

import io
import os
import sys
import threading
import tracemalloc
import zlib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from inventory.domain.common.errors import Busy, Invalid
from inventory.domain.labelling import photo_codes
from labels import render
from labels.content.label_content import bin_label
from labels.layout.media import STANDARD_MEDIA
from shared.codes import format_code, generate_code
from tests.barcode_images import BARCODE_FORMATS, draw_symbol, encode_image, iso15434_envelope, take_photo
from tests.factories import a_bin

pytestmark = pytest.mark.usefixtures("bench")

BAG = iso15434_envelope("1PWB-H4-200", "Q25", "1TNG881")
KEPT = "[)>{RS}06{GS}1PWB-H4-200{GS}Q25{GS}1TNG881{RS}{EOT}"


def a_label(code: str) -> Image.Image:
    """Draw a bin's label as the printer would."""
    png = render.render_png(bin_label(code, "https://bench.lan", "A-14"), STANDARD_MEDIA["roll-62x29"])
    return Image.open(io.BytesIO(png)).convert("L")


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_it_reads_a_label_of_ours_and_says_what_it_is_on(kind: str) -> None:
    bin_ = a_bin()
    (symbol,) = photo_codes.read_photo(take_photo(a_label(bin_.code), kind=kind))
    assert (symbol.what, symbol.kind, symbol.text) == ("label", "QR Code", f"HTTPS://BENCH.LAN/S/{bin_.code}")
    assert symbol.scan is not None
    assert (symbol.scan.what, symbol.scan.id) == ("bin", bin_.id)


@pytest.mark.parametrize("turn", range(1, 9))
def test_it_turns_a_photo_as_its_exif_says(turn: int) -> None:
    """Exif orientation 1 to 8 (CIPA DC-008, 4.6.5), also mirrored; the symbol lies in a corner to tell them apart."""
    upright = Image.new("L", (1200, 800), 170)
    upright.paste(draw_symbol(BAG), (30, 30))
    back = {2: [0], 3: [3], 4: [1], 5: [5], 6: [2], 7: [6], 8: [4]}  # how a camera held so sees the scene
    turned = upright
    for method in back.get(turn, []):
        turned = turned.transpose(Image.Transpose(method))
    exif = Image.Exif()
    exif[0x0112] = turn
    (symbol,) = photo_codes.read_photo(encode_image(turned, exif=exif, quality=95))
    assert (symbol.text, symbol.place) == (KEPT, "top left")


def test_it_names_every_symbol_of_a_photo_from_the_top_left_on() -> None:
    bin_ = a_bin()
    symbols = photo_codes.read_photo(
        take_photo(
            draw_symbol(BAG),
            a_label(bin_.code),
            draw_symbol("https://shop.example/p/7", BARCODE_FORMATS.QRCode),
            draw_symbol(BAG),
            draw_symbol("9521234543213", BARCODE_FORMATS.EAN13),
            size=(2400, 1400),
            kind="PNG",
        )
    )
    assert [(symbol.what, symbol.kind) for symbol in symbols] == [
        ("bag", "Data Matrix"),
        ("label", "QR Code"),
        ("other", "QR Code"),
        ("bag", "EAN-13"),
    ]
    assert symbols[0].place == "top left"
    assert symbols[2].sentence == "This is the address of a web page, not a label of ours and not a bag code."
    assert symbols[3].text == "(01)09521234543213"


@pytest.mark.parametrize(
    "symbol",
    [BARCODE_FORMATS.DataMatrix, BARCODE_FORMATS.QRCode, BARCODE_FORMATS.Aztec, BARCODE_FORMATS.PDF417],
    ids=str,
)
def test_it_reads_bag_codes_in_every_symbol_that_bags_carry(symbol: object) -> None:
    (photo_symbol,) = photo_codes.read_photo(take_photo(draw_symbol(BAG, symbol)))
    assert (photo_symbol.what, photo_symbol.text, photo_symbol.title) == ("bag", KEPT, "WB-H4-200")


@pytest.mark.parametrize("symbol", [BARCODE_FORMATS.DataMatrix, BARCODE_FORMATS.Code128], ids=str)
def test_it_keeps_the_separators_of_gs1_whatever_the_lot_is_called(symbol: object) -> None:
    element = (
        "(01)09521234543213(10)A(37)7(37)25"
        if symbol is BARCODE_FORMATS.Code128
        else "(01)09521234543213(10)AB(37)25"
    )
    (photo_symbol,) = photo_codes.read_photo(take_photo(draw_symbol(element, symbol, scale=3, gs1=True)))
    assert "{GS}" in photo_symbol.text
    assert photo_symbol.text.startswith("]")


def test_bar_codes_of_one_field_each_are_read_together() -> None:
    fields = [draw_symbol(text, BARCODE_FORMATS.Code128, 3) for text in ("1PWB-H4-200", "Q25", "1TNG881")]
    symbols = photo_codes.read_photo(take_photo(*fields, size=(1600, 1400)))
    assert (symbols[0].what, symbols[0].text) == ("bag", KEPT)
    assert [symbol.what for symbol in symbols[1:]] == ["other"] * 3


def test_a_label_that_nothing_has_is_told_as_such() -> None:
    code = generate_code("bin")
    (symbol,) = photo_codes.read_photo(take_photo(a_label(code)))
    assert symbol.what == "other"
    assert symbol.sentence.startswith(f"No bin here has the code {format_code(code)}.")


def test_a_malformed_bag_code_says_what_is_wrong_with_it() -> None:
    (symbol,) = photo_codes.read_photo(take_photo(draw_symbol(iso15434_envelope("Q0"))))
    assert symbol.what == "other"
    assert symbol.sentence == "The code says that the bag holds 0 pieces: count it and type the quantity."


def test_a_see_through_picture_lies_on_white() -> None:
    ink = Image.new("RGBA", (600, 600), (0, 0, 0, 0))
    ink.putalpha(draw_symbol(BAG).resize((600, 600), Image.Resampling.NEAREST).point(lambda grey: 255 - grey))
    assert photo_codes.read_photo(encode_image(ink, "PNG"))[0].text == KEPT


def test_a_small_symbol_on_a_very_fine_photo_is_found() -> None:
    assert photo_codes.read_photo(very_fine())[0].text == KEPT


def very_fine() -> bytes:
    """A photo whose one symbol is lost when it is made smaller."""
    fine = Image.new("L", (7000, 5000), 180)
    fine.paste(draw_symbol(BAG, scale=2), (3000, 2500))
    return encode_image(fine, quality=90)


def test_a_photo_that_has_taken_long_already_is_not_looked_at_as_fine_as_it_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(photo_codes, "MAX_SECONDS", 0.0)
    assert refused(very_fine()).reason == "nothing_found"


def test_texts_that_a_camera_read_are_named_in_the_same_way() -> None:
    bin_ = a_bin()
    symbols = photo_codes.symbols_from_texts([bin_.code, BAG, "", BAG, "WB-H4-200"])
    assert [symbol.what for symbol in symbols] == ["label", "bag", "other"]


# ---- what is no such photo -------------------------------------------------------------------------------


def refused(content: bytes) -> Invalid:
    """Read what cannot be read; return the refusal."""
    with pytest.raises(Invalid) as refusal:
        photo_codes.read_photo(content)
    return refusal.value


def a_bomb(width: int, height: int) -> bytes:
    """Write a PNG of a few kilobytes that says it has a great many dots."""
    header = width.to_bytes(4, "big") + height.to_bytes(4, "big") + bytes((8, 6, 0, 0, 0))
    rows = zlib.compress(bytes(4 * width + 1) * min(height, 64), 9)
    parts = ((b"IHDR", header), (b"IDAT", rows), (b"IEND", b""))
    chunks = (
        len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")
        for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.mark.parametrize(("width", "height"), [(30_000, 30_000), (9_000, 9_000), (12_000, 9_000), (100_000, 100_000)])
def test_a_picture_that_unpacks_to_a_great_many_dots_is_refused_before_it_is_unpacked(
    width: int, height: int
) -> None:
    bomb = a_bomb(width, height)
    tracemalloc.start()
    sentence = refused(bomb)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert sentence.reason == "too_large"
    assert sentence.sentence.endswith("dots, and at most 64 million are read: take it in a smaller size.")
    assert most < 5_000_000


@pytest.mark.parametrize(
    "content",
    [
        *(b"", b"hello", b"%PDF-1.7 %%EOF", b"GIF89a" + bytes(200), b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        *(b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", b"RIFF\x00\x00\x00\x00WEBPVP8 "),
        encode_image(Image.new("P", (50, 50)), "GIF"),
    ],
    ids=lambda content: repr(content[:8]),
)
def test_what_is_no_photo_is_refused_whatever_it_is_called(content: bytes) -> None:
    sentence = refused(content)
    assert sentence.reason == "bad_photo"
    assert sentence.sentence == "This is no photo that can be read: send a JPEG, PNG or WebP."


@pytest.mark.parametrize("shade", [0, 128, 255])
def test_a_photo_of_nothing_says_how_to_take_a_better_one(shade: int) -> None:
    sentence = refused(encode_image(Image.new("RGB", (1600, 1200), (shade, shade, shade))))
    assert sentence.reason == "nothing_found"
    assert sentence.sentence.startswith("No code was found on this photo. Hold the phone closer")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
def test_what_a_photo_took_of_memory_is_given_back_whichever_thread_read_it() -> None:
    """Without it glibc keeps some 150 MB for each thread of the service that ever read such a photo."""
    large = encode_image(Image.new("RGBA", (4000, 3500)), "PNG")
    photos_read, end = threading.Semaphore(0), threading.Event()

    def read_and_stay() -> None:
        refused(large)
        photos_read.release()
        end.wait()

    before = memory()
    for _ in range(2):
        threading.Thread(target=read_and_stay, daemon=True).start()
        photos_read.acquire()
    after = memory()
    end.set()
    assert after - before < 60_000_000


def memory() -> int:
    """Return how many bytes of this process are in memory."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def test_few_wait_while_a_photo_is_read_and_further_ones_are_sent_away() -> None:
    fine = take_photo(draw_symbol(BAG), kind="PNG", size=(3000, 2000))
    with ThreadPoolExecutor(12) as phones:
        sent = [phones.submit(photo_codes.read_photo, fine) for _ in range(12)]
    busy = [answer.exception() for answer in sent if answer.exception()]
    assert all(isinstance(answer, Busy) for answer in busy)
    assert 0 < len(busy) <= 12 - 1 - photo_codes.MAX_WAITING
    assert {answer.result()[0].text for answer in sent if not answer.exception()} == {KEPT}
    assert photo_codes.read_photo(fine)[0].text == KEPT  # and later ones are read again


PHOTOS = [take_photo(draw_symbol(BAG, scale=3), kind=kind, size=(300, 300)) for kind in ("JPEG", "PNG", "WEBP")]
_damage = st.lists(st.tuples(st.integers(0, 10_000), st.binary(min_size=1, max_size=4)), max_size=6)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(PHOTOS), _damage, st.integers(0, 10_000))
def test_a_damaged_file_is_read_or_refused_and_never_an_error(
    whole: bytes, damage: list[tuple[int, bytes]], cut: int
) -> None:
    spoilt = bytearray(whole)
    for place, put in damage:
        offset = place % len(spoilt)
        spoilt[offset : offset + len(put)] = put
    content = bytes(spoilt[: len(spoilt) - cut % (len(spoilt) // 2)])
    try:
        symbols = photo_codes.read_photo(content)
    except Invalid as refusal:
        assert refusal.reason in ("bad_photo", "too_large", "nothing_found")  # noqa: PT017 - both outcomes are right
    else:
        assert symbols
