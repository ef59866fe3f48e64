"""The photo button: a photo of a label opens the thing, one of a bag begins a receipt, of several one is picked."""

from __future__ import annotations

import io
from urllib.parse import parse_qs, urlsplit

import pytest
from flask import Flask
from PIL import Image
from werkzeug.test import TestResponse

from inventory.settings import load_settings
from tests.barcode_images import (
    BARCODE_FORMATS,
    draw_symbol,
    encode_image,
    iso15434_envelope,
    photo_queue,
    take_photo,
)
from tests.domain.labelling.test_photos import a_bomb, a_label
from tests.factories import a_bin, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text

BAG = iso15434_envelope("1PWB-H4-200", "Q25")


def send(client: PageClient, content: bytes, name: str = "photo.jpg", **more: str) -> TestResponse:
    """Send a photo as the button of the scan page does (RFC 7578)."""
    head = 'Content-Disposition: form-data; name="{}"'
    texts = {"csrf_token": client.form_token(), **more}
    parts = [f"{head.format(field)}\r\n\r\n{text}".encode() for field, text in texts.items()]
    file = f'{head.format("photo")}; filename="{name}"\r\nContent-Type: image/jpeg\r\n\r\n'
    parts.append(file.encode() + content)
    body = b"".join(b"--edge\r\n" + part + b"\r\n" for part in parts) + b"--edge--\r\n"
    return client.post("/scan/photo", data=body, content_type="multipart/form-data; boundary=edge")


def test_it_offers_the_button_on_the_scan_page_and_where_bags_are_received(tech_page: PageClient) -> None:
    for path in ("/scan", "/receive"):
        page = tech_page.get(path).get_data(as_text=True)
        assert 'action="/scan/photo"' in page
        assert 'enctype="multipart/form-data"' in page


def test_a_photo_of_our_own_label_opens_what_it_is_on(tech_page: PageClient) -> None:
    bin_ = a_bin(name="A-14")
    answer = follow_redirect(tech_page, follow_to_label(tech_page, send(tech_page, take_photo(a_label(bin_.code)))))
    assert "Bin A-14" in page_text(answer)
    assert "Bin A-14" in page_text(tech_page.get("/scan"))


def follow_to_label(client: PageClient, answer: TestResponse) -> TestResponse:
    """Go on to the address that the label carries."""
    assert "/S/" in answer.headers["Location"].upper()
    return client.get(answer.headers["Location"])


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_of_a_bag_begins_its_receipt(tech_page: PageClient, kind: str) -> None:
    a_part("Board header", maker_number="WB-H4-200")
    page = follow_redirect(tech_page, send(tech_page, take_photo(draw_symbol(BAG), kind=kind)))
    assert "Board header" in page_text(page)
    assert 'name="amount" type="text" value="25"' in page.get_data(as_text=True)


def test_a_bag_for_a_bin_that_was_scanned_first_goes_into_that_bin(tech_page: PageClient) -> None:
    part = a_part(maker_number="WB-H4-200")
    a_bin(part, name="A-01")
    spare = a_bin(part, name="Z-09")
    page = follow_redirect(tech_page, send(tech_page, take_photo(draw_symbol(BAG)), bin=str(spare.id)))
    assert 'value="Z-09"' in page.get_data(as_text=True)


def test_the_only_code_of_use_is_taken_and_a_web_pages_code_is_left_alone(tech_page: PageClient) -> None:
    web = draw_symbol("https://shop.example/item/9", BARCODE_FORMATS.QRCode)
    answer = send(tech_page, take_photo(web, draw_symbol(BAG)))
    assert urlsplit(answer.headers["Location"]).path == "/receive"


def test_of_several_codes_one_is_picked(tech_page: PageClient) -> None:
    bin_ = a_bin(name="A-14")
    answer = send(tech_page, take_photo(draw_symbol(BAG), a_label(bin_.code), size=(2000, 900)))
    assert urlsplit(answer.headers["Location"]).path == "/scan/pick"
    page = follow_redirect(tech_page, answer)
    assert "2 codes were read: which one?" in page_text(page)
    assert "WB-H4-200" in page_text(page)
    assert "Bin A-14" in page_text(page)
    assert "Data Matrix" in page_text(page)
    assert f'href="/S/{bin_.code}"' in page.get_data(as_text=True)
    assert 'href="/receive?bag=' in page.get_data(as_text=True)


def test_bar_codes_of_one_field_each_are_offered_together_and_never_taken_unasked(tech_page: PageClient) -> None:
    fields = [draw_symbol(text, BARCODE_FORMATS.Code128, 3) for text in ("1PWB-H4-200", "Q25")]
    answer = send(tech_page, take_photo(*fields))
    assert urlsplit(answer.headers["Location"]).path == "/scan/pick"
    assert "bar codes read together" in page_text(follow_redirect(tech_page, answer))


