"""Keeps what went back to a supplier. Until now the words of a scrap's reason said so: those are read once, here."""

from __future__ import annotations

from typing import Any

from peewee import BigIntegerField, CharField, Check, ForeignKeyField, IntegerField, Model, TextField

from inventory.store.fields import UtcField

WORDS = ("return", "sent back", "send back", "goes back", "went back")
# Why it went back, and what money came, is not known of these; nobody waits for it any more.
READ_ONCE = f"""
INSERT INTO sent_back (entry, lot_id, supplier_id, quantity, cause, at, person_id, reference, note, settled,
                       settled_by_id, outcome, version)
SELECT m.entry, m.lot_id, MIN(l.supplier_id), -SUM(m.quantity), 'not stated', MIN(m.at), MIN(m.person_id), '', '',
       MIN(m.at), MIN(m.person_id), MIN(m.reason), 1
FROM movements m JOIN lots l ON l.id = m.lot_id
WHERE m.kind = 'scrap' AND l.supplier_id IS NOT NULL
  AND ({" OR ".join(f"LOWER(m.reason) LIKE '%%{word}%%'" for word in WORDS)})
  AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses_id = m.id)
GROUP BY m.entry, m.lot_id
"""


def up(migrator: Any, db: Any) -> None:
    """Make the table, and fill it from the words."""

    class Lot(Model):
        class Meta:
            database = db
            table_name = "lots"

    class Person(Model):
        class Meta:
            database = db
            table_name = "people"

    class Supplier(Model):
        class Meta:
            database = db
            table_name = "suppliers"

    class SentBack(Model):
        entry = BigIntegerField(unique=True)
        lot = ForeignKeyField(Lot, backref="sent_back")
        supplier = ForeignKeyField(Supplier, backref="sent_back")
        quantity = IntegerField(constraints=[Check("quantity > 0")])
        cause = CharField(max_length=20)
        at = UtcField()
        person = ForeignKeyField(Person, null=True)
        expected_minor = IntegerField(null=True, constraints=[Check("expected_minor >= 0")])
        reference = CharField(max_length=80, default="")
        note = TextField(default="")
        settled = UtcField(null=True)
        settled_by = ForeignKeyField(Person, null=True)
        got_minor = IntegerField(null=True, constraints=[Check("got_minor >= 0")])
        outcome = CharField(max_length=300, default="")
        version = IntegerField(default=1)

        class Meta:
            database = db
            table_name = "sent_back"
            indexes = ((("supplier", "settled"), False),)

    db.create_tables([SentBack])
    db.execute_sql(READ_ONCE)


def down(migrator: Any, db: Any) -> None:
    """Drop the table."""
    migrator.migrate(migrator.drop_table("sent_back"))
