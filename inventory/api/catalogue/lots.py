"""/lots: what arrived together, where it is, which jobs have it, and holds."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import HoldIn, HoldOut, LotEdit, LotOut, LotsQuery, ReleaseIn
from inventory.api.jobs.job_schemas import LotUseOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import lots as stock
from inventory.domain.common.records import HoldRecord, LotRecord, Page
from inventory.domain.movements import overview
from inventory.web.access import caller, for_role

resource = Resource("lots", "What arrived together from one origin.")
LOT = LotOut()
HOLD = HoldOut()


@resource.get("/lots")
@resource.arguments(LotsQuery(), location="query")
@resource.listed(LOT)
def lots(asked: dict[str, Any]) -> Page:
    """List lots, newest first."""
    return stock.lots(**asked)


@resource.get("/lots/<key:lot_id>")
@resource.response(200, LOT)
def lot(lot_id: int) -> LotRecord:
    """Read a lot."""
    return stock.lot(lot_id)


@resource.patch("/lots/<key:lot_id>")
@resource.arguments(LotEdit())
@resource.edited(LOT, stock.lot)
def edit_lot(given: dict[str, Any], lot_id: int, version: int | None) -> LotRecord:
    """Correct what is noted of a lot."""
    return stock.edit_lot(lot_id, version, **given)


@resource.get("/lots/<key:lot_id>/jobs")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LotUseOut(), key=lambda one: one.job.id, of=stock.lot)
def lot_jobs(asked: dict[str, Any], lot_id: int) -> list[overview.LotUse]:
    """List the jobs that have something of a lot, newest first."""
    return overview.jobs_of_lot(lot_id)


@resource.get("/lots/<key:lot_id>/holds")
@resource.arguments(PageQuery(), location="query")
@resource.listed(HOLD, key=lambda one: one.id, of=stock.lot)
def holds(asked: dict[str, Any], lot_id: int) -> list[HoldRecord]:
    """List the holds of a lot, newest first."""
    return stock.holds(lot_id)


@resource.post("/lots/<key:lot_id>/hold")
@resource.arguments(HoldIn())
@resource.response(201, HOLD, entity=False)
def hold(given: dict[str, Any], lot_id: int) -> HoldRecord:
    """Let nobody pull from a lot until it is released."""
    return stock.hold(lot_id, **given, by=caller().id)


@resource.post("/lots/<key:lot_id>/release")
@for_role("owner")
@resource.arguments(ReleaseIn())
@resource.response(200, HOLD, entity=False)
def release(given: dict[str, Any], lot_id: int) -> HoldRecord:
    """Let people pull from a lot again."""
    return stock.release(lot_id, **given, by=caller().id)
