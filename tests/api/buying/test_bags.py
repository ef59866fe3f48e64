"""Bag codes, photos and pairings over REST."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from inventory.domain.buying import bag_pairings
from inventory.domain.catalogue import lots
from tests.api.problem_details import checked_problem
from tests.api.routes import API
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
from tests.http_clients import ApiClient

BAG = iso15434_envelope("1PWB-H4-200", "Q25", "1TNG881", "9D2541")


def read(client: ApiClient, text: str, **more: Any) -> Any:
    """Read a bag's code; return the answer."""
    answer = client.post(f"{API}/bag-codes", json={"text": text, **more})
    assert answer.status_code == 200, answer.get_json()
    return answer.get_json()


def send(client: ApiClient, content: bytes) -> TestResponse:
    """Send a photo."""
    boundary, body = encode_multipart({"photo": FileStorage(io.BytesIO(content), "bag.jpg")})
    return client.post(f"{API}/photos", data=body, content_type=f"multipart/form-data; boundary={boundary}")


def test_a_bags_code_is_read_and_its_part_found(as_viewer: ApiClient) -> None:
    part = a_part("Board header", maker_number="WB-H4-200")
    result = read(as_viewer, BAG)
    assert result["part"]["id"] == part.id
    assert result["says"]["supplier_part"] == "WB-H4-200"
    assert result["says"]["made"] == "2025-10-06"
    assert (result["quantity"], result["maker_lot"], result["date_code"]) == (25, "NG881", "2541")
    assert result["text"] == "[)>{RS}06{GS}1PWB-H4-200{GS}Q25{GS}1TNG881{GS}9D2541{RS}{EOT}"
    assert [(one["how"], one["number"]) for one in result["matches"]] == [("maker's", "WB-H4-200")]


def test_a_program_receives_what_it_read_and_the_number_is_learned(as_tech: ApiClient) -> None:
    part = a_part()
    bin_ = a_bin(part)
    result = read(as_tech, BAG)
    assert (result["part"], result["matches"]) == (None, [])
    receipt = {"part_id": part.id, "bin_id": bin_.id, "quantity": result["quantity"],
               "maker_lot": result["maker_lot"], "raw_code": result["text"]}  # fmt: skip
    received = as_tech.post(f"{API}/receipts", json=receipt).get_json()
    assert lots.lot(received["lot_ids"][0]).raw_code == result["text"]
    again = read(as_tech, BAG)
    assert again["part"]["id"] == part.id
    assert again["received_before"] == received["lot_ids"]


def test_what_somebody_says_it_is_can_be_sent_along(as_tech: ApiClient) -> None:
    part = a_part()
    assert read(as_tech, BAG, part_id=part.id)["part"]["id"] == part.id
    checked_problem(as_tech.post(f"{API}/bag-codes", json={"text": BAG, "part_id": 999}), 404)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (iso15434_envelope("Q0"), "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("[)>06PXQ5", "The scanner left out the separators between the fields. Set it to type {GS} for them (its "
         "manual calls them control characters or function codes), or take a photo of the code."),
        ("spoon", "This is no bag code that can be read here: scan another code on the bag, or type it."),
        ("https://shop.example/i/9", "This is a web address, not a bag code: look for the supplier's other code "
         "on the bag."),
    ],
)  # fmt: skip
def test_a_code_that_cannot_be_right_is_a_problem_with_a_sentence(
    text: str, sentence: str, as_viewer: ApiClient
) -> None:
    problem = checked_problem(as_viewer.post(f"{API}/bag-codes", json={"text": text}), 422, "bad_bag_code")
    assert problem["detail"] == sentence


def test_a_field_that_cannot_be_is_named_and_the_rest_is_told(as_viewer: ApiClient) -> None:
    result = read(as_viewer, iso15434_envelope("1PWB-H4-200", "Q0", "16D20261301", "1TNG881"))
    assert (result["quantity"], result["says"]["made"], result["maker_lot"]) == (None, None, "NG881")
    assert result["says"]["unread"] == [
        {
            "field": "quantity",
            "sentence": "The code says that the bag holds 0 pieces: count it and type the quantity.",
        },
        {"field": "made", "sentence": "'20261301' is no day of making that exists: read the bag and type it."},
    ]
    assert result["doubts"] == [one["sentence"] for one in result["says"]["unread"]]


@pytest.mark.parametrize(
    "body", [{}, {"text": ""}, {"text": 5}, {"text": "x" * 2001}, {"text": BAG, "colour": "red"}]
)
def test_a_body_that_is_off_is_refused(body: dict[str, Any], as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.post(f"{API}/bag-codes", json=body), 422)


