"""What the shop prints its labels on: sizes of its own, and how far off each printer prints."""

from __future__ import annotations

from peewee import BooleanField, CharField, Check, DoubleField, ForeignKeyField, IntegerField

from inventory.store.fields import UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.people import Person


class LabelSize(Table):
    """A sheet or roll of labels that the shop uses; lengths in mm. A roll is a sheet of one label."""

    name = CharField(max_length=80, unique=True)
    page_width = DoubleField()
    page_height = DoubleField()
    columns = IntegerField(constraints=[Check("columns > 0")])
    rows = IntegerField(constraints=[Check("rows > 0")])
    label_width = DoubleField()
    label_height = DoubleField()
    left = DoubleField()  # of the sheet, to the first label
    top = DoubleField()
    gap_x = DoubleField()  # between neighbours
    gap_y = DoubleField()
    margin = DoubleField()  # kept free of print on each label
    dpi = IntegerField()  # of the printer that it goes into
    active = BooleanField(default=True)
    created = UtcField()
    version = IntegerField(default=1)

    class Meta:
        table_name = "label_sizes"


class PrintOffset(Table):
    """How far print is moved so that it meets the labels: those of a size, those of a printer, or of both."""

    size = CharField(max_length=40)  # a key of a sheet or roll; empty: whatever goes into the printer
    printer = CharField(max_length=128)  # a queue's name; empty: whatever prints
    right = DoubleField()  # mm; negative: to the left
    down = DoubleField()  # mm; negative: up
    person = ForeignKeyField(Person, null=True)
    at = UtcField()

    class Meta:
        table_name = "print_offsets"
        indexes = ((("size", "printer"), True),)
