"""Who may sign in, with what, and which requests were answered already."""

from __future__ import annotations

from peewee import BooleanField, CharField, CompositeKey, ForeignKeyField, IntegerField, TextField

from inventory.store.fields import JsonField, UtcField
from inventory.store.tables.base import Table


class Person(Table):
    """Somebody who may sign in."""

    name = CharField(max_length=60, unique=True)  # typed at sign-in, kept lower-case
    shown_as = CharField(max_length=80)
    role = CharField(max_length=10)  # owner, tech, viewer
    passphrase = TextField(default="")  # Argon2id; empty: may not sign in
    active = BooleanField(default=True)
    job_in_hand_id = IntegerField(null=True)
    session_mark = IntegerField(default=0)  # raised to end every session of this person
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "people"


class Token(Table):
    """A key for programs; only its digest is kept."""

    person = ForeignKeyField(Person, backref="tokens")
    label = CharField(max_length=80)
    digest = CharField(max_length=64, unique=True)
    created = UtcField()
    last_used = UtcField(null=True)
    revoked = UtcField(null=True)

    class Meta:
        table_name = "tokens"


class SignInFailure(Table):
    """A failed sign-in, remembered to slow the next one down."""

    name = CharField(max_length=60)
    address = CharField(max_length=60)
    at = UtcField()

    class Meta:
        table_name = "sign_in_failures"
        indexes = ((("name", "at"), False), (("address", "at"), False))


class IdempotencyKey(Table):
    """An Idempotency-Key and the answer given to its first request."""

    key = CharField(max_length=200)
    caller = CharField(max_length=40)
    request = CharField(max_length=64)  # digest of method, path and body
    status = IntegerField(null=True)
    headers = JsonField(null=True)
    body = TextField(null=True)
    at = UtcField()  # old ones are dropped at each start, by a look over all

    class Meta:
        table_name = "once_keys"
        primary_key = CompositeKey("caller", "key")
        without_rowid = True  # SQLite: found by its key in one tree, not two; every write adds one
