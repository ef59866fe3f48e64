"""The tables. One class a table; what a column holds is said once, here.

Quantities are whole base units of their part, money whole minor units, times UTC (see ``fields``).
Editable things carry ``version``, which counts their edits, so that two people cannot overwrite each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import peewee
from peewee import (
    BigIntegerField,
    BooleanField,
    CharField,
    Check,
    CompositeKey,
    DoubleField,
    ForeignKeyField,
    IntegerField,
    TextField,
)

from inventory.store.binding import database
from inventory.store.fields import DayField, JsonField, UtcField


class Table(peewee.Model):
    """Base of every table."""

    if TYPE_CHECKING:  # peewee adds these at run time: the key, and ``<name>_id`` of each reference
        id: Any

        def __getattr__(self, name: str) -> Any: ...

    class Meta:
        database = database
        legacy_table_names = False


class SchemaNote(Table):
    """A fact about this database as a whole, by name."""

    name = CharField(max_length=60, unique=True)
    value = TextField()

    class Meta:
        table_name = "notes"


# ---- people and doors ------------------------------------------------------------------------------------


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


class OnceKey(Table):
    """An Idempotency-Key and the answer given to its first request."""

    key = CharField(max_length=200)
    caller = CharField(max_length=40)
    request = CharField(max_length=64)  # digest of method, path and body
    status = IntegerField(null=True)
    headers = JsonField(null=True)
    body = TextField(null=True)
    at = UtcField(index=True)

    class Meta:
        table_name = "once_keys"
        indexes = ((("caller", "key"), True),)


# ---- what can be stocked ---------------------------------------------------------------------------------


class UnitModel(Table):
    """A model of device that customers bring."""

    name = CharField(max_length=120, unique=True)
    maker = CharField(max_length=120, default="")
    note = TextField(default="")

    class Meta:
        table_name = "unit_models"


class Supplier(Table):
    """Who parts are bought from."""

    name = CharField(max_length=120, unique=True)
    lead_days = IntegerField(default=5)  # stated by the supplier
    shipping_minor = BigIntegerField(default=0)  # for one parcel
    email = CharField(max_length=200, default="")
    note = TextField(default="")
    active = BooleanField(default=True)
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "suppliers"


class Part(Table):
    """A kind of thing that can be stocked."""

    number = CharField(max_length=60, unique=True)  # the shop's own
    name = CharField(max_length=400)
    kind = CharField(max_length=12)
    kept = CharField(max_length=12)  # counted, individually, by level
    unit = CharField(max_length=10)  # base unit: piece, g, ml, mm
    maker = CharField(max_length=120, default="")
    maker_number = CharField(max_length=120, default="")
    attributes = JsonField()  # of the kind: pitch, ways, volts ...
    hazards = JsonField()  # keys of shared.hazards
    caution = TextField(default="")
    note = TextField(default="")
    level = IntegerField(null=True)  # fixed by the owner; empty: worked out
    target = DoubleField(null=True)  # promise for this part; empty: the shop's
    rated_matings = IntegerField(null=True)  # by the data sheet
    catalogued = UtcField()
    catalogued_for_id = IntegerField(null=True)  # the job that caused it
    retired = BooleanField(default=False)
    search = TextField()  # folded text that the search field looks in
    version = IntegerField(default=1)

    class Meta:
        table_name = "parts"
        indexes = ((("maker_number",), False), (("kind", "number"), False))


class PartFit(Table):
    """A part goes into a unit model."""

    part = ForeignKeyField(Part, backref="fits")
    unit_model = ForeignKeyField(UnitModel, backref="fits")

    class Meta:
        table_name = "part_fits"
        primary_key = CompositeKey("part", "unit_model")


class Substitute(Table):
    """What may be used instead, and how it differs."""

    part = ForeignKeyField(Part, backref="substitutes")
    instead = ForeignKeyField(Part, backref="stands_in_for")
    differs = CharField(max_length=300, default="")

    class Meta:
        table_name = "substitutes"
        primary_key = CompositeKey("part", "instead")


class Offer(Table):
    """What a supplier sells a part for."""

    part = ForeignKeyField(Part, backref="offers")
    supplier = ForeignKeyField(Supplier, backref="offers")
    supplier_number = CharField(max_length=120, default="")
    pack = IntegerField(default=1, constraints=[Check("pack > 0")])  # base units in a pack
    minimum = IntegerField(default=1)  # base units in an order
    price_minor = BigIntegerField()  # for one pack
    breaks = JsonField()  # [[packs, price of a pack], ...] rising
    lead_days = IntegerField(null=True)  # empty: the supplier's
    preferred = BooleanField(default=False)
    active = BooleanField(default=True)
    version = IntegerField(default=1)

    class Meta:
        table_name = "offers"
        indexes = ((("part", "supplier", "supplier_number"), True), (("supplier_number",), False))


class Lesson(Table):
    """A sentence worth seeing again."""

    text = TextField()
    part = ForeignKeyField(Part, null=True, backref="lessons")
    unit_model = ForeignKeyField(UnitModel, null=True, backref="lessons")
    job_id = IntegerField(null=True)
    person = ForeignKeyField(Person, null=True)
    at = UtcField()

    class Meta:
        table_name = "lessons"


# ---- jobs ------------------------------------------------------------------------------------------------


class Job(Table):
    """One customer's repair."""

    code = CharField(max_length=12, unique=True)
    number = CharField(max_length=30, unique=True)
    unit_model = ForeignKeyField(UnitModel, null=True, backref="jobs")
    unit_serial = CharField(max_length=80, default="")
    customer = CharField(max_length=120, default="")
    symptom = CharField(max_length=300, default="")
    status = CharField(max_length=10, default="open")  # open, waiting, closed
    waiting_for = CharField(max_length=300, default="")
    opened = UtcField()
    promised = DayField(null=True)
    closed = UtcField(null=True)
    found = TextField(default="")  # what it was
    note = TextField(default="")
    search = TextField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "jobs"
        indexes = ((("status", "opened"), False),)