def test_a_web_pages_code_alone_is_told_as_such_and_is_no_link(tech_page: PageClient) -> None:
    answer = send(tech_page, take_photo(draw_symbol("https://shop.example/item/9", BARCODE_FORMATS.QRCode)))
    page = follow_redirect(tech_page, answer)
    assert page.status_code == 404
    assert "That is the address of a web page, not a label of ours" in page_text(page)
    assert "shop.example" not in page.get_data(as_text=True).replace('https://shop.example/item/9"', "")
    assert 'href="https://shop' not in page.get_data(as_text=True)


def test_a_number_that_is_only_a_number_is_searched_for(tech_page: PageClient) -> None:
    a_part("Board header", maker_number="WB-H4-200")
    page = follow_redirect(
        tech_page, send(tech_page, take_photo(draw_symbol("WB-H4-200", BARCODE_FORMATS.Code128, 3)))
    )
    assert "Board header" in page_text(page)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "This is no photo that can be read: send a JPEG, PNG or WebP."),
        (b"<html>hello</html>", "This is no photo that can be read: send a JPEG, PNG or WebP."),
        (encode_image(Image.new("L", (800, 600), 120)), "No code was found on this photo."),
        (a_bomb(50_000, 50_000), "at most 64 million are read"),
    ],
    ids=["empty", "a page", "a photo of nothing", "a decompression bomb"],
)
def test_what_cannot_be_read_is_said_on_the_scan_page(tech_page: PageClient, content: bytes, sentence: str) -> None:
    page = send(tech_page, content)
    assert page.status_code == 422
    assert sentence in page_text(page)
    assert "Send a photo" in page_text(page)


def test_a_malformed_bag_code_on_a_photo_is_said_where_bags_are_received(tech_page: PageClient) -> None:
    page = follow_redirect(
        tech_page, follow_redirect(tech_page, send(tech_page, take_photo(draw_symbol(iso15434_envelope("Q0")))))
    )
    assert page.status_code == 422
    assert "The code says that the bag holds 0 pieces" in page_text(page)


def test_a_photo_of_fifty_megabytes_is_refused_with_its_limit(tech_page: PageClient) -> None:
    page = send(tech_page, bytes(50_000_000))
    assert page.status_code == 413
    assert "That is larger than 20 MB, the most that is taken here" in page_text(page)


def test_a_photo_too_many_at_once_is_told_so_where_it_is_sent_again(tech_page: PageClient) -> None:
    with photo_queue():
        page = send(tech_page, take_photo(draw_symbol(BAG)))
    assert page.status_code == 503
    assert "Other photos are being read: send this one again in a moment." in page_text(page)
    assert "Send a photo" in page_text(page)


def test_the_limit_of_photos_is_a_setting_of_its_own_and_holds_for_photos_only(
    app: Flask, tech_page: PageClient
) -> None:
    assert load_settings({"BENCHPROOF_MAX_PHOTO": "3000000"}).max_photo == 3_000_000
    large = take_photo(a_label(a_bin(name="A-14").code), kind="PNG") + bytes(
        1_500_000
    )  # what follows a PNG is no part of it
    assert send(tech_page, large).status_code == 303
    assert tech_page.post_form("/labels/blank", number="1", note="x" * 1_500_000).status_code == 413


def test_no_photo_chosen_is_said(tech_page: PageClient) -> None:
    for answer in (send(tech_page, b"", name=""), tech_page.post_form("/scan/photo")):
        assert answer.status_code == 422
        assert "Choose a photo first." in page_text(answer)


def test_a_form_that_is_not_ours_reads_nothing(tech_page: PageClient) -> None:
    refused = tech_page.post("/scan/photo", data={"photo": (io.BytesIO(take_photo(draw_symbol(BAG))), "bag.jpg")})
    assert refused.status_code == 403


def test_a_viewer_may_photograph_labels(viewer_page: PageClient) -> None:
    assert send(viewer_page, take_photo(a_label(a_bin().code))).status_code == 303


def test_texts_that_the_camera_read_are_picked_from_in_the_same_way(tech_page: PageClient) -> None:
    bin_ = a_bin(name="A-14")
    page = tech_page.get("/scan/pick", query_string={"code": [bin_.code, BAG, "<script>x</script>"]})
    assert "3 codes were read" in page_text(page)
    assert "<script>x" not in page.get_data(as_text=True)
    links = [part.split('"')[0] for part in page.get_data(as_text=True).split('href="/receive?')[1:]]
    assert parse_qs(links[0].replace("&amp;", "&"))["bag"][0].startswith("[)>")


def test_nothing_to_pick_from_is_said(tech_page: PageClient) -> None:
    for query in ("", "?code=", "?code=%20"):
        page = tech_page.get(f"/scan/pick{query}")
        assert page.status_code == 422
        assert "Nothing was read: scan again." in page_text(page)


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.get("/scan/photo").status_code == 405
    assert tech_page.post_form("/scan/pick").status_code == 405
