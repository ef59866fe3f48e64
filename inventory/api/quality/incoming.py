"""/incoming-plans, /incoming-checks: what of a delivery is tested, what the tests said, who sends dead ones."""

from __future__ import annotations

from typing import Any

from inventory.api.pagination import PageQuery
from inventory.api.quality.incoming_schemas import (
    DeadOnArrivalOut,
    IncomingCheckIn,
    IncomingCheckOut,
    IncomingChecksQuery,
    IncomingCloseIn,
    IncomingOverrideIn,
    IncomingPlanIn,
    IncomingPlanOut,
    IncomingResultIn,
    IncomingSampleOut,
    IncomingSampleQuery,
    RetractResultIn,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.buying import incoming_plans as planning
from inventory.domain.buying.incoming_records import (
    DeadOnArrivalRate,
    IncomingCheckRecord,
    IncomingPlanRecord,
    PlanExample,
)
from inventory.domain.common.records import ResultPage
from inventory.domain.quality import dead_on_arrival, incoming_testing
from inventory.web.access import current_person, require_role

resource = Resource("incoming checks", "What of a delivery is tested before it is used, and what the tests say.")
PLAN = IncomingPlanOut()
CHECK = IncomingCheckOut()


# ---- plans -----------------------------------------------------------------------------------------------


@resource.get("/incoming-plans")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PLAN, key=lambda plan: f"{plan.part_id}-{plan.supplier_id}")
def incoming_plans(params: dict[str, Any]) -> list[IncomingPlanRecord]:
    """List the plans by which deliveries are checked, those of parts first."""
    return planning.plans()


@resource.get("/incoming-sample")
@resource.arguments(IncomingSampleQuery(), location="query")
@resource.response(200, IncomingSampleOut())
def incoming_sample(params: dict[str, Any]) -> PlanExample:
    """Work out how many of one lot to test: test and accept, or sure_percent and bad_percent."""
    return planning.plan_example(**params)


@resource.get("/parts/<key:part_id>/incoming-plan")
@resource.response(200, PLAN)
def part_plan(part_id: int) -> IncomingPlanRecord:
    """Read how deliveries of a part are checked; 404 when it has no plan of its own."""
    return planning.plan(part_id=part_id)


@resource.put("/parts/<key:part_id>/incoming-plan")
@require_role("owner")
@resource.arguments(IncomingPlanIn())
@resource.response(200, PLAN, with_etag=False)
def set_part_plan(data: dict[str, Any], part_id: int) -> IncomingPlanRecord:
    """Say how deliveries of a part are checked; it goes before the supplier's plan."""
    return planning.set_plan(part_id=part_id, **data)


@resource.delete("/parts/<key:part_id>/incoming-plan")
@require_role("owner")
@resource.response(204)
def drop_part_plan(part_id: int) -> None:
    """Take a part's plan away; checks under way go on."""
    planning.drop_plan(part_id=part_id)


@resource.get("/suppliers/<key:supplier_id>/incoming-plan")
@resource.response(200, PLAN)
def supplier_plan(supplier_id: int) -> IncomingPlanRecord:
    """Read how deliveries of a supplier are checked; 404 when it has no plan of its own."""
    return planning.plan(supplier_id=supplier_id)


@resource.put("/suppliers/<key:supplier_id>/incoming-plan")
@require_role("owner")
@resource.arguments(IncomingPlanIn())
@resource.response(200, PLAN, with_etag=False)
def set_supplier_plan(data: dict[str, Any], supplier_id: int) -> IncomingPlanRecord:
    """Say how deliveries of a supplier are checked, unless a part has a plan of its own."""
    return planning.set_plan(supplier_id=supplier_id, **data)


@resource.delete("/suppliers/<key:supplier_id>/incoming-plan")
@require_role("owner")
@resource.response(204)
def drop_supplier_plan(supplier_id: int) -> None:
    """Take a supplier's plan away; checks under way go on."""
    planning.drop_plan(supplier_id=supplier_id)


# ---- checks ----------------------------------------------------------------------------------------------


