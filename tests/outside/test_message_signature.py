"""The signature of webhooks, against the worked examples of the standards.

RFC 9421, Appendix B.2.5 (signing a request with hmac-sha256) with the secret of Appendix B.1.5, and RFC 9530,
Appendix B.1 (the digest of a body).
"""

from __future__ import annotations

import base64

from inventory.domain.alerts.alert_webhook import content_digest, message_signature

SHARED_SECRET = "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ=="


def test_the_signed_request_of_rfc_9421() -> None:
    components = {
        "date": "Tue, 20 Apr 2021 02:07:55 GMT", "@authority": "example.com", "content-type": "application/json",
    }  # fmt: skip
    key = base64.b64decode(SHARED_SECRET)
    signed = message_signature(components, 1618884473, "sig-b25", "test-shared-secret", key)
    covered = '("date" "@authority" "content-type")'
    assert signed == {
        "Signature-Input": f'sig-b25={covered};created=1618884473;keyid="test-shared-secret"',
        "Signature": "sig-b25=:pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:",
    }


def test_the_digest_of_rfc_9530() -> None:
    digest = "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:"
    assert content_digest(b'{"hello": "world"}\n') == digest
