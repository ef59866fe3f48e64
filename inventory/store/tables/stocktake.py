"""Count walks (which bins are to be counted, and what was counted), and stock lists taken in from a spreadsheet."""

from __future__ import annotations

from peewee import BigIntegerField, BooleanField, CharField, Check, ForeignKeyField, IntegerField

from inventory.store.fields import JsonField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.people import Person
from inventory.store.tables.stock import Bin, Lot, Piece


class CountWalk(Table):
    """A walk past bins to count what is in them."""

    started = UtcField()
    person = ForeignKeyField(Person, null=True)
    blind = BooleanField(default=True)  # what the book says is not shown
    ended = UtcField(null=True)
    note = CharField(max_length=300, default="")

    class Meta:
        table_name = "count_walks"


class WalkBin(Table):
    """A bin of a walk, and how far it is."""

    walk = ForeignKeyField(CountWalk, backref="bins")
    bin = ForeignKeyField(Bin)
    state = CharField(max_length=10, default="to count")  # to count, recount, counted, booked, left out
    person = ForeignKeyField(Person, null=True)  # who is at it, or counted it last
    taken = UtcField(null=True)  # since when somebody is at it

    class Meta:
        table_name = "walk_bins"
        indexes = ((("walk", "bin"), True), (("bin", "state"), False))


class CountEntry(Table):
    """What somebody counted of one lot (loose) or saw of one piece, in one round of counting a bin."""

    walk_bin = ForeignKeyField(WalkBin, backref="tallies")
    round = IntegerField()
    lot = ForeignKeyField(Lot)
    piece = ForeignKeyField(Piece, null=True)
    booked = IntegerField()
    counted = IntegerField(constraints=[Check("counted >= 0")])
    line = BigIntegerField()  # the end of the ledger when the count began: what moved later is no difference
    at = UtcField()
    person = ForeignKeyField(Person, null=True)
    entry = BigIntegerField(null=True)  # under which it was booked

    class Meta:
        table_name = "tallies"
        indexes = ((("walk_bin", "round"), False),)


class StockListImport(Table):
    """A list that was taken in, whole."""

    at = UtcField()
    person = ForeignKeyField(Person, null=True)  # empty: at the command line
    digest = CharField(max_length=64)  # SHA-256 of its text: the same list is told from another
    totals = JsonField()  # what it added, counted
    bins = JsonField()  # ids of the bins that it names

    class Meta:
        table_name = "stock_lists"
        indexes = ((("digest",), False),)
