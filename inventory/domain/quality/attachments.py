"""Certificates and photos of lots: judged by their bytes, kept as files under random names beside the database.

The file is on disk before the row that names it, so a row never names a file that is not there; a file that no
row names (after a crash) takes space and does no harm.
"""

from __future__ import annotations

import hashlib
import io
import os
import secrets
import warnings
from pathlib import Path
from typing import Any

from PIL import Image

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, DomainError, Invalid, NotFound
from inventory.domain.common.validation import clean_text, get_row, validated_choice
from inventory.domain.quality.trace_records import ATTACHMENT_KINDS, EXTENSION_BY_MEDIA_TYPE, AttachmentRecord
from inventory.store.connection import transaction
from inventory.store.tables import Attachment, Lot

FOLDER = "attachments"
MAX_BYTES = 8_000_000
MAX_PER_LOT = 20
MAX_PIXELS = 60_000_000  # a phone's largest photo and some; more is a trap for whoever opens it

_IMAGE_MEDIA_TYPES = {"PNG": "image/png", "JPEG": "image/jpeg", "WEBP": "image/webp"}


class TooLarge(DomainError):
    """The file is larger than what is kept."""

    status = 413
    title = "Too large"


def attach(
    folder: Path, lot_id: int, content: bytes, *, name: str = "", kind: str = "photo", by: int | None = None
) -> AttachmentRecord:
    """Keep a file with a lot, under *folder* (the data folder).

    Raises TooLarge, Invalid for what is no PNG, JPEG, WebP or PDF by its own bytes, and Conflict when the lot has
    enough of them or this very file already.
    """
    validated_choice(kind, "kind", ATTACHMENT_KINDS)
    media = detect_media_type(content)
    clean_name = _clean_name(name, media)
    digest = hashlib.sha256(content).hexdigest()
    file = f"{secrets.token_hex(20)}.{EXTENSION_BY_MEDIA_TYPE[media]}"
    path = _write_durably(folder / FOLDER, file, content)
    try:
        with transaction():
            _require_room(lot_id, digest)
            row = Attachment.create(
                lot=lot_id, kind=kind, name=clean_name, media=media, size=len(content), digest=digest, file=file,
                at=clock.now(), person=by,
            )  # fmt: skip
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return attachment(row.id)


def _clean_name(name: str, media: str) -> str:
    clean = clean_text(name.replace("\\", "/").rpartition("/")[2], "name", 120)
    return clean.replace("\n", " ") or f"unnamed.{EXTENSION_BY_MEDIA_TYPE[media]}"


def _require_room(lot_id: int, digest: str) -> None:
    get_row(Lot, lot_id, "lot")
    attached = Attachment.select().where(Attachment.lot == lot_id, Attachment.removed.is_null())
    if attached.count() >= MAX_PER_LOT:
        raise Conflict(f"This lot has {MAX_PER_LOT} files already: remove one first.", reason="too_many")
    if attached.where(Attachment.digest == digest).exists():
        raise Conflict("This very file is kept with the lot already.", reason="kept_already")


def _write_durably(folder: Path, file: str, content: bytes) -> Path:
    """Write the bytes so that they are on the disk when this returns."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    path = folder / file
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    return path


# ---- what the bytes are ----------------------------------------------------------------------------------


def detect_media_type(content: bytes) -> str:
    """Return the media type that the bytes themselves show; raise TooLarge or Invalid."""
    if not content:
        raise _invalid_file("The file is empty: choose it again.")
    if len(content) > MAX_BYTES:
        raise TooLarge(
            f"The file has {len(content) / 1e6:.1f} MB: keep it below {MAX_BYTES // 1_000_000} MB.",
            reason="too_large",
        )
    if content.startswith(b"%PDF-"):
        return _check_pdf(content)
    return _detect_image_type(content)


def _check_pdf(content: bytes) -> str:
    if b"%%EOF" not in content[-2048:]:
        raise _invalid_file("This PDF breaks off before its end: save it again, then attach it.")
    return "application/pdf"


def _detect_image_type(content: bytes) -> str:
    """Tell an image by decoding it; bytes that only begin like one are refused."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(content), formats=list(_IMAGE_MEDIA_TYPES)) as opened:
                media, pixels = _IMAGE_MEDIA_TYPES[opened.format or ""], opened.width * opened.height
                if pixels <= MAX_PIXELS:
                    opened.load()
    except Exception:  # whatever a decoder does with bytes from outside, it means the same: no picture
        raise _invalid_file(
            "This is no picture or PDF by its own bytes: attach a PNG, JPEG, WebP or PDF file."
        ) from None
    if pixels > MAX_PIXELS:
        raise TooLarge(f"The picture has {pixels // 1_000_000} million dots: make it smaller.", reason="too_large")
    return media


def _invalid_file(sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_file", errors={"file": [sentence]})


# ---- reading and removing --------------------------------------------------------------------------------


def attachments(lot_id: int) -> list[AttachmentRecord]:
    """Return what is kept with a lot, oldest first."""
    get_row(Lot, lot_id, "lot")
    rows = Attachment.select().where(Attachment.lot == lot_id, Attachment.removed.is_null()).order_by(Attachment.id)
    return [_record(row) for row in rows]


def attachment(attachment_id: int) -> AttachmentRecord:
    """Return one file's record, without its bytes."""
    return _record(_require_kept(attachment_id))


def read_attachment(folder: Path, attachment_id: int) -> tuple[AttachmentRecord, bytes]:
    """Return a file with its bytes; raise NotFound when it is gone from the disk or not what was kept."""
    row = _require_kept(attachment_id)
    try:
        content = (folder / FOLDER / row.file).read_bytes()
    except OSError:
        content = b""
    if hashlib.sha256(content).hexdigest() != row.digest:
        raise NotFound("The file is no longer as it was kept: restore the data folder from its backup.")
    return _record(row), content


def remove_attachment(folder: Path, attachment_id: int, *, by: int | None = None) -> AttachmentRecord:
    """Remove a file; that it was there, and who removed it, stays known."""
    with transaction():
        row = _require_kept(attachment_id)
        Attachment.update(removed=clock.now(), removed_by=by).where(Attachment.id == row.id).execute()
    (folder / FOLDER / row.file).unlink(missing_ok=True)
    return _record(row)


def _require_kept(attachment_id: int) -> Any:
    row = get_row(Attachment, attachment_id, "file")
    if row.removed is not None:
        raise NotFound("This file was removed.")
    return row


def _record(row: Any) -> AttachmentRecord:
    return AttachmentRecord(
        row.id, row.lot_id, row.kind, row.name, row.media, row.size, row.digest, row.at,
        row.person.shown_as if row.person_id else "",
    )  # fmt: skip