@resource.get("/incoming-checks")
@resource.arguments(IncomingChecksQuery(), location="query")
@resource.listed(CHECK)
def incoming_checks(params: dict[str, Any]) -> ResultPage:
    """List checks, newest first."""
    return incoming_testing.checks(open_=params.pop("open", None), **params)


@resource.get("/incoming-checks/<key:check_id>")
@resource.response(200, CHECK)
def incoming_check(check_id: int) -> IncomingCheckRecord:
    """Read a check: what it asks, how far it is, what it says of the rest of the lot."""
    return incoming_testing.check(check_id)


@resource.post("/lots/<key:lot_id>/incoming-checks")
@resource.arguments(IncomingCheckIn())
@resource.response(201, CHECK, with_etag=False)
def start_check(data: dict[str, Any], lot_id: int) -> Any:
    """Begin a check of what is here of a lot, plan or no plan."""
    check = incoming_testing.begin_check(lot_id, **data, by=current_person().id)
    return check, location_header("incoming check", check.id)


@resource.post("/incoming-checks/<key:check_id>/results")
@resource.arguments(IncomingResultIn())
@resource.response(201, CHECK, with_etag=False)
def record_result(data: dict[str, Any], check_id: int) -> Any:
    """Note one that was tested: its readings are judged, a bad one is scrapped, a piece keeps its proof.

    Refused (409) when the check is closed (check_closed), the piece was tested (tested_already) or none is left to
    test (none_to_test); a bad one that would go back among the others is refused too (422, bad_goes_back).
    """
    check = incoming_testing.record_result(check_id, **data, by=current_person().id)
    return check, location_header("incoming check", check_id)


@resource.post("/incoming-checks/<key:check_id>/results/<key:result_id>/take-back")
@resource.arguments(RetractResultIn())
@resource.response(200, CHECK, with_etag=False)
def retract_result(data: dict[str, Any], check_id: int, result_id: int) -> IncomingCheckRecord:
    """Let a result count no longer; what it scrapped or labelled is undone. Only while the check is under way."""
    return incoming_testing.take_back_result(check_id, result_id, **data, by=current_person().id)


@resource.post("/incoming-checks/<key:check_id>/close")
@resource.arguments(IncomingCloseIn())
@resource.response(200, CHECK, with_etag=False)
def close_check(data: dict[str, Any], check_id: int) -> IncomingCheckRecord:
    """Close a check as its tests say: accepted ends its hold, rejected keeps the lot on hold."""
    return incoming_testing.close_as_tested(check_id, **data, by=current_person().id)


@resource.post("/incoming-checks/<key:check_id>/override")
@require_role("owner")
@resource.arguments(IncomingOverrideIn())
@resource.response(200, CHECK, with_etag=False)
def override_check(data: dict[str, Any], check_id: int) -> IncomingCheckRecord:
    """Close a check as the owner decides, whatever its tests say; the reason is kept."""
    return incoming_testing.override_verdict(check_id, **data, by=current_person().id)


@resource.post("/incoming-checks/<key:check_id>/call-off")
@require_role("owner")
@resource.arguments(RetractResultIn())
@resource.response(200, CHECK, with_etag=False)
def call_off_check(data: dict[str, Any], check_id: int) -> IncomingCheckRecord:
    """Drop a check without an answer, which ends its hold; the reason is kept."""
    return incoming_testing.call_off_check(check_id, **data, by=current_person().id)


@resource.post("/incoming-checks/<key:check_id>/sort")
@resource.response(201, CHECK, with_etag=False)
def sort_rest(check_id: int) -> Any:
    """Begin a check of every one that is left of a rejected lot: the bad ones go, the others pass."""
    check = incoming_testing.sort_rejected_lot(check_id, by=current_person().id)
    return check, location_header("incoming check", check.id)


@resource.get("/suppliers/<key:supplier_id>/dead-on-arrival")
@resource.response(200, DeadOnArrivalOut())
def supplier_dead_on_arrival(supplier_id: int) -> DeadOnArrivalRate:
    """Read how many of a supplier's pieces were dead when they came, with the uncertainty, by quarter."""
    return dead_on_arrival.supplier_dead_on_arrival(supplier_id)
