"""Incoming checks over REST."""

from __future__ import annotations

from inventory.domain.buying import suppliers as selling
from inventory.domain.movements import receive
from inventory.domain.quality import incoming_testing
from tests.api.problem_details import checked_problem
from tests.factories import a_bin, a_part
from tests.http_clients import ApiClient
from tests.proof_factories import FAN_ATTRIBUTES, built_in_procedure_id, fan_readings

CHECKS = "/api/v1/incoming-checks"


def _delivery(client: ApiClient, quantity: int = 20, **part: object) -> str:
    """Receive a delivery over REST and return the address of its check."""
    stocked = a_part(**part)
    incoming_plan = client.put(f"/api/v1/parts/{stocked.id}/incoming-plan", json={"test": 5})
    assert incoming_plan.status_code == 200, incoming_plan.text
    data = {"part_id": stocked.id, "quantity": quantity, "bin_id": a_bin(stocked).id}
    received = client.post("/api/v1/receipts", json=data).get_json()
    assert received["made_lot"]["on_hold"]
    assert received["warnings"] == [f"To be tested: 5 of {quantity}. Nobody can take from the lot until then."]
    return f"{CHECKS}/{incoming_testing.waiting_checks()[-1].id}"


def test_a_delivery_is_tested_and_accepted(as_owner: ApiClient) -> None:
    check = _delivery(as_owner)
    for _ in range(5):
        assert as_owner.post(f"{check}/results", json={"good": True}).status_code == 201
    read = as_owner.get(check).get_json()
    assert (read["verdict"], read["tested"], read["rest"]["pieces"]) == ("accept", 5, 15)
    closed = as_owner.post(f"{check}/close", json={"outcome": "accepted"}).get_json()
    assert (closed["outcome"], closed["lot"]["on_hold"]) == ("accepted", False)
    assert [one["id"] for one in as_owner.get(f"{CHECKS}?open=false").get_json()["items"]] == [read["id"]]
    assert as_owner.get(f"{CHECKS}?open=true").get_json()["items"] == []


def test_a_result_sent_twice_under_one_key_is_noted_once(as_owner: ApiClient) -> None:
    check = _delivery(as_owner)
    key = {"Idempotency-Key": "tap"}
    for _ in range(2):
        answer = as_owner.post(f"{check}/results", json={"good": False}, headers=key)
    assert answer.get_json()["tested"] == 1
    assert as_owner.get(check).get_json()["left"] == 19


def test_readings_are_judged_and_a_bad_one_can_be_corrected(as_owner: ApiClient) -> None:
    check = _delivery(as_owner, name="24 V fan", kind="fan", attributes=FAN_ATTRIBUTES)
    data = {"procedure_id": built_in_procedure_id("Fan bench run"), "readings": fan_readings(Current="0.3")}
    first = as_owner.post(f"{check}/results", json=data).get_json()["results"][0]
    assert (first["good"], first["fate"], first["readings"][0]["passed"]) == (False, "scrapped", False)
    wrong = {**data, "readings": [{"name": "Current", "value": "140", "unit": "mA"}]}
    checked_problem(as_owner.post(f"{check}/results", json=wrong), 422, "bad_reading")
    right = {**data, "readings": fan_readings(), "corrects": first["id"]}
    after = as_owner.post(f"{check}/results", json=right).get_json()
    assert (after["tested"], after["bad"], after["left"]) == (1, 0, 19)
    response = as_owner.post(f"{check}/results/{after['results'][-1]['id']}/take-back", json={"reason": "slip"})
    assert response.get_json()["tested"] == 0


def test_the_owner_may_decide_otherwise_and_a_tech_may_not(as_owner: ApiClient, as_tech: ApiClient) -> None:
    check = _delivery(as_owner)
    as_tech.post(f"{check}/results", json={"good": False})
    checked_problem(as_tech.post(f"{check}/close", json={"outcome": "accepted"}), 409, "other_verdict")
    data = {"outcome": "accepted", "reason": "only dull"}
    checked_problem(as_tech.post(f"{check}/override", json=data), 403)
    checked_problem(as_owner.post(f"{check}/override", json={**data, "reason": ""}), 422)
    assert as_owner.post(f"{check}/override", json=data).get_json()["overridden"]
    checked_problem(as_tech.post(f"{check}/results", json={"good": True}), 409, "check_closed")


