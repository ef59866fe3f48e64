"""Who works here, who may sign in, and which job each has in hand."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, DomainError, NotAllowed, NotFound, invalid_field
from inventory.domain.common.records import ROLES, PersonRecord, TokenRecord, from_row
from inventory.domain.common.validation import (
    clean_text,
    conflict_if_taken,
    get_row,
    update_versioned,
    validated_choice,
)
from inventory.store.connection import execute, transaction
from inventory.store.fields import from_micros, to_micros
from inventory.store.queries import get_by_id
from inventory.store.tables import Job, Person, SignInFailure, Token

MIN_PASSPHRASE_LENGTH, MAX_PASSPHRASE_LENGTH = 10, 200
_hasher = PasswordHasher()
FAILURES_BEFORE_DELAY = 5
FAILURE_WINDOW = timedelta(minutes=15)


class TooManyAttempts(DomainError):
    """Too many failed sign-ins; ``more['wait_seconds']`` says how long to wait."""

    status = 429
    title = "Too many tries"


def add_person(name: str, role: str, passphrase: str, shown_as: str = "") -> PersonRecord:
    """Add somebody who may sign in with *passphrase* (at least 10 characters)."""
    login = clean_text(name, "name", 60, required=True).lower()
    if not all(c.isalnum() or c in ".-_" for c in login):
        raise invalid_field("name", "A name to sign in with has letters, digits, dots and dashes only.")
    hashed = _hasher.hash(_validated_passphrase(passphrase))
    with conflict_if_taken(f"a {login!r}"), transaction():
        row = Person.create(
            name=login, role=validated_choice(role, "role", ROLES), passphrase=hashed,
            shown_as=clean_text(shown_as, "shown name", 80) or login, created=clock.now(),
        )  # fmt: skip
    return from_row(PersonRecord, row)


def generate_passphrase() -> str:
    """Draw a passphrase that a person can type from a terminal: four groups of four letters and digits."""
    letters = "bcdfghjkmnpqrstvwx23456789"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(4))


def _validated_passphrase(passphrase: str) -> str:
    if not isinstance(passphrase, str) or len(passphrase) < MIN_PASSPHRASE_LENGTH:
        raise invalid_field(
            "passphrase",
            f"A passphrase needs at least {MIN_PASSPHRASE_LENGTH} characters: a few words are best.",
        )
    if len(passphrase) > MAX_PASSPHRASE_LENGTH:
        raise invalid_field(
            "passphrase", f"That passphrase is over {MAX_PASSPHRASE_LENGTH} characters: choose a shorter one."
        )
    return passphrase


def set_passphrase(person_id: int, passphrase: str) -> None:
    """Give somebody a new passphrase and end all their sessions."""
    hashed = _hasher.hash(_validated_passphrase(passphrase))
    with transaction():
        get_row(Person, person_id, "person")
        Person.update(passphrase=hashed, session_mark=Person.session_mark + 1).where(Person.id == person_id).execute()


def edit_person(
    person_id: int, version: int | None = None, *, role: str | None = None, active: bool | None = None,
    shown_as: str | None = None,
) -> PersonRecord:  # fmt: skip
    """Change a person's role, shown name, or whether they may sign in. The last owner cannot be removed."""
    with transaction():
        row = get_row(Person, person_id, "person")
        changes = {
            "role": row.role if role is None else validated_choice(role, "role", ROLES),
            "active": row.active if active is None else bool(active),
            "shown_as": row.shown_as if shown_as is None else clean_text(shown_as, "shown name", 80, required=True),
        }
        if row.role == "owner" and (changes["role"] != "owner" or not changes["active"]):
            _require_other_owner(row)
        update_versioned(row, "person", version, **changes)
        return person(person_id)


def _require_other_owner(leaving: Person) -> None:
    others = Person.select().where(Person.role == "owner", Person.active, Person.id != leaving.id)
    if not others.exists():
        raise Conflict("This is the last owner: make somebody else an owner first.", reason="last_owner")


def person(person_id: int) -> PersonRecord:
    """Return one person."""
    return from_row(PersonRecord, get_row(Person, person_id, "person"))


def person_by_name(name: str) -> PersonRecord:
    """Return the person who signs in as *name*."""
    row = Person.get_or_none(Person.name == name.strip().lower())
    if row is None:
        raise NotFound(f"There is nobody called {name!r}: see `benchproof person list`.")
    return from_row(PersonRecord, row)


def list_people() -> list[PersonRecord]:
    """Return all people, by name."""
    return [from_row(PersonRecord, person) for person in Person.select().order_by(Person.name)]


def has_no_people() -> bool:
    """Tell whether nobody has been added yet, as on a new bench."""
    return not Person.select(Person.id).limit(1).tuples().first()


