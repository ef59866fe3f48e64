"""/parts/.../level-way, /parts/.../open-new, /lots/.../levels, /jobs/.../shares: what is read, not counted."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.catalogue.lots import lot
from inventory.domain.jobs.jobs import job
from inventory.domain.stocktake import level_readings as domain
from inventory.domain.stocktake.level_readings import LEVEL_METHODS, LevelMethodRecord, LevelReadingRecord
from inventory.domain.stocktake.level_usage import LevelShare, level_shares_of_job
from inventory.web.access import current_person

resource = Resource("levels", "Bottles and reels: read now and then, not counted by the drop.")


class LevelMethodIn(BodySchema):
    """How a part's level is read."""

    read_by = fields.Text("By what; empty: by what is left.", choices=LEVEL_METHODS, required=True)
    full = fields.Integer("Base units in a full container; percent needs it.", minimum=1, nullable=True)
    tare = fields.BoundedNumber("Grams of the empty container; weight needs it.", maximum=1e6, nullable=True)
    per_gram = fields.BoundedNumber("Base units in a gram; weight needs it.", maximum=1e6, nullable=True)


class LevelMethodOut(ResponseSchema):
    """How a part's level is read."""

    part_id = fields.Id("The part.")
    read_by = fields.Text("By what.", choices=LEVEL_METHODS)
    full = fields.Integer("Base units in a full container.", nullable=True)
    tare = fields.BoundedNumber("Grams of the empty container.", maximum=None, nullable=True)
    per_gram = fields.BoundedNumber("Base units in a gram.", maximum=None, nullable=True)


class LevelReadingIn(BodySchema):
    """A level that was read."""

    bin_id = fields.Id("In this bin.", required=True)
    value = fields.Text(
        "Per cent, grams with the container, or an amount such as 1.5 m.", minimum=1, maximum=30, required=True
    )
    way_of = fields.Text("Read another way than the part's own.", choices=LEVEL_METHODS)


class LevelReadingOut(ResponseSchema):
    """A level that was read."""

    id = fields.Id("Its id.")
    lot_id = fields.Id("The lot.")
    at = fields.DateTime("When.")
    person = fields.Text("Who read it.")
    read_by = fields.Text("By what.", choices=LEVEL_METHODS)
    value = fields.Text("What was read.")
    before = fields.Integer("Base units booked before.")
    amount = fields.Integer("Base units that remained.")
    used = fields.Integer("How much went since.")
    entry = fields.Integer("Its entry in the ledger; undo takes this.", maximum=None, nullable=True)
    sentence = fields.Text("The same in words.")


class ContainerOpenedOut(ResponseSchema):
    """What was read as empty when a new one was opened."""

    items = fields.Nested(LevelReadingOut, "The readings; none, when it was the first.", many=True)


class LevelShareOut(ResponseSchema):
    """A job's share of what went of a lot between two readings."""

    part = fields.Nested(PartOut, "The part.")
    lot = fields.Nested(LotOut, "The lot.")
    amount = fields.Integer("Base units.")
    cost_minor = fields.Integer("Its share of what the lot cost, in minor units.", maximum=None, nullable=True)
    since = fields.DateTime("From this reading.")
    until = fields.DateTime("To this one.")
    jobs = fields.Integer("How many jobs shared it.")


@resource.get("/parts/<key:part_id>/level-way")
@resource.response(200, LevelMethodOut())
def level_method(part_id: int) -> LevelMethodRecord:
    """Read how a part's level is read."""
    return domain.level_method(part_id)


@resource.put("/parts/<key:part_id>/level-way")
@resource.arguments(LevelMethodIn())
@resource.response(200, LevelMethodOut(), with_etag=False)
def set_level_method(data: dict[str, Any], part_id: int) -> LevelMethodRecord:
    """Say how a part's level is read."""
    return domain.set_level_method(part_id, **data)


@resource.post("/parts/<key:part_id>/open-new")
@resource.response(200, ContainerOpenedOut(), with_etag=False)
def open_next_container(part_id: int) -> dict[str, Any]:
    """Note that the open container is empty, and open the next."""
    return {"items": domain.open_next_container(part_id, by=current_person().id)}


@resource.get("/lots/<key:lot_id>/levels")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LevelReadingOut(), key="id", parent=lot)
def level_readings(params: dict[str, Any], lot_id: int) -> list[LevelReadingRecord]:
    """List the readings of a lot that were not undone, newest first."""
    return domain.level_readings(lot_id, 500)


@resource.post("/lots/<key:lot_id>/levels")
@resource.arguments(LevelReadingIn())
@resource.response(200, LevelReadingOut(), with_etag=False)
def record_level_reading(data: dict[str, Any], lot_id: int) -> LevelReadingRecord:
    """Note what a lot's level was read at; refused (409, level_up) when it is above the book."""
    return domain.record_reading(lot_id, **data, by=current_person().id)


@resource.get("/jobs/<key:job_id>/shares")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LevelShareOut(), key=lambda share: f"{share.lot.id}.{share.until.isoformat()}", parent=job)
def job_level_shares(params: dict[str, Any], job_id: int) -> list[LevelShare]:
    """List a job's shares of what went of bottles and reels while it was worked on."""
    return level_shares_of_job(job_id)
