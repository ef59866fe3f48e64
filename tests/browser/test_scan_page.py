"""Reading labels and bags on a phone: with the camera in the page, with a photo, and when neither can be used."""

from __future__ import annotations

import io
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from tests.barcode_images import BARCODE_FORMATS, draw_symbol, encode_image, iso15434_envelope, take_photo
from tests.browser.conftest import QUIET, OpenPhone, Site
from tests.browser.test_three_moments import fits_the_phone
from tests.domain.labelling.test_photos import a_label

Picture = Callable[[Any, str], None]
BAG = iso15434_envelope("PFN-303", "1PQU-68771", "Q10", "1TQU26511", "9D2641")
PART = "80 mm fan, 12 V, 3 wires with tach"

# Headless Chromium has a camera of its own making, but no barcode detector on this system: the one that is put into
# the page hands the camera's picture to zxing-cpp, so what is read is what the camera showed.
DETECTOR = """
window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code", "data_matrix"]; }
  async detect(video) {
    const canvas = new OffscreenCanvas(video.videoWidth, video.videoHeight);
    canvas.getContext("2d").drawImage(video, 0, 0);
    const bytes = new Uint8Array(await (await canvas.convertToBlob()).arrayBuffer());
    const texts = await window.readPicture(bytes.reduce((text, one) => text + String.fromCharCode(one), ""));
    return texts.map((rawValue) => ({ rawValue }));
  }
};
"""


def read_picture(binary: str) -> list[str]:
    """Read the symbols on a PNG that the page sends as one character a byte."""
    picture = Image.open(io.BytesIO(binary.encode("latin-1"))).convert("L")
    return [barcode.text for barcode in zxingcpp.read_barcodes(np.asarray(picture))]


