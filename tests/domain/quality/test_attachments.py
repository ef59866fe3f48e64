"""Certificates and photos of lots: judged by their bytes, kept under random names, never larger than said."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.quality import attachments
from tests.factories import a_person, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")

PDF = b"%PDF-1.4\n1 0 obj<<>>endobj\ntrailer<<>>\n%%EOF\n"


def picture(form: str = "PNG", size: tuple[int, int] = (8, 6), colour: int = 0) -> bytes:
    """Return a small picture as a file's bytes."""
    out = io.BytesIO()
    Image.new("L", size, colour).save(out, form)
    return out.getvalue()


def _lot() -> int:
    return a_stocked_part()[2].lot_ids[0]


@pytest.mark.parametrize(
    ("content", "media"),
    [
        (picture("PNG"), "image/png"),
        (picture("JPEG"), "image/jpeg"),
        (picture("WEBP"), "image/webp"),
        (PDF, "application/pdf"),
    ],
)
def test_it_keeps_pictures_and_papers_as_what_they_are(content: bytes, media: str, tmp_path: Path) -> None:
    lot, person = _lot(), a_person()
    attachment = attachments.attach(
        tmp_path, lot, content, name="what it says.html", kind="certificate", by=person.id
    )
    assert (attachment.media, attachment.size, attachment.name, attachment.person) == (
        media,
        len(content),
        "what it says.html",
        person.shown_as,
    )
    assert attachments.read_attachment(tmp_path, attachment.id) == (attachment, content)
    assert attachments.attachments(lot) == [attachment]


@pytest.mark.parametrize(
    "content",
    [
        b"<!doctype html><script>alert(1)</script>",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
        b"\x89PNG\r\n\x1a\n<script>alert(1)</script>",
        picture("JPEG")[:60],
        picture("GIF"),
        b"GIF89a<script>",
        b"%PDF-1.4\nand nothing more",
        b"MZ\x90\x00",
        b"",
    ],
)
def test_it_refuses_what_is_not_what_it_says(content: bytes, tmp_path: Path) -> None:
    lot = _lot()
    with pytest.raises(Invalid):
        attachments.attach(tmp_path, lot, content, name="photo.png")
    assert attachments.attachments(lot) == []
    assert list(tmp_path.rglob("*.*")) == []


def test_it_refuses_what_is_too_large(tmp_path: Path) -> None:
    with pytest.raises(attachments.TooLarge, match="keep it below 8 MB"):
        attachments.attach(tmp_path, _lot(), PDF + b" " * attachments.MAX_BYTES)
    with pytest.raises(attachments.TooLarge, match="million dots"):
        attachments.attach(tmp_path, _lot(), picture(size=(8000, 8000)))


@pytest.mark.parametrize("name", ["../../etc/passwd", "C:\\temp\\x.png", "/x.png", "a\x00b\nc.png", ""])
def test_a_name_never_leads_anywhere(name: str, tmp_path: Path) -> None:
    attachment = attachments.attach(tmp_path, _lot(), picture(), name=name)
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert [path.parent for path in files] == [tmp_path / "attachments"]
    assert files[0].name.removesuffix(".png").isalnum()
    assert len(files[0].stem) == 40
    assert "/" not in attachment.name
    assert "\n" not in attachment.name
    assert attachment.name


def test_nobody_else_on_the_machine_may_read_it(tmp_path: Path) -> None:
    attachments.attach(tmp_path, _lot(), picture())
    folder = tmp_path / "attachments"
    assert folder.stat().st_mode & 0o077 == 0
    assert next(folder.iterdir()).stat().st_mode & 0o177 == 0


def test_the_same_file_is_kept_once_and_so_many_are_enough(tmp_path: Path) -> None:
    lot = _lot()
    for colour in range(attachments.MAX_PER_LOT):
        attachments.attach(tmp_path, lot, picture(colour=colour))
    with pytest.raises(Conflict, match="remove one first"):
        attachments.attach(tmp_path, lot, picture(colour=99))
    other = _lot()
    attachments.attach(tmp_path, other, picture())
    with pytest.raises(Conflict, match="This very file"):
        attachments.attach(tmp_path, other, picture(), name="again.png")
    assert len(list((tmp_path / "attachments").iterdir())) == attachments.MAX_PER_LOT + 1


def test_a_removed_file_is_gone_from_the_disk(tmp_path: Path) -> None:
    lot = _lot()
    attachment = attachments.attach(tmp_path, lot, picture())
    attachments.remove_attachment(tmp_path, attachment.id)
    assert attachments.attachments(lot) == []
    assert list((tmp_path / "attachments").iterdir()) == []
    with pytest.raises(NotFound, match="removed"):
        attachments.read_attachment(tmp_path, attachment.id)


def test_a_file_changed_on_the_disk_is_not_passed_off_as_what_was_kept(tmp_path: Path) -> None:
    attachment = attachments.attach(tmp_path, _lot(), picture())
    next((tmp_path / "attachments").iterdir()).write_bytes(b"<script>")
    with pytest.raises(NotFound, match="restore the data folder"):
        attachments.read_attachment(tmp_path, attachment.id)


def test_a_lot_that_does_not_exist_gets_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        attachments.attach(tmp_path, 999, picture())
    assert list((tmp_path / "attachments").iterdir()) == []
