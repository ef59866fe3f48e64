"""/stock-lists: a program looks at a list, takes it in once, and takes the stock away as one."""

from __future__ import annotations

from typing import Any

from flask import Flask

from inventory.domain.catalogue.stock_totals import stock_of
from inventory.store.tables import Part
from tests.api.problem_details import checked_problem
from tests.factories import a_stocked_part
from tests.http_clients import ApiClient

ADDRESS = "/api/v1/stock-lists"
LIST = "number,name,kind,bin,quantity\nX-1,4-way header,connector,A-1,12\nX-2,fan,fan,A-2,3\n"


def sent(text: str = LIST, **more: Any) -> dict[str, Any]:
    return {"text": text, **more}


def test_it_says_what_a_list_would_do_and_writes_nothing(as_owner: ApiClient) -> None:
    answer = as_owner.post(ADDRESS, json=sent(look=True))
    assert answer.status_code == 200, answer.text
    body = answer.get_json()
    assert (body["taken"], body["before"], body["not_known"]) == (None, None, [])
    assert [(one["row"], one["part"], one["bin"], one["quantity"]) for one in body["rows"]] == [
        (2, "new", "new", 12), (3, "new", "new", 3),
    ]  # fmt: skip
    assert body["totals"]["new_parts"] == 2
    assert Part.select().count() == 0


def test_it_takes_a_list_in_once_under_a_key(as_owner: ApiClient) -> None:
    key = {"Idempotency-Key": "monday"}
    first, again = (as_owner.post(ADDRESS, json=sent(), headers=key) for _ in range(2))
    assert (first.status_code, first.get_json()) == (again.status_code, again.get_json()) == (200, first.get_json())
    assert again.headers["Benchproof-Repeated"] == "true"
    import_ = first.get_json()["taken"]
    assert (import_["totals"]["lots"], len(import_["bin_ids"]), import_["person"]) == (2, 2, as_owner.person.shown_as)
    assert stock_of(Part.get(Part.number == "X-1").id).on_shelf == 12
    assert as_owner.get(f"{ADDRESS}/{import_['id']}").get_json() == import_
    assert as_owner.get(ADDRESS).get_json()["items"] == [import_]


def test_what_is_wrong_is_told_row_by_row_and_nothing_is_taken_in(as_owner: ApiClient) -> None:
    bad = LIST.replace(",12", ",twelve").replace("fan,fan", "fan,fun")
    looked = as_owner.post(ADDRESS, json=sent(bad, look=True)).get_json()
    assert looked["rows"][0]["wrong"] == [
        {"row": 2, "heading": "quantity", "sentence": "'twelve' is not a quantity, such as 12."}
    ]
    problem = checked_problem(as_owner.post(ADDRESS, json=sent(bad)), 422, "rows_wrong")
    assert problem["errors"]["text"][0] == "Row 2, quantity: 'twelve' is not a quantity, such as 12."
    assert len(problem["errors"]["text"]) == 2
    assert Part.select().count() == 0


def test_headings_that_are_not_known_and_stock_on_top_need_a_word(as_owner: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    text = f"number,colour,bin,quantity\n{part.number},red,{bin_.name},2"
    problem = checked_problem(as_owner.post(ADDRESS, json=sent(text)), 422, "unknown_headings")
    assert problem["errors"] == {"leave_out": ["colour"]}
    checked_problem(as_owner.post(ADDRESS, json=sent(text, leave_out=["colour"])), 409, "on_top")
    assert as_owner.post(ADDRESS, json=sent(text, leave_out=["colour"], on_top=True)).status_code == 200
    assert stock_of(part.id).on_shelf == 7


def test_a_list_that_cannot_be_read_is_refused(as_owner: ApiClient) -> None:
    checked_problem(as_owner.post(ADDRESS, json=sent("number|name\nP-1|clip")), 422, "no_headings")
    checked_problem(as_owner.post(ADDRESS, json=sent("number\nP-1")), 422, "one_column")
    checked_problem(as_owner.post(ADDRESS, json=sent("number,name\n" + "x" * 2_000_000)), 422)
    checked_problem(as_owner.post(ADDRESS, json=sent("x" * 12_000_000)), 413)
    checked_problem(as_owner.post(ADDRESS, json={"look": True}), 422)


def test_a_long_list_has_room_that_other_bodies_have_not(app: Flask, as_owner: ApiClient) -> None:
    rows = "".join(f"N-{number},{'م' * 300},other,,\n" for number in range(700))
    assert as_owner.post(ADDRESS, json=sent(LIST + rows, look=True)).get_json()["totals"]["rows"] == 702
    checked_problem(as_owner.post("/api/v1/parts", json={"name": rows * 2}), 413)


def test_the_stock_is_taken_away_and_comes_in_again(as_owner: ApiClient, as_tech: ApiClient) -> None:
    part, _, _ = a_stocked_part(5)
    answer = as_owner.get("/api/v1/stock-list.csv")
    assert answer.content_type == "text/csv; charset=utf-8"
    looked = as_owner.post(ADDRESS, json=sent(answer.data.decode(), look=True)).get_json()
    assert [(one["number"], one["quantity"], one["on_top"]) for one in looked["rows"]] == [(part.number, 5, True)]
    assert as_tech.get("/api/v1/stock-list.csv").status_code == 403
