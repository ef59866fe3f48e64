"""What goes back to its supplier over REST."""

from __future__ import annotations

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.records import ActionResult
from inventory.domain.movements import receive
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_part
from tests.http_clients import ApiClient

SENT = f"{API}/sent-back"


def _delivered(quantity: int = 10) -> ActionResult:
    part, seller = a_part(), suppliers.add_supplier("Quayside Spares")
    return receive.receive(part.id, quantity, a_bin(part).id, supplier_id=seller.id, cost_minor=1000)


def test_it_is_sent_once_read_again_corrected_and_settled(as_tech: ApiClient) -> None:
    came = _delivered()
    data = {"quantity": 3, "bin_id": came.bin_id, "lot_id": came.lot_ids[0], "cause": "dead on arrival"}
    key = {"Idempotency-Key": "the rattling three"}
    first, again = (as_tech.post(SENT, json=data, headers=key) for _ in range(2))
    assert (first.status_code, first.get_json()) == (201, again.get_json())
    assert stock_of(came.part_id).on_shelf == 7
    address = first.headers["Location"]
    assert as_tech.get(address).get_json() == first.get_json()
    edited = as_tech.patch(address, json={"reference": "RMA 118"}, headers={"If-Match": "*"}).get_json()
    assert (edited["reference"], edited["expected_minor"], edited["waits"]) == ("RMA 118", 300, True)
    settled = as_tech.post(f"{address}/settle", json={"got_minor": 250, "outcome": "credit note 88"}).get_json()
    assert (settled["got_minor"], settled["waits"], settled["settled_by"]) == (250, False, as_tech.person.shown_as)
    assert as_tech.get(f"{SENT}?waits=true").get_json()["items"] == []
    assert [one["id"] for one in as_tech.get(f"{SENT}?lot_id={came.lot_ids[0]}").get_json()["items"]] == [
        settled["id"]
    ]


def test_the_rest_of_a_lot_on_hold_goes_back_and_the_owner_reads_what_is_expected(
    as_tech: ApiClient, as_owner: ApiClient
) -> None:
    lot = _delivered().lot_ids[0]
    rest = {"cause": "lot rejected", "expected_minor": 900}
    checked_problem(as_tech.post(f"{API}/lots/{lot}/send-rest-back", json=rest), 409, "not_on_hold")
    lots.hold_lot(lot, "cracked")
    assert as_tech.post(f"{API}/lots/{lot}/send-rest-back", json=rest).get_json()["quantity"] == 10
    money = as_owner.get(f"{SENT}/money").get_json()
    assert (money["waiting"], money["expected_minor"], money["got_minor"]) == (1, 900, 0)
    checked_problem(as_tech.get(f"{SENT}/money"), 403)


def test_it_refuses_what_cannot_be(as_tech: ApiClient, as_viewer: ApiClient) -> None:
    came = _delivered(1)
    data = {"bin_id": came.bin_id, "lot_id": came.lot_ids[0], "cause": "not needed"}
    checked_problem(as_viewer.post(SENT, json=data), 403)
    checked_problem(as_tech.post(SENT, json={**data, "cause": "bored"}), 422)
    checked_problem(as_tech.post(SENT, json={**data, "quantity": 2}), 409, "not_enough")
    body = as_tech.post(SENT, json=data).get_json()
    checked_problem(as_tech.post(f"{SENT}/{body['id']}/settle", json={"got_minor": -1}), 422)
    as_tech.post(f"{API}/undos", json={"entry": body["entry"]})
    assert as_tech.get(f"{SENT}/{body['id']}").get_json()["undone"]
    checked_problem(as_tech.post(f"{SENT}/{body['id']}/settle", json={"got_minor": 0}), 409, "undone")