class Need(Table):
    """What a job wants of a part."""

    job = ForeignKeyField(Job, backref="needs")
    part = ForeignKeyField(Part, backref="needs")
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    taken = IntegerField(default=0)
    dropped = BooleanField(default=False)
    at = UtcField()

    class Meta:
        table_name = "needs"
        indexes = ((("job", "part"), True),)


class Suspect(Table):
    """What might be wrong in a job."""

    job = ForeignKeyField(Job, backref="suspects")
    name = CharField(max_length=120)
    part = ForeignKeyField(Part, null=True)
    verdict = CharField(max_length=10, default="")  # empty, bad, good
    at = UtcField()

    class Meta:
        table_name = "suspects"
        indexes = ((("job", "name"), True),)


# ---- orders ----------------------------------------------------------------------------------------------


class Order(Table):
    """What was asked of a supplier."""

    code = CharField(max_length=12, unique=True)
    number = CharField(max_length=30, unique=True)
    supplier = ForeignKeyField(Supplier, backref="orders")
    status = CharField(max_length=10)  # draft, placed, received, cancelled
    reference = CharField(max_length=80, default="")
    note = TextField(default="")
    shipping_minor = BigIntegerField(default=0)
    created = UtcField()
    placed = UtcField(null=True)
    expected = DayField(null=True)
    closed = UtcField(null=True)
    person = ForeignKeyField(Person, null=True)
    version = IntegerField(default=1)

    class Meta:
        table_name = "orders"
        indexes = ((("status", "placed"), False),)


class OrderLine(Table):
    """One part of an order."""

    order = ForeignKeyField(Order, backref="lines")
    part = ForeignKeyField(Part, backref="order_lines")
    offer = ForeignKeyField(Offer, null=True)
    quantity = IntegerField(constraints=[Check("quantity > 0")])
    received = IntegerField(default=0)
    cost_minor = BigIntegerField(default=0)  # of the whole line
    job_id = IntegerField(null=True)  # ordered for this job
    dropped = BooleanField(default=False)

    class Meta:
        table_name = "order_lines"
        indexes = ((("part", "order"), False),)


# ---- places and stock ------------------------------------------------------------------------------------


