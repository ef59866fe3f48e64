"""/stock-value, /job-costs, /jobs/.../cost and /bought-in-vain."""

from __future__ import annotations

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from tests.api.problem_details import checked_problem
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient

API = "/api/v1"


def test_the_worth_of_the_stock_is_what_its_lots_cost(as_owner: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(10, cost_minor=1000)
    receive.receive(part.id, 2, bin_.id, origin="found")
    pull.pull(4, lot_id=1, job_id=a_job().id)
    body = as_owner.get(f"{API}/stock-value").get_json()
    assert (body["value_minor"], body["lots"], body["lots_without_cost"]) == (600, 2, 1)
    assert [(one["part"]["id"], one["quantity"]) for one in body["by_part"]] == [(part.id, 8)]
    months = as_owner.get(f"{API}/stock-value/months").get_json()["items"]
    assert [month["value_minor"] for month in months] == [600]
    assert as_owner.get(f"{API}/stock-value?on=2020-02-29").get_json()["value_minor"] == 0


def test_a_day_that_cannot_be_is_refused(as_owner: ApiClient) -> None:
    for day in ("2020-02-30", "1020-02-01", "9999-12-31", "tomorrow"):
        checked_problem(as_owner.get(f"{API}/stock-value?on={day}"), 422)
    checked_problem(as_owner.get(f"{API}/job-costs?since=2026-02-01&until=2026-01-01"), 422)
    checked_problem(as_owner.get(f"{API}/job-costs?until=0001-01-01"), 422)


def test_a_job_costs_its_shares_of_the_lots(as_owner: ApiClient, as_tech: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(3, cost_minor=100)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    jobs.close_job(job.id)
    assert as_tech.get(f"{API}/jobs/{job.id}/cost").get_json()["cost_minor"] == 67
    (listed,) = as_owner.get(f"{API}/job-costs").get_json()["items"]
    assert (listed["job"]["id"], listed["lots_minor"], listed["shared_minor"], listed["costs_unknown"]) == (
        job.id,
        67,
        0,
        0,
    )


def test_what_was_bought_for_a_job_that_did_not_use_it_is_listed(as_owner: ApiClient) -> None:
    part, job = a_part(), a_job()
    order = orders.draft_order(
        suppliers.add_supplier("Quayside Spares").id, [NewOrderLine(part.id, 2, cost_minor=900, job_id=job.id)]
    )
    orders.place_order(order.id)
    receive.receive(part.id, 2, a_bin(part).id, order_line_id=order.lines[0].id)
    jobs.close_job(job.id)
    body = as_owner.get(f"{API}/bought-in-vain").get_json()
    assert (body["cost_minor"], body["idle_minor"], body["items"][0]["job"]["id"]) == (900, 900, job.id)
    assert [one["word"] for one in body["items"][0]["fates"]] == ["still lying there"]


def test_only_the_owner_sees_what_the_stock_is_worth(as_tech: ApiClient) -> None:
    for address in ("stock-value", "stock-value/months", "job-costs", "bought-in-vain"):
        checked_problem(as_tech.get(f"{API}/{address}"), 403)
