"""/lots/.../attachments and /attachments: certificates and photos of lots."""

from __future__ import annotations

from base64 import b64decode, b64encode
from pathlib import Path
from typing import Any

from flask import current_app, request

from inventory.api.pagination import PageQuery
from inventory.api.quality.trace_schemas import AttachmentContentOut, AttachmentIn, AttachmentOut
from inventory.api.resource import Resource, at
from inventory.domain.catalogue.lots import lot
from inventory.domain.common.errors import Invalid
from inventory.domain.quality import attachments as stock
from inventory.domain.quality.trace_records import AttachmentRecord
from inventory.web.access import caller

resource = Resource("attachments", "Certificates and photos of lots, judged by their bytes.")
ATTACHMENT = AttachmentOut()


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def make_room(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let the body that brings a file be as large as a file in Base64 is."""
    if endpoint == "attachments.post_attach":
        request.max_content_length = stock.MOST_BYTES * 4 // 3 + 20_000


def _folder() -> Path:
    folder: Path = current_app.config["BENCH"].data_dir
    return folder


@resource.get("/lots/<key:lot_id>/attachments")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ATTACHMENT, key=lambda one: one.id, of=lot)
def attachments(asked: dict[str, Any], lot_id: int) -> list[AttachmentRecord]:
    """List what is kept with a lot, oldest first."""
    return stock.attachments(lot_id)


@resource.post("/lots/<key:lot_id>/attachments")
@resource.arguments(AttachmentIn())
@resource.response(201, ATTACHMENT, entity=False)
def attach(given: dict[str, Any], lot_id: int) -> Any:
    """Keep a PNG, JPEG, WebP or PDF with a lot; what it is, its own bytes decide."""
    content = _decoded(given.pop("content"))
    made = stock.attach(_folder(), lot_id, content, **given, by=caller().id)
    return made, at("attachment", made.id)


def _decoded(text: str) -> bytes:
    try:
        return b64decode(text, validate=True)
    except ValueError:
        sentence = "This is no Base64 (RFC 4648): encode the bytes of the file, without line breaks."
        raise Invalid(sentence, errors={"content": [sentence]}) from None


@resource.get("/attachments/<key:attachment_id>")
@resource.response(200, AttachmentContentOut())
def attachment(attachment_id: int) -> dict[str, Any]:
    """Read a file with its bytes."""
    found, content = stock.content_of(_folder(), attachment_id)
    return {"file": found, "content": b64encode(content).decode()}


@resource.delete("/attachments/<key:attachment_id>")
@resource.response(204)
def remove_attachment(attachment_id: int) -> None:
    """Remove a file; that it was there stays known."""
    stock.remove(_folder(), attachment_id, by=caller().id)
