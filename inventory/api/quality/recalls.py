"""/lots/.../recall, .../trace and /jobs/.../trace: where stock came from, where it went, and working through it."""

from __future__ import annotations

from typing import Any

from inventory.api.operation_docs import extra_statuses
from inventory.api.pagination import PageQuery
from inventory.api.quality.trace_schemas import (
    EndRecallIn,
    HoldSimilarIn,
    HoldsOut,
    JobTraceOut,
    LotTraceOut,
    RecallJobDoneIn,
    RecallOut,
    SimilarLotOut,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.catalogue.lots import lot
from inventory.domain.quality import recall as domain
from inventory.domain.quality import trace as tracing
from inventory.domain.quality.trace_records import JobTrace, LotTrace, Recall, SimilarLot
from inventory.web.access import current_person

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
@extra_statuses(409)
@resource.response(200, RECALL)
def recall(lot_id: int) -> Recall:
    """Read the jobs that a lot reached, and who saw to each; refused (409) for a lot that was never on hold."""
    return domain.recall(lot_id)


@resource.post("/lots/<key:lot_id>/recall")
@resource.arguments(RecallJobDoneIn())
@resource.response(200, RECALL, with_etag=False)
def mark_job_done(data: dict[str, Any], lot_id: int) -> Recall:
    """Tick a job off the list of a lot on hold, or put it back on."""
    return domain.tick_job(lot_id, data.pop("job_id"), **data, by=current_person().id)


@resource.post("/lots/<key:lot_id>/scrap-rest")
@resource.arguments(EndRecallIn())
@resource.response(200, RECALL, with_etag=False)
def scrap_rest_of_lot(data: dict[str, Any], lot_id: int) -> Recall:
    """Scrap all that is left of a lot on hold, which ends the hold; what comes back later stays on hold."""
    domain.scrap_rest(lot_id, **data, by=current_person().id)
    return domain.recall(lot_id)


@resource.get("/lots/<key:lot_id>/alike")
@resource.arguments(PageQuery(), location="query")
@resource.listed(SimilarLotOut(), key="lot.id", parent=lot)
def similar_lots(params: dict[str, Any], lot_id: int) -> list[SimilarLot]:
    """List other lots with the same maker's lot number or date code, newest first."""
    return domain.similar_lots(lot_id)


@resource.post("/lots/<key:lot_id>/hold-alike")
@resource.arguments(HoldSimilarIn())
@resource.response(201, HoldsOut(), with_etag=False)
def hold_similar_lots(data: dict[str, Any], lot_id: int) -> Any:
    """Put lots that are alike on hold too, for the same reason."""
    lots = domain.hold_similar_lots(lot_id, data["lot_ids"], by=current_person().id)
    return {"items": lots}, location_header("lot", lot_id, "/alike")
