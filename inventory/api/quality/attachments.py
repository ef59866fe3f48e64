"""/lots/.../attachments and /attachments: certificates and photos of lots."""

from __future__ import annotations

from base64 import b64decode, b64encode
from pathlib import Path
from typing import Any

from flask import current_app, request

from inventory.api.pagination import PageQuery
from inventory.api.quality.trace_schemas import AttachmentContentOut, AttachmentIn, AttachmentOut
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue.lots import lot
from inventory.domain.common.errors import Invalid
from inventory.domain.quality import attachments as domain
from inventory.domain.quality.trace_records import AttachmentRecord
from inventory.web.access import current_person

resource = Resource("attachments", "Certificates and photos of lots, judged by their bytes.")
ATTACHMENT = AttachmentOut()


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def set_body_limit(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let the body that brings a file be as large as a file in Base64 is."""
    if endpoint == "attachments.post_add_attachment":
        request.max_content_length = domain.MAX_BYTES * 4 // 3 + 20_000


def _data_dir() -> Path:
    folder: Path = current_app.config["BENCH"].data_dir
    return folder


@resource.get("/lots/<key:lot_id>/attachments")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ATTACHMENT, key=lambda one: one.id, parent=lot)
def attachments(params: dict[str, Any], lot_id: int) -> list[AttachmentRecord]:
    """List what is kept with a lot, oldest first."""
    return domain.attachments(lot_id)


@resource.post("/lots/<key:lot_id>/attachments")
@resource.arguments(AttachmentIn())
@resource.response(201, ATTACHMENT, with_etag=False)
def add_attachment(data: dict[str, Any], lot_id: int) -> Any:
    """Keep a PNG, JPEG, WebP or PDF with a lot; what it is, its own bytes decide."""
    content = _decode_base64(data.pop("content"))
    made = domain.attach(_data_dir(), lot_id, content, **data, by=current_person().id)
    return made, location_header("attachment", made.id)


def _decode_base64(text: str) -> bytes:
    try:
        return b64decode(text, validate=True)
    except ValueError:
        sentence = "This is no Base64 (RFC 4648): encode the bytes of the file, without line breaks."
        raise Invalid(sentence, errors={"content": [sentence]}) from None


@resource.get("/attachments/<key:attachment_id>")
@resource.response(200, AttachmentContentOut())
def attachment(attachment_id: int) -> dict[str, Any]:
    """Read a file with its bytes."""
    found, content = domain.read_attachment(_data_dir(), attachment_id)
    return {"file": found, "content": b64encode(content).decode()}


@resource.delete("/attachments/<key:attachment_id>")
@resource.response(204)
def remove_attachment(attachment_id: int) -> None:
    """Remove a file; that it was there stays known."""
    domain.remove_attachment(_data_dir(), attachment_id, by=current_person().id)
