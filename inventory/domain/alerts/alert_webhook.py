"""An alert as a webhook: a signed POST of JSON to an address of the owner's.

``Benchproof-Signature`` is ``hmac-sha256=`` and the hexadecimal HMAC (RFC 2104) with SHA-256, under the shared
secret, of the timestamp, a dot, and the body. The timestamp is in ``Benchproof-Timestamp``, seconds since 1970, so
that an old request cannot be sent again unnoticed; ``Benchproof-Delivery`` is the same at each try.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from dataclasses import dataclass
from datetime import datetime

import requests

from inventory.domain.alerts.alert_mail import NotSent
from inventory.domain.alerts.alert_records import AlertRecord
from shared.urls import page_path

SECONDS = (5, 15)  # to connect, to answer
SIGNATURE, TIMESTAMP, DELIVERY = "Benchproof-Signature", "Benchproof-Timestamp", "Benchproof-Delivery"
GONE = 410


@dataclass(frozen=True)
class Webhook:
    """Where alerts are posted, and the secret they are signed with."""

    url: str
    secret: str


def body(one: AlertRecord, code: str, bench: str, address: str) -> str:
    """Return the JSON text that tells of an alert; *address* of the service, for the link (may be empty)."""
    told = {
        "event": "alert",
        "delivery": code,
        "bench": bench,
        "alert": {
            "id": one.id,
            "key": one.key,
            "kind": one.kind,
            "title": one.title,
            "detail": one.detail,
            "urgent": one.urgent,
            "raised": one.raised.isoformat().replace("+00:00", "Z"),
            "telling": one.telling,
            "what": one.what,
            "what_id": one.what_id,
            "url": address + page_path(one.what, one.what_id) if address else None,
        },
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def signature(secret: str, timestamp: int, text: bytes) -> str:
    """Return the value of the signature header for a body sent at a time (seconds since 1970)."""
    digest = hmac.new(secret.encode(), f"{timestamp}.".encode() + text, hashlib.sha256).hexdigest()
    return f"hmac-sha256={digest}"


def post(webhook: Webhook, code: str, text: str, at: datetime) -> None:
    """Post a body; raise NotSent unless it is answered with a 2xx. Redirects are not followed."""
    sent, timestamp = text.encode(), int(at.timestamp())
    headers = {
        "Content-Type": "application/json; charset=utf-8", "User-Agent": "Benchproof", DELIVERY: code,
        TIMESTAMP: str(timestamp), SIGNATURE: signature(webhook.secret, timestamp, sent),
    }  # fmt: skip
    try:
        with requests.post(
            webhook.url, data=sent, headers=headers, timeout=SECONDS, allow_redirects=False, stream=True
        ) as answer:
            status = answer.status_code
    except requests.RequestException as error:
        raise NotSent(f"{webhook.url} could not be reached: {type(error).__name__}.") from None
    if not 200 <= status < 300:
        raise NotSent(f"{webhook.url} answered {status}.", final=status == GONE)