def film(path: Path, scene: Image.Image) -> Path:
    """Write a film of one still picture for Chromium's camera: YUV4MPEG2, 4:2:0, grey."""
    frame = scene.convert("L")
    half = bytes([128]) * (frame.width * frame.height // 2)  # both colour planes: none
    head = f"YUV4MPEG2 W{frame.width} H{frame.height} F10:1 Ip A1:1 C420jpeg\nFRAME\n"
    path.write_bytes(head.encode() + frame.tobytes() + half)
    return path


def on_bench(*symbols: Image.Image) -> Image.Image:
    """Lay symbols side by side in the camera's sight."""
    return Image.open(io.BytesIO(take_photo(*symbols, kind="PNG", size=(1280, 720))))


Camera = Callable[..., Any]


@pytest.fixture
def camera(chromium: Any, phone: OpenPhone, tmp_path: Path) -> Iterator[Camera]:
    """Open a phone whose camera sees a scene, and whose browser offers a barcode detector."""
    opened: list[Any] = []

    def look_at(scene: Image.Image) -> Any:
        shown = film(tmp_path / "scene.y4m", scene)
        browser = chromium.browser_type.launch(
            executable_path=os.environ.get("CHROMIUM") or shutil.which("chromium"),
            args=[*QUIET, "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
                  f"--use-file-for-fake-video-capture={shown}"],
        )  # fmt: skip
        opened.append(browser)
        page = phone("ines", browser=browser, permissions=["camera"])
        page.expose_function("readPicture", read_picture)
        page.add_init_script(DETECTOR)
        page.goto("/scan")
        return page

    yield look_at
    for browser in opened:
        browser.close()


def test_the_camera_in_the_page_reads_a_label_and_opens_its_bin(camera: Camera, site: Site, picture: Picture) -> None:
    page = camera(on_bench(a_label(site.code("bin A-01"))))
    button = page.get_by_role("button", name="Use the camera")
    fits_the_phone(page)
    button.click()
    page.get_by_role("heading", name="Bin A-01").wait_for()


def test_the_camera_begins_the_receipt_of_a_bag(camera: Camera) -> None:
    page = camera(on_bench(draw_symbol(BAG)))
    page.get_by_role("button", name="Use the camera").click()
    page.get_by_role("heading", name="Receive").wait_for()
    assert page.get_by_label("How many").input_value() == "10"


def test_of_several_codes_in_the_cameras_sight_one_is_picked(camera: Camera, site: Site) -> None:
    page = camera(on_bench(a_label(site.code("bin A-01")).resize((480, 225)), draw_symbol(BAG)))
    page.get_by_role("button", name="Use the camera").click()
    page.get_by_role("heading", name="2 codes were read: which one?").wait_for()
    fits_the_phone(page)
    page.get_by_role("link", name=re.compile("FN-303")).click()
    page.get_by_role("heading", name="Receive").wait_for()


def test_the_camera_shows_what_it_sees_until_it_is_stopped(camera: Camera) -> None:
    page = camera(on_bench())
    page.get_by_role("button", name="Use the camera").click()
    page.get_by_text("Hold the code in the picture").wait_for()
    view = page.locator("#view")
    view.evaluate("one => one.readyState >= 2 || new Promise(done => one.addEventListener('loadeddata', done))")
    assert view.bounding_box()["height"] > 100
    fits_the_phone(page)
    page.get_by_role("button", name="Stop the camera").click()
    page.get_by_text("Hold the code in the picture").wait_for(state="hidden")
    assert page.get_by_role("button", name="Use the camera").is_visible()


def test_a_camera_that_is_not_allowed_is_told_and_the_field_still_takes_the_code(
    phone: OpenPhone, site: Site
) -> None:
    page = phone("ines")
    page.add_init_script(DETECTOR)
    page.goto("/scan")
    page.get_by_role("button", name="Use the camera").click()
    page.get_by_text("The camera cannot be used: allow it for this page, or type the code.").wait_for()
    page.get_by_label("Code, address or words").fill(site.code("bin A-01"))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Bin A-01").wait_for()


def a_file(content: bytes, name: str = "photo.jpg") -> dict[str, Any]:
    """Give a photo as the phone's picker does."""
    return {"name": name, "mimeType": "image/jpeg", "buffer": content}


def test_a_browser_without_a_detector_offers_a_photo_of_a_label_instead(phone: OpenPhone, site: Site) -> None:
    page = phone("ines")
    page.goto("/scan")
    assert not page.get_by_role("button", name="Use the camera").is_visible()
    page.locator("#photo").set_input_files(a_file(encode_image(a_label(site.code("bin A-01")), "PNG"), "label.png"))
    page.get_by_role("heading", name="Bin A-01").wait_for()


def test_a_photo_of_a_bag_is_received_and_the_same_bag_is_recognised(
    phone: OpenPhone, site: Site, picture: Picture
) -> None:
    page = phone("ines")
    page.goto("/scan")
    page.locator("#photo").set_input_files(a_file(take_photo(draw_symbol(BAG))))
    page.get_by_role("heading", name="Receive").wait_for()
    assert page.get_by_role("link", name=PART).is_visible()
    assert (page.get_by_label("How many").input_value(), page.get_by_label("Maker's lot").input_value()) == (
        "10", "QU26511",
    )  # fmt: skip
    fits_the_phone(page)
    picture(page, "bag")
    page.get_by_role("button", name="Put it in").click()
    page.get_by_role("status").get_by_text("received into B-03").wait_for()
    page.goto("/receive")
    page.locator("#photo").set_input_files(a_file(take_photo(draw_symbol(BAG))))
    page.get_by_text("This very code was received").wait_for()


def test_a_bag_with_one_field_that_cannot_be_asks_for_that_one(phone: OpenPhone) -> None:
    page = phone("ines")
    page.goto("/scan")
    odd = iso15434_envelope("PFN-303", "Q0", "1TQU26512", "14D20280230")
    page.locator("#photo").set_input_files(a_file(take_photo(draw_symbol(odd))))
    page.get_by_text("The code says that the bag holds 0 pieces: count it and type the quantity.").wait_for()
    assert page.get_by_label("Maker's lot").input_value() == "QU26512"
    fits_the_phone(page)
    page.get_by_role("button", name="Put it in").click()  # the browser asks for the number
    assert page.evaluate("document.activeElement.name") == "amount"


def test_without_scripts_a_photo_is_chosen_and_sent_with_a_button(phone: OpenPhone, site: Site) -> None:
    page = phone("ines", java_script_enabled=False)
    page.goto("/scan")
    page.locator("#photo").set_input_files(a_file(take_photo(a_label(site.code("bin A-01")))))
    page.get_by_role("button", name="Read it").click()
    page.get_by_role("heading", name="Bin A-01").wait_for()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (encode_image(Image.new("L", (900, 700), 110)), "No code was found on this photo."),
        (b"", "This is no photo that can be read: send a JPEG, PNG or WebP."),
        (
            take_photo(draw_symbol("https://shop.example/item/9", BARCODE_FORMATS.QRCode)),
            "That is the address of a web page",
        ),
        (bytes(50_000_000), "That is larger than 20 MB, the most that is taken here"),
    ],
    ids=["of nothing", "empty", "of a web page's code", "of fifty megabytes"],
)
def test_a_photo_that_is_no_use_is_answered_with_a_sentence(
    phone: OpenPhone, content: bytes, sentence: str, tmp_path: Path
) -> None:
    path = tmp_path / "photo.jpg"
    path.write_bytes(content)
    page = phone("ines")
    page.goto("/scan")
    page.locator("#photo").set_input_files(path)
    page.get_by_text(sentence).wait_for()
    fits_the_phone(page)
