"""What must stay secret is not left lying about in the answers and digests kept for repeated requests."""

from __future__ import annotations

import hashlib

from inventory.store.tables import IdempotencyKey
from tests.http_clients import ApiClient


def test_a_token_s_secret_is_shown_once_and_never_kept(as_owner: ApiClient) -> None:
    data, key = {"label": "stock clock", "person_id": as_owner.person.id}, {"Idempotency-Key": "token-1"}
    first = as_owner.post("/api/v1/tokens", json=data, headers=key)
    again = as_owner.post("/api/v1/tokens", json=data, headers=key)
    shown, then = first.get_json(), again.get_json()
    secret = shown["secret"]
    assert secret.startswith("bp_")
    assert (again.status_code, then["secret"], then["id"]) == (201, None, shown["id"])
    assert secret not in str(IdempotencyKey.get(IdempotencyKey.key == "token-1").body)


def test_the_digest_of_a_request_cannot_be_tried_against_guesses(as_owner: ApiClient) -> None:
    body = b'{"passphrase": "a guessable one"}'
    path = f"/api/v1/people/{as_owner.person.id}/passphrase"
    headers = {"Idempotency-Key": "pass-1", "Content-Type": "application/json"}
    assert as_owner.put(path, data=body, headers=headers).status_code < 300
    digest = IdempotencyKey.get(IdempotencyKey.key == "pass-1").request
    guess = hashlib.sha256(b"\n".join((b"PUT", f"{path}?".encode(), body))).hexdigest()
    assert digest != guess