def test_a_rejected_lot_is_sorted(as_owner: ApiClient) -> None:
    check = _delivery(as_owner)
    as_owner.post(f"{check}/results", json={"good": False})
    as_owner.post(f"{check}/close", json={"outcome": "rejected"})
    response = as_owner.post(f"{check}/sort")
    assert (response.status_code, response.get_json()["tests"], response.get_json()["every"]) == (201, 19, True)
    assert as_owner.get(response.headers["Location"]).get_json()["holds"]
    off = as_owner.post(f"{response.headers['Location']}/call-off", json={"reason": "sent back"})
    assert off.get_json()["outcome"] == "called off"


def test_plans_are_listed_changed_and_taken_away(as_owner: ApiClient, as_viewer: ApiClient) -> None:
    supplier, part = selling.add_supplier("Lowland Market").id, a_part()
    for address, sent in (
        (f"/api/v1/suppliers/{supplier}/incoming-plan", {"sure": 0.9, "most_bad": 0.05}),
        (f"/api/v1/parts/{part.id}/incoming-plan", {"test": 5, "accept": 1, "hold": False}),
    ):
        checked_problem(as_viewer.put(address, json=sent), 403)
        checked_problem(as_owner.get(address), 404, "not_found")
        assert as_owner.put(address, json=sent).get_json() == as_viewer.get(address).get_json()
    listed = as_viewer.get("/api/v1/incoming-plans").get_json()["items"]
    assert [(one["of"], one["test"]) for one in listed] == [(part.name, 5), ("Lowland Market", None)]
    checked_problem(
        as_owner.put(f"/api/v1/parts/{part.id}/incoming-plan", json={"test": 5, "accept": 5}), 422, "bad_plan"
    )
    for whose in (f"suppliers/{supplier}", f"parts/{part.id}"):
        assert as_owner.delete(f"/api/v1/{whose}/incoming-plan").status_code == 204
    assert as_viewer.get("/api/v1/incoming-plans").get_json()["items"] == []


def test_how_many_to_test_of_a_lot_is_worked_out_without_keeping_anything(as_viewer: ApiClient) -> None:
    body = as_viewer.get("/api/v1/incoming-sample?pieces=20&sure_percent=90&bad_percent=5").get_json()
    assert (body["tests"], body["accept"]) == (14, 0)
    assert body["passes"][0] == {"share_bad": 0.05, "chance": 0.3}
    checked_problem(as_viewer.get("/api/v1/incoming-sample?pieces=20"), 422, "bad_plan")
    huge = as_viewer.get("/api/v1/incoming-sample?pieces=1000000000&test=52&accept=3").get_json()
    assert huge["tests"] == 52


def test_a_check_is_begun_by_hand(as_tech: ApiClient) -> None:
    part = a_part()
    lot = receive.receive(part.id, 8, a_bin(part).id).lot_ids[0]
    response = as_tech.post(f"/api/v1/lots/{lot}/incoming-checks", json={"test": 3, "hold": False})
    assert (response.status_code, response.get_json()["tests"], response.get_json()["holds"]) == (201, 3, False)
    again = as_tech.post(f"/api/v1/lots/{lot}/incoming-checks", json={"test": 3})
    checked_problem(again, 409, "check_open")


def test_a_suppliers_dead_ones_are_told(as_viewer: ApiClient) -> None:
    supplier = selling.add_supplier("Lowland Market").id
    body = as_viewer.get(f"/api/v1/suppliers/{supplier}/dead-on-arrival").get_json()
    assert (body["seen"], body["enough"], body["quarters"]) == (0, False, [])


def test_what_waits_is_on_today_and_not_among_the_lots_to_decide_on(as_owner: ApiClient) -> None:
    check = _delivery(as_owner)
    today = as_owner.get("/api/v1/today").get_json()
    assert [f"{CHECKS}/{one['id']}" for one in today["checks"]] == [check]
    assert today["on_hold"] == []
    as_owner.post(f"{check}/results", json={"good": False})
    as_owner.post(f"{check}/close", json={"outcome": "rejected"})
    today = as_owner.get("/api/v1/today").get_json()
    assert (len(today["checks"]), len(today["on_hold"])) == (0, 1)