class Bin(Table):
    """A place with a label."""

    code = CharField(max_length=12, unique=True)
    name = CharField(max_length=60, null=True, unique=True)  # empty until the label is put to use
    part = ForeignKeyField(Part, null=True, backref="bins")
    mixed = BooleanField(default=False)  # holds several parts
    walk = IntegerField(default=0)  # order of a count walk
    note = TextField(default="")
    retired = BooleanField(default=False)
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "bins"


class Lot(Table):
    """What arrived together from one origin."""

    code = CharField(max_length=12, unique=True)
    part = ForeignKeyField(Part, backref="lots")
    origin = CharField(max_length=12)  # delivery, donor, left over, found
    origin_note = CharField(max_length=300, default="")
    supplier = ForeignKeyField(Supplier, null=True, backref="lots")
    order_line = ForeignKeyField(OrderLine, null=True, backref="lots")
    job_id = IntegerField(null=True)  # donor or left-over job
    donor_worked = BooleanField(null=True)  # the donor unit worked; empty: not a donor, or nobody noted it
    received = UtcField()
    quantity = IntegerField()  # as received
    cost_minor = BigIntegerField(null=True)  # of all of it
    maker_lot = CharField(max_length=80, default="")
    date_code = CharField(max_length=20, default="")
    best_before = DayField(null=True)
    raw_code = TextField(default="")
    note = TextField(default="")
    on_hold = BooleanField(default=False)
    version = IntegerField(default=1)

    class Meta:
        table_name = "lots"
        indexes = ((("part", "received"), False), (("maker_lot",), False))


class Hold(Table):
    """A time in which nobody may pull from a lot."""

    lot = ForeignKeyField(Lot, backref="holds")
    reason = CharField(max_length=300)
    person = ForeignKeyField(Person, null=True)
    at = UtcField()
    ended = UtcField(null=True)
    ended_by = ForeignKeyField(Person, null=True)
    outcome = CharField(max_length=300, default="")

    class Meta:
        table_name = "holds"


class Piece(Table):
    """One individually known unit."""

    code = CharField(max_length=12, unique=True)
    part = ForeignKeyField(Part, backref="pieces")
    lot = ForeignKeyField(Lot, backref="pieces")
    bin = ForeignKeyField(Bin, null=True, backref="pieces")  # empty: fitted or scrapped
    serial = CharField(max_length=80, default="")
    name = CharField(max_length=40, default="")  # what the bench calls it, such as C-07
    spare = BooleanField(default=False)  # kept to test with, not to fit
    matings = IntegerField(default=0)
    note = TextField(default="")
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "pieces"
        indexes = ((("bin", "part"), False),)


class Balance(Table):
    """How many loose units of a lot are in a bin; changed only together with the ledger."""

    bin = ForeignKeyField(Bin, backref="balances")
    lot = ForeignKeyField(Lot, backref="balances")
    part = ForeignKeyField(Part)
    quantity = IntegerField(constraints=[Check("quantity >= 0")])

    class Meta:
        table_name = "balances"
        primary_key = CompositeKey("bin", "lot")
        # which lots can a pull take from; what is on the shelf of a part
        indexes = ((("part", "bin", "lot", "quantity"), False), (("lot", "bin", "quantity"), False))


class Movement(Table):
    """One line of the ledger. Never changed, never deleted: the database refuses both."""

    id = BigIntegerField(primary_key=True)
    entry = BigIntegerField(index=True)  # the first line of what was done together
    at = UtcField()
    kind = CharField(max_length=12)
    part = ForeignKeyField(Part, backref="movements", index=False)
    lot = ForeignKeyField(Lot, backref="movements", index=False)
    bin = ForeignKeyField(Bin, backref="movements", index=False)
    piece = ForeignKeyField(Piece, null=True, backref="movements")
    quantity = IntegerField()
    job = ForeignKeyField(Job, null=True, backref="movements", index=False)
    person = ForeignKeyField(Person, null=True, index=False)
    reason = CharField(max_length=300, default="")
    one_off = BooleanField(default=False)  # not to be expected again
    reverses = ForeignKeyField("self", null=True, unique=True, backref="reversed_by")
    digest = CharField(max_length=64)

    class Meta:
        table_name = "movements"
        indexes = (
            (("lot", "job", "kind", "quantity"), False),  # which jobs got pieces of a lot
            (("job", "lot", "kind", "quantity"), False),  # which lots a job used
            (("part", "at", "job", "kind", "quantity"), False),  # use of a part over time
            (("bin", "id"), False),  # what happened at a bin
        )


