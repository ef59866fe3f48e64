"""/expiring, /parts/.../keeping, /lots/.../open and so on: what time does to stock."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.catalogue import moisture
from inventory.domain.catalogue.moisture import PartStorageRecord
from inventory.domain.reorder import stock_dates as domain
from inventory.domain.reorder.stock_dates import MAX_DAYS_OPENED, MOISTURE_LEVELS, ExpiringLot, LotDates
from inventory.web.access import current_person

resource = Resource("dates", "What time does to stock: dates, life after opening, moisture.")


class PartStorageIn(BodySchema):
    """How a part keeps; what is left out is not noted any more."""

    days_opened = fields.Integer("Days it is good once opened.", minimum=1, maximum=MAX_DAYS_OPENED, nullable=True)
    moisture_level = fields.Text("Of IPC/JEDEC J-STD-020; empty: not sensitive.", choices=MOISTURE_LEVELS, default="")
    label_hours = fields.BoundedNumber(
        "Floor life on the label, in hours; level 6 needs it.", maximum=100_000.0, nullable=True
    )


class PartStorageOut(ResponseSchema):
    """How a part keeps."""

    part_id = fields.Id("The part.")
    days_opened = fields.Integer("Days it is good once opened.", nullable=True)
    moisture_level = fields.Text("Of IPC/JEDEC J-STD-020; empty: not sensitive.", choices=MOISTURE_LEVELS)
    label_hours = fields.BoundedNumber("Floor life on the label, in hours.", maximum=None, nullable=True)


class FloorLifeOut(ResponseSchema):
    """How much floor life is gone."""

    used = fields.BoundedNumber("Hours out of the bag.", maximum=None)
    left = fields.BoundedNumber(
        "Hours left, below zero when past; null: no limit.", minimum=None, maximum=None, nullable=True
    )
    runs_out = fields.DateTime("When it ends, while the bag is open.", nullable=True)
    bake = fields.Boolean("It must be baked first.")
    words = fields.Text("The same in words.")


class LotDatesOut(ResponseSchema):
    """How a lot stands in time."""

    lot = fields.Nested(LotOut, "The lot.")
    keeping = fields.Nested(PartStorageOut, "How its part keeps.")
    until = fields.Date("The last good day.", nullable=True)
    past = fields.Boolean("It is past that.")
    floor = fields.Nested(FloorLifeOut, "Its floor life; null: not moisture-sensitive.", nullable=True)
    bag_open = fields.Boolean("Its bag is open: the clock runs.")
    baked = fields.DateTime("When it was last baked.", nullable=True)


class LotOpenedIn(BodySchema):
    """When a lot was opened."""

    day = fields.Date("The day; null: today.", nullable=True)


class LotBakedIn(BodySchema):
    """How a lot was baked."""

    note = fields.Text("How.", maximum=300, default="", example="24 h at 125 degrees C")


class ExpiringLotOut(ResponseSchema):
    """A lot that is past its date, or will not be used up by then."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    quantity = fields.Integer("How many are left, in base units.", maximum=None)
    until = fields.Date("The last good day.")
    days_left = fields.Integer("Days until then, below zero once past.", minimum=None, maximum=None)
    share_left = fields.BoundedNumber("Share of it that will be left then.")
    use_a_day = fields.BoundedNumber("Base units of the part that are used a day.", maximum=None)
    words = fields.Text("The same in words.")


class ExpiringLotsQuery(PageQuery):
    """Which lots to list."""

    within_days = fields.QueryInteger(
        "Only those whose last good day is no more than so many days off.", maximum=MAX_DAYS_OPENED
    )


DATES = LotDatesOut()


@resource.get("/expiring")
@resource.arguments(ExpiringLotsQuery(), location="query")
@resource.listed(ExpiringLotOut(), key="lot.id")
def expiring(params: dict[str, Any]) -> list[ExpiringLot]:
    """List lots that are past their date or will not be used up by then, the first due first."""
    return domain.expiring_lots(params.get("within_days"))


@resource.get("/parts/<key:part_id>/keeping")
@resource.response(200, PartStorageOut())
def part_storage(part_id: int) -> PartStorageRecord:
    """Read how a part keeps."""
    return moisture.part_storage(part_id)


@resource.put("/parts/<key:part_id>/keeping")
@resource.arguments(PartStorageIn())
@resource.response(200, PartStorageOut(), with_etag=False)
def set_part_storage(data: dict[str, Any], part_id: int) -> PartStorageRecord:
    """Say how a part keeps; lots that are open follow."""
    return domain.set_part_storage(part_id, **data)


@resource.get("/lots/<key:lot_id>/dates")
@resource.response(200, DATES)
def lot_dates(lot_id: int) -> LotDates:
    """Read how a lot stands in time."""
    return domain.lot_dates(lot_id)


@resource.post("/lots/<key:lot_id>/open")
@resource.arguments(LotOpenedIn())
@resource.response(200, DATES, with_etag=False)
def open_lot(data: dict[str, Any], lot_id: int) -> LotDates:
    """Note that a lot, or its moisture barrier bag, was opened."""
    return domain.open_lot(lot_id, data.get("day"), by=current_person().id)


@resource.post("/lots/<key:lot_id>/not-open")
@resource.response(200, DATES, with_etag=False)
def mark_unopened(lot_id: int) -> LotDates:
    """Take back that a lot was opened."""
    return domain.undo_open_lot(lot_id)


@resource.post("/lots/<key:lot_id>/close-bag")
@resource.response(200, DATES, with_etag=False)
def close_bag(lot_id: int) -> LotDates:
    """Note that a lot is back in its bag or dry storage: the clock stands still."""
    return domain.close_bag(lot_id, by=current_person().id)


@resource.post("/lots/<key:lot_id>/bake")
@resource.arguments(LotBakedIn())
@resource.response(200, DATES, with_etag=False)
def record_bake(data: dict[str, Any], lot_id: int) -> LotDates:
    """Note that a lot was baked dry: its floor life begins anew."""
    return domain.record_bake(lot_id, **data, by=current_person().id)