def sign_in(name: str, passphrase: str, address: str) -> tuple[PersonRecord, int]:
    """Return the person and their session mark if the passphrase is right.

    Raises NotAllowed for a wrong pair, TooManyAttempts after five failures of the name or address in 15 minutes.
    """
    login = str(name).strip().lower()[:60]
    _check_rate_limit(login, address)
    row = Person.get_or_none(Person.name == login)
    hashed = row.passphrase if row and row.passphrase else _dummy_hash()
    matches = _passphrase_matches(hashed, str(passphrase)[:MAX_PASSPHRASE_LENGTH])
    if row is None or not matches or not row.active:
        with transaction():
            SignInFailure.create(name=login, address=address[:60], at=clock.now())
        raise NotAllowed("That name and passphrase do not go together: try again.", reason="wrong_passphrase")
    with transaction():
        SignInFailure.delete().where(SignInFailure.name == login).execute()
    return from_row(PersonRecord, row), row.session_mark


@cache
def _dummy_hash() -> str:
    """Return a hash that nothing matches, so that an unknown name takes as long as a wrong passphrase."""
    return _hasher.hash("nobody has this passphrase")


def _passphrase_matches(hashed: str, passphrase: str) -> bool:
    try:
        return bool(_hasher.verify(hashed, passphrase))
    except (VerificationError, InvalidHashError):
        return False


def _check_rate_limit(login: str, address: str) -> None:
    since = clock.now() - FAILURE_WINDOW
    recent = SignInFailure.select().where(
        SignInFailure.at > since, (SignInFailure.name == login) | (SignInFailure.address == address[:60])
    )
    times = sorted(failure.at for failure in recent)
    if len(times) < FAILURES_BEFORE_DELAY:
        return
    pause = timedelta(seconds=min(300, 5 * 2 ** (len(times) - FAILURES_BEFORE_DELAY)))
    wait = (times[-1] + pause - clock.now()).total_seconds()
    if wait > 0:
        raise TooManyAttempts(
            f"Too many wrong tries: wait {int(wait) + 1} seconds, then try again.",
            reason="slow_down", wait_seconds=int(wait) + 1,
        )  # fmt: skip


def session_person(person_id: int, mark: int) -> PersonRecord | None:
    """Return the person of a session, or None when it was ended or they may no longer sign in."""
    row = get_by_id(Person, person_id)
    return from_row(PersonRecord, row) if row and row.active and row.session_mark == mark else None


def end_sessions(person_id: int) -> None:
    """Sign somebody out everywhere."""
    with transaction():
        Person.update(session_mark=Person.session_mark + 1).where(Person.id == person_id).execute()


def set_job_in_hand(person_id: int, job_id: int | None) -> PersonRecord:
    """Make a job the one that *person_id* works on (None: no job)."""
    with transaction():
        if job_id is not None and get_row(Job, job_id, "job").status == "closed":
            raise Conflict("That job is closed: reopen it first, or take another in hand.", reason="job_closed")
        Person.update(job_in_hand_id=job_id).where(Person.id == person_id).execute()
    return person(person_id)


# ---- tokens ----------------------------------------------------------------------------------------------


def add_token(person_id: int, label: str) -> TokenRecord:
    """Add a token with which a program acts as *person_id*. Only this record holds its secret."""
    secret = "bp_" + secrets.token_urlsafe(32)
    with transaction():
        get_row(Person, person_id, "person")
        row = Token.create(
            person=person_id, label=clean_text(label, "label", 80, required=True),
            digest=_digest(secret), created=clock.now(),
        )  # fmt: skip
    return from_row(TokenRecord, row, secret=secret)


def revoke_token(token_id: int, person_id: int | None = None) -> None:
    """End a token for good; raise Conflict when it acts as somebody else than *person_id*, where one is named."""
    with transaction():
        token = get_row(Token, token_id, "token")
        if person_id not in (None, token.person_id):
            raise Conflict("That key acts as somebody else: open their page.", reason="other_person")
        Token.update(revoked=clock.now()).where(Token.id == token_id, Token.revoked.is_null()).execute()


def tokens() -> list[TokenRecord]:
    """Return all tokens, without their secrets."""
    return [from_row(TokenRecord, token) for token in Token.select().order_by(Token.id)]


def token_person(secret: str) -> PersonRecord | None:
    """Return the person a token acts as, or None for a token that is unknown, ended, or whose person left."""
    row = execute(_TOKEN_PERSON, _digest(secret)).fetchone()
    if row is None:
        return None
    key, name, shown_as, role, job_in_hand_id, created, version, token_id, last_used = row
    if last_used is None or to_micros(clock.now() - timedelta(hours=1)) > last_used:
        with transaction():
            Token.update(last_used=clock.now()).where(Token.id == token_id).execute()
    return PersonRecord(key, name, shown_as, role, True, job_in_hand_id, from_micros(created), version)


_TOKEN_PERSON = (
    "SELECT p.id, p.name, p.shown_as, p.role, p.job_in_hand_id, p.created, p.version, t.id, t.last_used"
    " FROM tokens t JOIN people p ON p.id = t.person_id WHERE t.digest = ? AND t.revoked IS NULL AND p.active"
)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
