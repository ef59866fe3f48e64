"""/lots/.../recall, .../trace and /jobs/.../trace: where stock came from, where it went, and working through it."""

from __future__ import annotations

from typing import Any

from inventory.api.operation_docs import may_answer
from inventory.api.pagination import PageQuery
from inventory.api.quality.trace_schemas import (
    AlikeOut,
    HoldAlikeIn,
    HoldsMadeOut,
    JobTraceOut,
    LotTraceOut,
    RecallOut,
    ScrapRestIn,
    SeeToIn,
)
from inventory.api.resource import Resource, at
from inventory.domain.catalogue.lots import lot
from inventory.domain.quality import recall as stock
from inventory.domain.quality import trace as tracing
from inventory.domain.quality.trace_records import Alike, JobTrace, LotTrace, Recall
from inventory.web.access import caller

resource = Resource("provenance", "Where stock came from and where it went, both ways; recalls of lots on hold.")
RECALL = RecallOut()


@resource.get("/lots/<key:lot_id>/trace")
@resource.response(200, LotTraceOut())
def lot_trace(lot_id: int) -> LotTrace:
    """Read where a lot came from and where all of it went."""
    return tracing.trace_lot(lot_id)


@resource.get("/jobs/<key:job_id>/trace")
@resource.response(200, JobTraceOut())
def job_trace(job_id: int) -> JobTrace:
    """Read every lot and piece that a job used, borrowed or proved."""
    return tracing.trace_job(job_id)


@resource.get("/lots/<key:lot_id>/recall")
@may_answer(409)
@resource.response(200, RECALL)
def recall(lot_id: int) -> Recall:
    """Read the jobs that a lot reached, and who saw to each; refused (409) for a lot that was never on hold."""
    return stock.recall(lot_id)


@resource.post("/lots/<key:lot_id>/recall")
@resource.arguments(SeeToIn())
@resource.response(200, RECALL, entity=False)
def see_to(given: dict[str, Any], lot_id: int) -> Recall:
    """Tick a job off the list of a lot on hold, or put it back on."""
    return stock.see_to(lot_id, given.pop("job_id"), **given, by=caller().id)


@resource.post("/lots/<key:lot_id>/scrap-rest")
@resource.arguments(ScrapRestIn())
@resource.response(200, RECALL, entity=False)
def scrap_rest(given: dict[str, Any], lot_id: int) -> Recall:
    """Scrap all that is left of a lot on hold, which ends the hold; what comes back later stays on hold."""
    stock.scrap_rest(lot_id, **given, by=caller().id)
    return stock.recall(lot_id)


@resource.get("/lots/<key:lot_id>/alike")
@resource.arguments(PageQuery(), location="query")
@resource.listed(AlikeOut(), key=lambda one: one.lot.id, of=lot)
def alike(asked: dict[str, Any], lot_id: int) -> list[Alike]:
    """List other lots with the same maker's lot number or date code, newest first."""
    return stock.alike(lot_id)


@resource.post("/lots/<key:lot_id>/hold-alike")
@resource.arguments(HoldAlikeIn())
@resource.response(201, HoldsMadeOut(), entity=False)
def hold_alike(given: dict[str, Any], lot_id: int) -> Any:
    """Put lots that are alike on hold too, for the same reason."""
    made = stock.hold_alike(lot_id, given["lot_ids"], by=caller().id)
    return {"items": made}, at("lot", lot_id, "/alike")
