"""What was advised, so that it can be held against what happened."""

from __future__ import annotations

from peewee import BooleanField, CharField, DoubleField, ForeignKeyField, IntegerField

from inventory.store.fields import DayField, UtcField
from inventory.store.tables.base import Table
from inventory.store.tables.parts import Part


class Forecast(Table):
    """One part's advice of one day: what was promised of its stock until the next delivery. Base units."""

    part = ForeignKeyField(Part, backref="forecasts")
    day = DayField()
    given = UtcField()
    until = UtcField()  # the end of its interval: a day drawn from the lead time's spread, or the delivery itself
    follow_days = IntegerField(null=True)  # advised to order: if ordered within so many days, its parcel ends it
    promise = CharField(max_length=12)  # no_stock_out, next_job
    target = DoubleField()
    portion = IntegerField()  # what demand is counted in
    position = IntegerField()
    promised = IntegerField()  # to open jobs, taken off the position
    level = IntegerField()
    level_kept = DoubleField(null=True)  # stated chance that the level lasts; empty: the owner fixed the level
    risk = DoubleField()  # stated chance that the promise breaks at that position
    counts = BooleanField()  # no other one of this part was open that day, so that no use is counted twice
    scored = UtcField(null=True)
    wanted = IntegerField(null=True)  # demand until then; empty though scored: there was nothing to score

    class Meta:
        table_name = "forecasts"
        # one a part and day; which are open; what counts
        indexes = ((("part", "day"), True), (("scored", "until"), False), (("counts", "scored"), False))
