"""An alert as a webhook: a signed POST of JSON to an address that the owner sets.

The signature is an HTTP message signature (RFC 9421) by hmac-sha256 over the method, the address, the content type
and the digest of the body (RFC 9530), with the time of sending. ``Benchproof-Delivery`` is the same at each try.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlsplit

import requests

from inventory.domain.alerts.alert_mail import DeliveryError
from inventory.domain.alerts.alert_records import AlertRecord
from shared.urls import page_path

TIMEOUT_SECONDS = (5, 15)  # to connect, to answer
SIGNATURE_LABEL, KEY_ID = "benchproof", "webhook"
HTTP_GONE = 410


@dataclass(frozen=True)
class WebhookSettings:
    """Where alerts are posted, and the secret they are signed with."""

    url: str
    secret: str


def webhook_body(alert: AlertRecord, code: str, bench: str, address: str) -> str:
    """Return the JSON text about an alert; *address* of the service, for the link (may be empty)."""
    data = {
        "event": "alert",
        "delivery": code,
        "bench": bench,
        "alert": {
            "id": alert.id,
            "key": alert.key,
            "kind": alert.kind,
            "title": alert.title,
            "detail": alert.detail,
            "urgent": alert.urgent,
            "raised": alert.raised.isoformat().replace("+00:00", "Z"),
            "telling": alert.telling,
            "what": alert.what,
            "what_id": alert.what_id,
            "url": address + page_path(alert.what, alert.what_id) if address else None,
        },
    }
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def content_digest(body: bytes) -> str:
    """Return the value of ``Content-Digest`` (RFC 9530) for a body."""
    return f"sha-256={_byte_sequence(hashlib.sha256(body).digest())}"


def message_signature(
    components: Mapping[str, str], created: int, label: str, key_id: str, key: bytes
) -> dict[str, str]:
    """Return the headers that sign *components* (RFC 9421, section 2.5), by HMAC with SHA-256 (section 3.3.3).

    *components*: names of covered components with their canonical values, in the order in which they are covered.
    *created*: seconds since 1970.
    """
    names = " ".join(f'"{name}"' for name in components)
    params = f'({names});created={created};keyid="{key_id}"'
    lines = [f'"{name}": {value}' for name, value in {**components, "@signature-params": params}.items()]
    signature = hmac.digest(key, "\n".join(lines).encode(), "sha256")
    return {"Signature-Input": f"{label}={params}", "Signature": f"{label}={_byte_sequence(signature)}"}


def _byte_sequence(value: bytes) -> str:
    """Return bytes as a structured field shows them (RFC 8941, section 3.3.5)."""
    return f":{base64.b64encode(value).decode()}:"


def target_uri(url: str) -> str:
    """Return the address as it is sent: escaped, without credentials and fragment (RFC 9421, section 2.2.2)."""
    parts = urlsplit(requests.Request("POST", url).prepare().url or url)
    return parts._replace(netloc=parts.netloc.rpartition("@")[2], fragment="").geturl()


def _signed_headers(webhook: WebhookSettings, code: str, body: bytes, time: datetime) -> dict[str, str]:
    content = {"Content-Type": "application/json; charset=utf-8", "Content-Digest": content_digest(body)}
    components = {
        "@method": "POST", "@target-uri": target_uri(webhook.url),
        **{name.lower(): value for name, value in content.items()},
    }  # fmt: skip
    signature = message_signature(components, int(time.timestamp()), SIGNATURE_LABEL, KEY_ID, webhook.secret.encode())
    return {"User-Agent": "Benchproof", "Benchproof-Delivery": code, **content, **signature}


def post_webhook(webhook: WebhookSettings, code: str, text: str, time: datetime) -> None:
    """Post a body; raise DeliveryError unless it is answered with a 2xx. Redirects are not followed."""
    body = text.encode()
    try:
        headers = _signed_headers(webhook, code, body, time)
        with requests.post(
            webhook.url, data=body, headers=headers, timeout=TIMEOUT_SECONDS, allow_redirects=False, stream=True
        ) as answer:
            status = answer.status_code
    except requests.RequestException as error:
        raise DeliveryError(f"{webhook.url} could not be reached: {type(error).__name__}.") from None
    if not 200 <= status < 300:
        raise DeliveryError(f"{webhook.url} answered {status}.", final=status == HTTP_GONE)
