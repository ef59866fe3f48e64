"""/lots/.../attachments and /attachments: certificates and photos of lots."""

from __future__ import annotations

from base64 import b64decode, b64encode
from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.quality.trace_schemas import AttachmentContentOut, AttachmentIn, AttachmentOut
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue.lots import lot
from inventory.domain.common.errors import Invalid
from inventory.domain.quality import attachments as domain
from inventory.domain.quality.trace_records import AttachmentRecord
from inventory.web.access import current_person, current_settings, max_body

resource = Resource("attachments", "Certificates and photos of lots, judged by their bytes.")
ATTACHMENT = AttachmentOut()
MAX_BODY_BYTES = domain.MAX_BYTES * 4 // 3 + 20_000  # a file in Base64, and what is said of it


@resource.get("/lots/<key:lot_id>/attachments")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ATTACHMENT, key="id", parent=lot)
def attachments(params: dict[str, Any], lot_id: int) -> list[AttachmentRecord]:
    """List what is kept with a lot, oldest first."""
    return domain.attachments(lot_id)


@resource.post("/lots/<key:lot_id>/attachments")
@max_body(MAX_BODY_BYTES)
@resource.arguments(AttachmentIn())
@resource.response(201, ATTACHMENT, with_etag=False)
def add_attachment(data: dict[str, Any], lot_id: int) -> Any:
    """Keep a PNG, JPEG, WebP or PDF with a lot; what it is, its own bytes decide."""
    content = _decode_base64(data.pop("content"))
    attachment = domain.attach(current_settings().data_dir, lot_id, content, **data, by=current_person().id)
    return attachment, location_header("attachment", attachment.id)


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
    record, content = domain.read_attachment(current_settings().data_dir, attachment_id)
    return {"file": record, "content": b64encode(content).decode()}


@resource.delete("/attachments/<key:attachment_id>")
@resource.response(204)
def remove_attachment(attachment_id: int) -> None:
    """Remove a file; that it was there stays known."""
    domain.remove_attachment(current_settings().data_dir, attachment_id, by=current_person().id)
