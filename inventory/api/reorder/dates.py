"""/expiring, /parts/.../keeping, /lots/.../open and so on: what time does to stock."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.schema import Answer, Body
from inventory.domain.catalogue import moisture
from inventory.domain.catalogue.moisture import KeepingRecord
from inventory.domain.reorder import stock_dates as stock
from inventory.domain.reorder.stock_dates import LEVELS, MOST_DAYS, Expiring, LotDates
from inventory.web.access import caller

resource = Resource("dates", "What time does to stock: dates, life after opening, moisture.")


class KeepingIn(Body):
    """How a part keeps; what is left out is not noted any more."""

    days_opened = fields.Whole("Days it is good once opened.", least=1, most=MOST_DAYS, nullable=True)
    moisture_level = fields.Text("Of IPC/JEDEC J-STD-020; empty: not sensitive.", words=LEVELS, default="")
    label_hours = fields.Share("Floor life on the label, in hours; level 6 needs it.", most=100_000.0, nullable=True)


class KeepingOut(Answer):
    """How a part keeps."""

    part_id = fields.Ident("The part.")
    days_opened = fields.Whole("Days it is good once opened.", nullable=True)
    moisture_level = fields.Text("Of IPC/JEDEC J-STD-020; empty: not sensitive.", words=LEVELS)
    label_hours = fields.Share("Floor life on the label, in hours.", most=None, nullable=True)


class FloorOut(Answer):
    """How much floor life is gone."""

    used = fields.Share("Hours out of the bag.", most=None)
    left = fields.Share("Hours left, below zero when past; null: no limit.", least=None, most=None, nullable=True)
    runs_out = fields.Moment("When it ends, while the bag is open.", nullable=True)
    bake = fields.Flag("It must be baked first.")
    words = fields.Text("The same in words.")


class LotDatesOut(Answer):
    """How a lot stands in time."""

    lot = fields.Inner(LotOut, "The lot.")
    keeping = fields.Inner(KeepingOut, "How its part keeps.")
    until = fields.Day("The last good day.", nullable=True)
    past = fields.Flag("It is past that.")
    floor = fields.Inner(FloorOut, "Its floor life; null: not moisture-sensitive.", nullable=True)
    bag_open = fields.Flag("Its bag is open: the clock runs.")
    baked = fields.Moment("When it was last baked.", nullable=True)


class OpenIn(Body):
    """When a lot was opened."""

    day = fields.Day("The day; null: today.", nullable=True)


class BakeIn(Body):
    """How a lot was baked."""

    note = fields.Text("How.", most=300, default="", example="24 h at 125 degrees C")


class ExpiringOut(Answer):
    """A lot that is past its date, or will not be used up by then."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    quantity = fields.Whole("How many are left, in base units.", most=None)
    until = fields.Day("The last good day.")
    days_left = fields.Whole("Days until then, below zero once past.", least=None, most=None)
    share_left = fields.Share("Share of it that will be left then.")
    use_a_day = fields.Share("Base units of the part that are used a day.", most=None)
    words = fields.Text("The same in words.")


class ExpiringQuery(PageQuery):
    """Which lots to list."""

    within_days = fields.Asked("Only those whose last good day is no more than so many days off.", most=MOST_DAYS)


DATES = LotDatesOut()


@resource.get("/expiring")
@resource.arguments(ExpiringQuery(), location="query")
@resource.listed(ExpiringOut(), key=lambda one: one.lot.id)
def expiring(asked: dict[str, Any]) -> list[Expiring]:
    """List lots that are past their date or will not be used up by then, the first due first."""
    return stock.expiring(asked.get("within_days"))


@resource.get("/parts/<key:part_id>/keeping")
@resource.response(200, KeepingOut())
def keeping(part_id: int) -> KeepingRecord:
    """Read how a part keeps."""
    return moisture.keeping(part_id)


@resource.put("/parts/<key:part_id>/keeping")
@resource.arguments(KeepingIn())
@resource.response(200, KeepingOut(), entity=False)
def set_keeping(given: dict[str, Any], part_id: int) -> KeepingRecord:
    """Say how a part keeps; lots that are open follow."""
    return stock.set_keeping(part_id, **given)


@resource.get("/lots/<key:lot_id>/dates")
@resource.response(200, DATES)
def lot_dates(lot_id: int) -> LotDates:
    """Read how a lot stands in time."""
    return stock.dates_of(lot_id)


@resource.post("/lots/<key:lot_id>/open")
@resource.arguments(OpenIn())
@resource.response(200, DATES, entity=False)
def open_lot(given: dict[str, Any], lot_id: int) -> LotDates:
    """Note that a lot, or its moisture barrier bag, was opened."""
    return stock.open_lot(lot_id, given.get("day"), by=caller().id)


@resource.post("/lots/<key:lot_id>/not-open")
@resource.response(200, DATES, entity=False)
def not_opened(lot_id: int) -> LotDates:
    """Take back that a lot was opened."""
    return stock.not_opened(lot_id)


@resource.post("/lots/<key:lot_id>/close-bag")
@resource.response(200, DATES, entity=False)
def close_bag(lot_id: int) -> LotDates:
    """Note that a lot is back in its bag or dry storage: the clock stands still."""
    return stock.close_bag(lot_id, by=caller().id)


@resource.post("/lots/<key:lot_id>/bake")
@resource.arguments(BakeIn())
@resource.response(200, DATES, entity=False)
def bake(given: dict[str, Any], lot_id: int) -> LotDates:
    """Note that a lot was baked dry: its floor life begins anew."""
    return stock.bake(lot_id, **given, by=caller().id)
