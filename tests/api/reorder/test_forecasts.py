"""/promises and /forecasts: what was advised, and what came of it."""

from __future__ import annotations

from datetime import timedelta

from inventory.domain.buying import suppliers
from inventory.domain.common import clock, shop
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from tests.api.problem_details import checked_problem
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import ApiClient


def advised_long_ago() -> PartRecord:
    """A part that was advised on 60 days ago, and of which three were taken a day later."""
    shop.edit_shop(lead_variation=0.01)
    with clock.freeze_at(clock.now() - timedelta(days=60)):
        part = a_part("Lamp holder")
        receive.receive(part.id, 50, a_bin(part).id)
        suppliers.add_offer(part.id, suppliers.add_supplier("Northgate Components", lead_days=10).id, 40)
        reorder_list.advice_for_parts([part.id])
    with clock.freeze_at(clock.now() - timedelta(days=59)):
        pull.pull(3, part_id=part.id, job_id=a_job().id)
    return part


def test_a_new_bench_has_too_few_to_say(as_owner: ApiClient) -> None:
    body = as_owner.get("/api/v1/promises").json
    assert (body["since"], body["remembered"], body["levels"], body["missed"]) == (None, 0, [], [])
    assert {one["tally"]["verdict"] for one in body["risks"]} == {"too few yet to say"}


def test_advice_is_remembered_scored_and_counted(as_owner: ApiClient) -> None:
    part = advised_long_ago()
    (waiting,) = as_owner.get("/api/v1/forecasts?scored=false").json["items"]
    assert (waiting["part"]["id"], waiting["wanted"], waiting["kept"], waiting["counts"]) == (
        part.id,
        None,
        None,
        True,
    )
    body = as_owner.get("/api/v1/promises").json
    assert (body["remembered"], body["judged"], body["waiting"]) == (1, 1, 0)
    (levels,) = body["levels"]
    assert (levels["promise"], levels["target"], levels["tally"]["statements"]) == ("no_stock_out", 0.95, 1)
    (scored,) = as_owner.get(f"/api/v1/forecasts?part_id={part.id}&scored=true").json["items"]
    assert (scored["wanted"], scored["kept"]) == (3, True)
    assert scored["level_lasted"] == (scored["level"] >= 3)


def test_the_counts_are_the_owners_and_a_part_must_exist(as_tech: ApiClient) -> None:
    checked_problem(as_tech.get("/api/v1/promises"), 403, "role")
    checked_problem(as_tech.get("/api/v1/forecasts?part_id=999"), 404, "not_found")
