"""/lots: what arrived together, where it is, which jobs have it, and holds."""

from __future__ import annotations

from typing import Any

from inventory.api.catalogue.stock_schemas import HoldIn, HoldOut, LotEdit, LotOut, LotsQuery, ReleaseIn
from inventory.api.jobs.job_schemas import LotUseOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource
from inventory.domain.catalogue import lots as domain
from inventory.domain.common.records import HoldRecord, LotRecord, ResultPage
from inventory.domain.movements import overview
from inventory.web.access import current_person, require_role

resource = Resource("lots", "What arrived together from one origin.")
LOT = LotOut()
HOLD = HoldOut()


@resource.get("/lots")
@resource.arguments(LotsQuery(), location="query")
@resource.listed(LOT)
def lots(params: dict[str, Any]) -> ResultPage:
    """List lots, newest first."""
    return domain.lots(**params)


@resource.get("/lots/<key:lot_id>")
@resource.response(200, LOT)
def lot(lot_id: int) -> LotRecord:
    """Read a lot."""
    return domain.lot(lot_id)


@resource.patch("/lots/<key:lot_id>")
@resource.arguments(LotEdit())
@resource.edited(LOT, domain.lot)
def edit_lot(data: dict[str, Any], lot_id: int, version: int | None) -> LotRecord:
    """Correct what is noted of a lot."""
    return domain.edit_lot(lot_id, version, **data)


@resource.get("/lots/<key:lot_id>/jobs")
@resource.arguments(PageQuery(), location="query")
@resource.listed(LotUseOut(), key="job.id", parent=domain.lot)
def lot_jobs(params: dict[str, Any], lot_id: int) -> list[overview.JobQuantity]:
    """List the jobs that have something of a lot, newest first."""
    return overview.jobs_of_lot(lot_id)


@resource.get("/lots/<key:lot_id>/holds")
@resource.arguments(PageQuery(), location="query")
@resource.listed(HOLD, key="id", parent=domain.lot)
def holds(params: dict[str, Any], lot_id: int) -> list[HoldRecord]:
    """List the holds of a lot, newest first."""
    return domain.holds(lot_id)


@resource.post("/lots/<key:lot_id>/hold")
@resource.arguments(HoldIn())
@resource.response(201, HOLD, with_etag=False)
def hold_lot(data: dict[str, Any], lot_id: int) -> HoldRecord:
    """Let nobody pull from a lot until it is released."""
    return domain.hold_lot(lot_id, **data, by=current_person().id)


@resource.post("/lots/<key:lot_id>/release")
@require_role("owner")
@resource.arguments(ReleaseIn())
@resource.response(200, HOLD, with_etag=False)
def release_lot(data: dict[str, Any], lot_id: int) -> HoldRecord:
    """Let people pull from a lot again."""
    return domain.release_lot(lot_id, **data, by=current_person().id)
