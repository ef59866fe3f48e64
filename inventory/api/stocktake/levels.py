"""/parts/.../level-way, /parts/.../open-new, /lots/.../levels, /jobs/.../shares: what is read, not counted."""

from __future__ import annotations

from typing import Any

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.api.schema import Answer, Body
from inventory.domain.catalogue.lots import lot
from inventory.domain.jobs.jobs import job
from inventory.domain.stocktake import level_readings as stock
from inventory.domain.stocktake.level_readings import WAYS, ReadingOfLevel, WayRecord
from inventory.domain.stocktake.level_usage import SharedUse, shared_by
from inventory.web.access import caller

resource = Resource("levels", "Bottles and reels: read now and then, not counted by the drop.")


class WayIn(Body):
    """How a part's level is read."""

    read_by = fields.Text("By what; empty: by what is left.", words=WAYS, required=True)
    full = fields.Whole("Base units in a full container; percent needs it.", least=1, nullable=True)
    tare = fields.Share("Grams of the empty container; weight needs it.", most=1e6, nullable=True)
    per_gram = fields.Share("Base units in a gram; weight needs it.", most=1e6, nullable=True)


class WayOut(Answer):
    """How a part's level is read."""

    part_id = fields.Ident("The part.")
    read_by = fields.Text("By what.", words=WAYS)
    full = fields.Whole("Base units in a full container.", nullable=True)
    tare = fields.Share("Grams of the empty container.", most=None, nullable=True)
    per_gram = fields.Share("Base units in a gram.", most=None, nullable=True)


class LevelIn(Body):
    """A level that was read."""

    bin_id = fields.Ident("In this bin.", required=True)
    value = fields.Text(
        "Per cent, grams with the container, or an amount such as 1.5 m.", least=1, most=30, required=True
    )
    way_of = fields.Text("Read another way than the part's own.", words=WAYS)


class LevelOut(Answer):
    """A level that was read."""

    id = fields.Ident("Its id.")
    lot_id = fields.Ident("The lot.")
    at = fields.Moment("When.")
    person = fields.Text("Who read it.")
    read_by = fields.Text("By what.", words=WAYS)
    value = fields.Text("What was read.")
    before = fields.Whole("Base units booked before.")
    amount = fields.Whole("Base units that remained.")
    used = fields.Whole("How much went since.")
    entry = fields.Whole("Its entry in the ledger; undo takes this.", most=None, nullable=True)
    sentence = fields.Text("The same in words.")


class OpenedNewOut(Answer):
    """What was read as empty when a new one was opened."""

    items = fields.Inner(LevelOut, "The readings; none, when it was the first.", many=True)


class ShareOut(Answer):
    """A job's share of what went of a lot between two readings."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "The lot.")
    amount = fields.Whole("Base units.")
    cost_minor = fields.Whole("Its share of what the lot cost, in minor units.", most=None, nullable=True)
    since = fields.Moment("From this reading.")
    until = fields.Moment("To this one.")
    jobs = fields.Whole("How many jobs shared it.")


@resource.get("/parts/<key:part_id>/level-way")
@resource.response(200, WayOut())
def level_way(part_id: int) -> WayRecord:
    """Read how a part's level is read."""
    return stock.way(part_id)


@resource.put("/parts/<key:part_id>/level-way")
@resource.arguments(WayIn())
@resource.response(200, WayOut(), entity=False)
def set_level_way(given: dict[str, Any], part_id: int) -> WayRecord:
    """Say how a part's level is read."""
    return stock.set_way(part_id, **given)


@resource.post("/parts/<key:part_id>/open-new")
@resource.response(200, OpenedNewOut(), entity=False)
def open_new(part_id: int) -> dict[str, Any]:
    """Note that the open container is empty, and open the next."""
    return {"items": stock.open_new(part_id, by=caller().id)}


@resource.get("/lots/<key:lot_id>/levels")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LevelOut(), key=lambda one: one.id, of=lot)
def levels(asked: dict[str, Any], lot_id: int) -> list[ReadingOfLevel]:
    """List the readings of a lot that were not undone, newest first."""
    return stock.readings(lot_id, 500)


@resource.post("/lots/<key:lot_id>/levels")
@resource.arguments(LevelIn())
@resource.response(200, LevelOut(), entity=False)
def read_level(given: dict[str, Any], lot_id: int) -> ReadingOfLevel:
    """Note what a lot's level was read at; refused (409, level_up) when it is above the book."""
    return stock.read_level(lot_id, **given, by=caller().id)


@resource.get("/jobs/<key:job_id>/shares")
@resource.arguments(PageQuery(), location="query")
@resource.listed(ShareOut(), key=lambda one: f"{one.lot.id}.{one.until.isoformat()}", of=job)
def job_shares(asked: dict[str, Any], job_id: int) -> list[SharedUse]:
    """List a job's shares of what went of bottles and reels while it was worked on."""
    return shared_by(job_id)