# ---- photos ----------------------------------------------------------------------------------------------


def test_every_code_on_a_photo_is_told(as_viewer: ApiClient) -> None:
    bin_ = a_bin(name="A-14")
    web = draw_symbol("https://shop.example/i/9", BARCODE_FORMATS.QRCode)
    answer = send(as_viewer, take_photo(draw_symbol(BAG), a_label(bin_.code), web, size=(2600, 900)))
    assert answer.status_code == 200
    bag, label, other = answer.get_json()["symbols"]
    assert (bag["what"], bag["kind"], bag["scan"]) == ("bag", "Data Matrix", None)
    assert read(as_viewer, bag["text"])["says"]["lot"] == "NG881"
    assert (label["what"], label["title"], label["scan"]["id"]) == ("label", "Bin A-14", bin_.id)
    assert (other["what"], other["text"]) == ("other", "https://shop.example/i/9")


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "bad_photo"),
        (b"<html></html>", "bad_photo"),
        (encode_image(Image.new("L", (900, 600), 90)), "nothing_found"),
        (a_bomb(40_000, 40_000), "too_large"),
    ],
    ids=["empty", "a page", "nothing on it", "a decompression bomb"],
)
def test_what_cannot_be_read_is_a_problem(content: bytes, reason: str, as_viewer: ApiClient) -> None:
    checked_problem(send(as_viewer, content), 422, reason)


def test_fifty_megabytes_are_too_many_and_two_are_not(as_viewer: ApiClient) -> None:
    problem = checked_problem(send(as_viewer, bytes(50_000_000)), 413, "http_413")
    assert problem["detail"].startswith("That is larger than 20 MB")
    assert send(as_viewer, take_photo(a_label(a_bin().code), kind="PNG") + bytes(2_000_000)).status_code == 200
    checked_problem(as_viewer.post(f"{API}/bag-codes", json={"text": "x" * 2_000_000}), 413)


def test_a_photo_too_many_at_once_is_sent_again_in_a_moment(as_viewer: ApiClient) -> None:
    label = take_photo(a_label(a_bin().code))
    with photo_queue():
        response = send(as_viewer, label)
    assert (
        checked_problem(response, 503, "busy")["detail"]
        == "Other photos are being read: send this one again in a moment."
    )
    assert response.headers["Retry-After"] == "3"
    assert send(as_viewer, label).status_code == 200


def test_a_photo_comes_as_a_file_of_a_form(as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.post(f"{API}/photos", json={"photo": "here"}), 415, "not_multipart")
    checked_problem(as_viewer.post(f"{API}/photos", data=b"--x", content_type="image/jpeg"), 415, "not_multipart")
    boundary, body = encode_multipart({"picture": FileStorage(io.BytesIO(b"x"), "x.jpg")})
    problem = checked_problem(
        as_viewer.post(f"{API}/photos", data=body, content_type=f"multipart/form-data; boundary={boundary}"), 422
    )
    assert set(problem["errors"]) == {"photo", "picture"}


# ---- pairings --------------------------------------------------------------------------------------------


def test_a_pairing_is_made_read_listed_and_forgotten(as_tech: ApiClient) -> None:
    part = a_part()
    response = as_tech.post(f"{API}/pairings", json={"number": "qx-77", "part_id": part.id})
    assert response.status_code == 201
    address = response.headers["Location"]
    assert as_tech.get(address).get_json()["number"] == "QX-77"
    for query in (f"part_id={part.id}", "number=Qx-77", ""):
        assert len(as_tech.get(f"{API}/pairings?{query}").get_json()["items"]) == 1
    assert as_tech.get(f"{API}/pairings?number=other").get_json()["items"] == []
    assert read(as_tech, iso15434_envelope("1PQX-77"))["matches"][0]["how"] == "learned"
    assert as_tech.delete(address).status_code == 204
    assert bag_pairings.pairings().items == []
    checked_problem(as_tech.get(address), 404)
    checked_problem(as_tech.delete(address), 404)


@pytest.mark.parametrize(
    "wrong", [{"number": ""}, {"number": "x" * 121}, {"part_id": 999}, {"part_id": "one"}, {"supplier_id": 9}]
)
def test_a_pairing_that_cannot_be_right_is_refused(wrong: dict[str, Any], as_tech: ApiClient) -> None:
    body = {"number": "QX-77", "part_id": a_part().id, **wrong}
    assert as_tech.post(f"{API}/pairings", json=body).status_code in (404, 422)
    assert bag_pairings.pairings().items == []


def test_a_viewer_teaches_nothing(as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.post(f"{API}/pairings", json={"number": "QX-77", "part_id": a_part().id}), 403, "role")
