"""Idempotency: a write whose key was seen before gets the stored response.

Follows the IETF draft "The Idempotency-Key HTTP Header Field" (draft-ietf-httpapi-idempotency-key-header).
The key is stored in the same transaction as the write it guards, so a crash loses both or neither; a second
request that comes while the first is in progress is refused and changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.store.connection import execute, is_sqlite, transaction
from inventory.store.fields import to_micros
from inventory.store.queries import fetch_rows
from inventory.store.tables import IdempotencyKey

KEY_LIFETIME = timedelta(days=7)
MAX_IN_PROGRESS = timedelta(
    minutes=2
)  # no print is under way for longer: a thousand labels are drawn and handed over in less
_in_progress: set[tuple[str, str]] = set()
_lock = threading.Lock()


@dataclass(frozen=True)
class StoredResponse:
    """The response of a request."""

    status: int
    body: str
    headers: dict[str, str] = field(default_factory=dict)
    replayed: bool = False


class RollbackWithResponse(Exception):
    """Carries a response whose transaction must be rolled back (a refusal)."""

    def __init__(self, answer: StoredResponse) -> None:
        super().__init__(answer.status)
        self.answer = answer


def request_digest(secret: str, method: str, path: str, body: bytes) -> str:
    """Return the digest that distinguishes a repeated request from a different one under the same key.

    It is keyed with the service's own *secret* (BLAKE2b, RFC 7693 section 2.9), so that a stolen database does not
    let anybody try passphrases against the digest of a request that carried one.
    """
    key = hashlib.sha256(secret.encode()).digest()
    data = b"\n".join((method.encode(), path.encode(), body))
    return hashlib.blake2b(data, key=key, digest_size=32).hexdigest()


def run_once(caller: str, key: str, request: str, act: Callable[[], StoredResponse]) -> StoredResponse:
    """Run *act* in one transaction, or replay the response that *caller* got under *key* before.

    A status of 400 or more rolls back what *act* did and stores the response. Raises Invalid (422) for a key used
    with another *request*, Conflict (409) while the first is in progress.
    """
    _check_key(key)
    with _exclusive(caller, key):
        try:
            with transaction():
                if not is_sqlite():
                    _lock_in_database(caller, key)
                return _find_response(caller, key, request) or _run_first(caller, key, request, act)
        except RollbackWithResponse as undone:
            with transaction():
                _store_response(caller, key, request, undone.answer)
            return undone.answer


def run_claimed(caller: str, key: str, request: str, act: Callable[[], StoredResponse]) -> StoredResponse:
    """Run *act* outside any transaction, or replay its response: for external effects such as printing.

    So a printer that does not answer holds up nobody's writing. The key is claimed first: a crash in between leaves
    it undone rather than done twice. What *act* raises gives the key back. Raises as ``run_once`` does.
    """
    _check_key(key)
    with _exclusive(caller, key):
        with transaction():
            if not is_sqlite():
                _lock_in_database(caller, key)
            if known := _find_response(caller, key, request):
                return known
            _store_response(caller, key, request, None)
        try:
            answer = act()
        except BaseException:
            with transaction():
                _delete_key(caller, key)
            raise
        with transaction():
            _delete_key(caller, key)
            _store_response(caller, key, request, answer)
        return answer


@contextmanager
def _exclusive(caller: str, key: str) -> Iterator[None]:
    with _lock:
        if (caller, key) in _in_progress:
            raise _in_progress_error()
        _in_progress.add((caller, key))
    try:
        yield
    finally:
        with _lock:
            _in_progress.discard((caller, key))


def _lock_in_database(caller: str, key: str) -> None:
    number = int.from_bytes(hashlib.sha256(f"{caller}\n{key}".encode()).digest()[:8], "big", signed=True)
    if not execute("SELECT pg_try_advisory_xact_lock(?)", number).fetchone()[0]:
        raise _in_progress_error()


def _in_progress_error() -> Conflict:
    return Conflict(
        "The first request with this key is still under way: wait a moment, then look.", reason="under_way"
    )


def _interrupted_error() -> Conflict:
    return Conflict(
        "The first request with this key was cut off, so nobody here knows what came of it: look whether it was "
        "done, and send it afresh, with another key, if not.",
        reason="cut_off",
    )


def _find_response(caller: str, key: str, request: str) -> StoredResponse | None:
    rows = fetch_rows((IdempotencyKey,), "SELECT {columns} FROM once_keys WHERE caller = ? AND key = ?", caller, key)
    if not rows:
        return None
    row = rows[0][0]
    if row.request != request:
        raise Invalid("This Idempotency-Key was used for a different request: send a fresh one.", reason="key_reused")
    if row.status is None:  # claimed: another process is at it, or died over it
        raise _in_progress_error() if clock.now() - row.at < MAX_IN_PROGRESS else _interrupted_error()
    return StoredResponse(row.status, str(row.body), row.headers, replayed=True)


def _run_first(caller: str, key: str, request: str, act: Callable[[], StoredResponse]) -> StoredResponse:
    answer = act()
    if answer.status >= 400:
        raise RollbackWithResponse(answer)
    _store_response(caller, key, request, answer)
    return answer


def _check_key(key: str) -> None:
    if not 0 < len(key) <= 200:
        raise Invalid("The Idempotency-Key must be 1 to 200 characters: send a fresh random one for each action.")


def _store_response(caller: str, key: str, request: str, answer: StoredResponse | None) -> None:
    """Store a response under its key; None claims the key for a response to come."""
    values = (None, None, None) if answer is None else (answer.status, json.dumps(answer.headers), answer.body)
    execute(
        "INSERT INTO once_keys (caller, key, request, status, headers, body, at) VALUES (?, ?, ?, ?, ?, ?, ?)"
        " ON CONFLICT DO NOTHING",
        caller, key, request, *values, to_micros(clock.now()),
    )  # fmt: skip


def _delete_key(caller: str, key: str) -> None:
    execute("DELETE FROM once_keys WHERE caller = ? AND key = ?", caller, key)


def delete_expired_keys() -> int:
    """Drop keys older than a week; return how many went."""
    with transaction():
        return int(execute("DELETE FROM once_keys WHERE at < ?", to_micros(clock.now() - KEY_LIFETIME)).rowcount)