class LedgerHead(Table):
    """The end of the digest chain; locked while lines are added, so that the chain has one order."""

    last = BigIntegerField()
    digest = CharField(max_length=64)

    class Meta:
        table_name = "ledger_head"


# ---- proof -----------------------------------------------------------------------------------------------


class Procedure(Table):
    """A named way to test a piece."""

    name = CharField(max_length=120)
    edition = IntegerField(default=1)
    kind = CharField(max_length=12, default="")  # for parts of this kind; empty: any
    part = ForeignKeyField(Part, null=True)
    steps = TextField(default="")  # what to do, in sentences
    hazards = JsonField()
    source = CharField(max_length=300, default="")
    sensitivity = DoubleField(default=0.9)  # P(fails | bad)
    specificity = DoubleField(default=0.98)  # P(passes | good)
    retired = BooleanField(default=False)
    created = UtcField()

    class Meta:
        table_name = "procedures"
        indexes = ((("name", "edition"), True),)


class ProcedureCheck(Table):
    """One reading of a procedure with its limits; without limits it is answered yes or no."""

    procedure = ForeignKeyField(Procedure, backref="checks")
    position = IntegerField()
    name = CharField(max_length=120)
    unit = CharField(max_length=20, default="")
    low = CharField(max_length=30, default="")  # decimal text: limits are exact
    high = CharField(max_length=30, default="")
    times_rated = CharField(max_length=30, default="")  # limits are shares of this attribute of the part

    class Meta:
        table_name = "procedure_checks"
        indexes = ((("procedure", "position"), True),)


class Proof(Table):
    """A dated test of a piece, or "it ran in this job's unit"."""

    piece = ForeignKeyField(Piece, backref="proofs")
    procedure = ForeignKeyField(Procedure, null=True, backref="proofs")  # empty: it ran in a unit
    job = ForeignKeyField(Job, null=True, backref="proofs")
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    passed = BooleanField()
    sensitivity = DoubleField()
    specificity = DoubleField()
    instrument = CharField(max_length=120, default="")
    note = TextField(default="")
    struck = UtcField(null=True)  # logged by mistake: kept, and not counted from then on
    struck_by = ForeignKeyField(Person, null=True)
    struck_reason = CharField(max_length=300, default="")

    class Meta:
        table_name = "proofs"
        indexes = ((("piece", "at"), False),)


class Reading(Table):
    """One reading of a proof, with the limits it was held against."""

    proof = ForeignKeyField(Proof, backref="readings")
    position = IntegerField()
    name = CharField(max_length=120)
    unit = CharField(max_length=20, default="")
    value = CharField(max_length=30)  # decimal text, or yes / no
    low = CharField(max_length=30, default="")
    high = CharField(max_length=30, default="")
    passed = BooleanField()

    class Meta:
        table_name = "readings"


class Loan(Table):
    """A piece that is out: lent to a job for a swap test."""

    piece = ForeignKeyField(Piece, backref="loans")
    job = ForeignKeyField(Job, backref="loans")
    suspect = ForeignKeyField(Suspect, null=True, backref="loans")
    bin = ForeignKeyField(Bin)  # where it was taken from
    p_good = DoubleField()  # believed when it was taken
    standing = CharField(max_length=10)
    taken = UtcField()
    taken_by = ForeignKeyField(Person, null=True)
    due = UtcField()
    ended = UtcField(null=True)
    ended_by = ForeignKeyField(Person, null=True)
    result = CharField(max_length=20, default="")  # works with it, still fails, cannot tell; or cancelled
    stayed = BooleanField(default=False)  # it stayed fitted
    others_good = DoubleField(null=True)  # believed when it ended: chance that all else in the unit was good
    proof = ForeignKeyField(Proof, null=True, backref="loans")  # "it ran in this job's unit", from this loan
    note = TextField(default="")

    class Meta:
        table_name = "loans"


def all_tables() -> list[Any]:
    """Return every table, in an order in which they can be made."""
    found: list[Any] = peewee.sort_models(list(Table.__subclasses__()))  # type: ignore[attr-defined]
    return found
