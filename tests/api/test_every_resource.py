"""Every resource behaves alike: what is missing is said so, an edit holds to what was read, a list comes in pages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from inventory.domain.catalogue import parts
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull
from inventory.domain.proof import procedures
from tests.api.problem_details import checked_problem
from tests.api.routes import API, Route, api_routes
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, prove_fan

ROUTES = api_routes()
WITH_ID = [route for route in ROUTES if route.rule.startswith(API) and "<" in route.rule]
NO_SUCH = 99_999
BODIES: dict[str, dict[str, Any]] = {
    "/hold": {"reason": "cracked"}, "/recall": {"job_id": 1}, "/scrap-rest": {"outcome": "melted"},
    "/strike": {"reason": "slip"}, "/pull": {"reason": "bench"}, "/cancel": {"reason": "slip"},
    "/reopen": {"reason": "slip"}, "/send-rest-back": {"cause": "lot rejected"}, "/settle": {"got_minor": 0},
}  # fmt: skip


@pytest.mark.parametrize("route", [one for one in WITH_ID if one.method == "GET"], ids=str)
def test_an_id_there_is_not_is_a_404_in_a_sentence(route: Route, as_owner: ApiClient) -> None:
    answer = as_owner.get(route.address.replace("/1", f"/{NO_SUCH}"))
    assert str(NO_SUCH) in checked_problem(answer, 404, "not_found")["detail"]


def test_writing_to_an_id_there_is_not_changes_nothing(as_owner: ApiClient) -> None:
    for one in WITH_ID:
        if one.method != "GET":
            ending = "/" + one.rule.rsplit("/", 1)[-1]
            data = BODIES.get(ending, {}) if "loans" in one.rule or ending not in ("/cancel", "/reopen") else {}
            address = one.address.replace("/1", f"/{NO_SUCH}")
            answer = as_owner.open(address, method=one.method, json=data, headers={"If-Match": "*"})
            assert answer.status_code in (404, 422) or answer.status_code == 204 == _idempotent(one), (
                one,
                answer.text,
            )
            if answer.status_code != 204:
                checked_problem(answer, answer.status_code)


def _idempotent(route: Route) -> int:
    """Taking away what is not there may be answered as done."""
    return 204 if route.method == "DELETE" else 0


def test_a_method_there_is_not_is_a_405(as_owner: ApiClient) -> None:
    methods: dict[str, set[str]] = {}
    for route in ROUTES:
        methods.setdefault(route.rule, set()).add(route.method)
    by_address = {route.rule: route.address for route in ROUTES}
    for rule, known in methods.items():
        wrong = next(one for one in ("PUT", "DELETE", "PATCH", "POST") if one not in known)
        answer = as_owner.open(by_address[rule], method=wrong, json={})
        if answer.status_code != 404:  # a fixed word in place of an id, such as /loans/overdue
            checked_problem(answer, 405, "http_405")
            assert known <= set(answer.headers["Allow"].split(", "))


def test_an_address_refuses_a_query_or_a_field_it_does_not_know(as_owner: ApiClient) -> None:
    for route in ROUTES:
        if route.method == "GET":
            checked_problem(as_owner.get(route.address + "?surprise=1"), 422)


# ---- edits -----------------------------------------------------------------------------------------------


def _a_lot() -> int:
    return a_stocked_part()[2].lot_ids[0]


EDITED: dict[str, tuple[Callable[[], int], dict[str, Any]]] = {
    "parts": (lambda: a_part().id, {"note": "new"}),
    "bins": (lambda: a_bin().id, {"note": "new"}),
    "lots": (_a_lot, {"note": "new"}),
    "jobs": (lambda: a_job().id, {"note": "new"}),
    "pieces": (lambda: a_piece("C-07").id, {"note": "new"}),
    "people": (lambda: a_person().id, {"shown_as": "new"}),
}


@pytest.fixture(params=EDITED)
def edited(request: pytest.FixtureRequest, as_owner: ApiClient) -> tuple[str, dict[str, Any]]:
    """The address of a thing that may be edited, and an edit of it."""
    make, change = EDITED[request.param]
    return f"{API}/{request.param}/{make()}", change


def test_an_edit_of_what_was_read_is_kept(edited: tuple[str, dict[str, Any]], as_owner: ApiClient) -> None:
    address, change = edited
    read = as_owner.get(address)
    answer = as_owner.patch(address, json=change, headers={"If-Match": read.headers["ETag"]})
    assert answer.status_code == 200, answer.text
    after = as_owner.get(address)
    assert after.get_json() == {**read.get_json(), **change, "version": read.get_json()["version"] + 1}
    assert answer.headers["ETag"] == after.headers["ETag"] != read.headers["ETag"]


def test_an_edit_of_what_changed_meanwhile_is_refused(
    edited: tuple[str, dict[str, Any]], as_owner: ApiClient
) -> None:
    address, change = edited
    old = {"If-Match": as_owner.get(address).headers["ETag"]}
    assert as_owner.patch(address, json=change, headers=old).status_code == 200
    checked_problem(as_owner.patch(address, json=change, headers=old), 412, "stale")
    checked_problem(as_owner.patch(address, json=change), 428)
    assert as_owner.patch(address, json=change, headers={"If-Match": "*"}).status_code == 200


def test_what_is_the_same_is_not_sent_again(edited: tuple[str, dict[str, Any]], as_owner: ApiClient) -> None:
    address, change = edited
    known_etag = {"If-None-Match": as_owner.get(address).headers["ETag"]}
    same = as_owner.get(address, headers=known_etag)
    assert (same.status_code, same.data) == (304, b"")
    as_owner.patch(address, json=change, headers={"If-Match": "*"})
    assert as_owner.get(address, headers=known_etag).status_code == 200


@pytest.mark.parametrize("sent", [{}, {"note": 7}, {"surprise": 1}, {"shown_as": None, "note": None}])
def test_an_edit_that_cannot_be_right_changes_nothing(
    sent: dict[str, Any], edited: tuple[str, dict[str, Any]], as_owner: ApiClient
) -> None:
    before = as_owner.get(edited[0]).get_json()
    checked_problem(as_owner.patch(edited[0], json=sent, headers={"If-Match": "*"}), 422)
    assert as_owner.get(edited[0]).get_json() == before


# ---- once ------------------------------------------------------------------------------------------------

MADE: dict[str, dict[str, Any]] = {
    "parts": {"number": "H-1", "name": "header", "kind": "connector"},
    "bins": {"name": "A-77"},
    "jobs": {"unit_model": "Corvid 7", "symptom": "no pan"},
    "unit-models": {"name": "Heron wash"},
    "people": {"name": "ines", "role": "tech", "passphrase": "seven dry joints"},
    "procedures": {"name": "Look at it", "checks": [{"name": "No crack"}]},
}


@pytest.mark.parametrize("plural", MADE)
def test_sent_twice_under_one_key_it_is_made_once(plural: str, as_owner: ApiClient) -> None:
    key = {"Idempotency-Key": "one word"}
    first = as_owner.post(f"{API}/{plural}", json=MADE[plural], headers=key)
    assert first.status_code == 201, first.text
    again = as_owner.post(f"{API}/{plural}", json=MADE[plural], headers=key)
    assert (again.status_code, again.get_json()) == (201, first.get_json())
    assert again.headers["Benchproof-Repeated"] == "true"
    assert again.headers["Location"] == first.headers["Location"]
    assert as_owner.get(first.headers["Location"]).get_json() == first.get_json()
    other = {**MADE[plural], "name": "another"}
    checked_problem(as_owner.post(f"{API}/{plural}", json=other, headers=key), 422)


@pytest.mark.parametrize("key", ["", " ", "x" * 201])
def test_a_key_that_cannot_be_one_is_refused(key: str, as_owner: ApiClient) -> None:
    checked_problem(as_owner.post(f"{API}/bins", json=MADE["bins"], headers={"Idempotency-Key": key}), 422)
    assert as_owner.get(f"{API}/bins").get_json()["items"] == []


def test_a_refusal_is_replayed_too(as_tech: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(1)
    data, key = {"bin_id": bin_.id, "job_id": a_job().id, "quantity": 5}, {"Idempotency-Key": "five"}
    first = as_tech.post(f"{API}/pulls", json=data, headers=key)
    again = as_tech.post(f"{API}/pulls", json=data, headers=key)
    assert checked_problem(first, 409, "not_enough") == checked_problem(again, 409, "not_enough")
    assert again.headers["Benchproof-Repeated"] == "true"


# ---- lists -----------------------------------------------------------------------------------------------

SOME = 7


def _pulled() -> str:
    _, bin_, _ = a_stocked_part(50)
    for _ in range(SOME):
        pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    return ""


def _lent() -> str:
    piece = a_piece("C-07")
    for _ in range(SOME):
        prove_fan(piece.id)
        out = swap_tests.take_piece(piece.id, a_job().id)
        swap_tests.bring_back_piece(out.loan.id, "cannot tell")
    return f"?piece_id={piece.id}"


def _timeline_of_a_lent() -> str:
    return f"/{_lent().split('=')[1]}/timeline"


def _in_job(make: Callable[[int], Any], what: str) -> str:
    job = a_job().id
    for _ in range(SOME):
        make(job)
    return f"/{job}/{what}"


def _lessons() -> str:
    part = a_part().id
    for number in range(SOME):
        parts.add_lesson(text=f"lesson {number}", part_id=part)
    return f"/{part}/lessons"


def _times(make: Callable[[], Any]) -> str:
    for _ in range(SOME):
        make()
    return ""


LISTS: dict[str, tuple[str, Callable[[], str]]] = {
    "parts": ("parts", lambda: _times(a_part)),
    "bins": ("bins", lambda: _times(a_bin)),
    "lots": ("lots", lambda: _times(a_stocked_part)),
    "holdings": ("holdings", lambda: _times(a_stocked_part)),
    "jobs": ("jobs", lambda: _times(a_job)),
    "people": ("people", lambda: _times(a_person)),
    "movements": ("movements", _pulled),
    "pieces": ("pieces", lambda: _times(a_piece)),
    "loans": ("loans", _lent),
    "proofs": ("proofs", _lent),
    "timeline": ("pieces", _timeline_of_a_lent),
    "needs": ("jobs", lambda: _in_job(lambda job: jobs.set_need(job, a_part().id, 1), "needs")),
    "suspects": ("jobs", lambda: _in_job(lambda job: jobs.add_suspect(job, f"no. {a_bin().id}"), "suspects")),
    "lessons": ("parts", _lessons),
    "procedures": ("procedures", lambda: ""),  # the built-in ones
    "kinds": ("kinds", lambda: ""),
    "hazards": ("hazards", lambda: ""),
}


@pytest.mark.parametrize("name", LISTS)
def test_a_list_is_read_to_its_end_in_pages(name: str, as_viewer: ApiClient) -> None:
    path, make = LISTS[name]
    address = f"{API}/{path}{make()}"
    join = "&" if "?" in address else "?"
    whole = as_viewer.get(f"{address}{join}limit=200").get_json()
    assert (whole["next"], len(whole["items"]) > 3) == (None, True)
    items, asked = [], f"{address}{join}limit=3"
    while asked:
        answer = as_viewer.get(asked)
        page = answer.get_json()
        assert len(page["items"]) == 3 or page["next"] is None
        items += page["items"]
        asked = answer.headers.get("Link", "").partition("<")[2].partition(">")[0]
        assert bool(asked) == (page["next"] is not None)
    assert [_no_clock(one) for one in items] == [_no_clock(one) for one in whole["items"]]
    checked_problem(as_viewer.get(f"{address}{join}after=nonsense!"), 422, "bad_mark")


def _no_clock(item: dict[str, Any]) -> dict[str, Any]:
    """Leave out what is worked out for the very moment of asking."""
    return {key: value for key, value in item.items() if key != "standing"}


def test_a_procedure_is_followed_by_an_edition_and_never_changed(as_owner: ApiClient) -> None:
    response = as_owner.post(f"{API}/procedures", json=MADE["procedures"])
    address = response.headers["Location"]
    next_one = as_owner.post(f"{address}/editions", json={"steps": "Look twice."}, headers={"If-Match": "*"})
    assert next_one.status_code == 201, next_one.text
    assert as_owner.get(address).get_json() == {**response.get_json(), "retired": True}
    assert (next_one.get_json()["edition"], next_one.get_json()["steps"]) == (2, "Look twice.")
    checked_problem(as_owner.post(f"{address}/editions", json={"steps": "Again."}), 412, "stale")
    assert [edition.edition for edition in procedures.editions(response.get_json()["id"])] == [2, 1]
