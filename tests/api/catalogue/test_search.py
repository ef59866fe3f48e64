"""Scan and find over REST: from a label or from words to the thing itself."""

from __future__ import annotations

import pytest

from shared.codes import format_code
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_stocked_part
from tests.http_clients import ApiClient


@pytest.mark.parametrize("written", ["{}", "https://bench.lan/S/{}", "HTTPS://OTHER.EXAMPLE/S/{}", " {} "])
def test_a_code_is_read_however_it_was_scanned(written: str, as_viewer: ApiClient) -> None:
    bin_ = a_bin()
    for code in (bin_.code, bin_.code.lower(), format_code(bin_.code)):
        body = as_viewer.get(f"{API}/scan", query_string={"text": written.format(code)}).get_json()
        assert (body["what"], body["id"], body["code"]) == ("bin", bin_.id, bin_.code)
        assert as_viewer.get(body["address"]).get_json()["code"] == bin_.code


def test_every_kind_of_code_leads_to_its_thing(as_viewer: ApiClient) -> None:
    _, _, received = a_stocked_part(1)
    lot = as_viewer.get(f"{API}/lots/{received.lot_ids[0]}").get_json()
    for code, what in ((a_bin().code, "bin"), (lot["code"], "lot"), (a_job().code, "job")):
        body = as_viewer.get(f"{API}/scan", query_string={"text": code}).get_json()
        assert body["what"] == what
        assert as_viewer.get(body["address"]).status_code == 200


def test_a_slip_is_named_and_the_real_code_offered(as_viewer: ApiClient) -> None:
    code = a_bin().code
    slipped = code[:4] + next(c for c in "BCDF" if c != code[4]) + code[5:]
    problem = checked_problem(as_viewer.get(f"{API}/scan", query_string={"text": slipped}), 422, "bad_code")
    assert code in problem["did_you_mean"]


@pytest.mark.parametrize("text", ["", "spoon", "' OR 1=1 --", "B" * 3000])
def test_what_is_no_code_is_refused(text: str, as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.get(f"{API}/scan", query_string={"text": text}), 422)


def test_a_code_that_nobody_has_is_not_found(as_viewer: ApiClient) -> None:
    from shared.codes import generate_code

    checked_problem(as_viewer.get(f"{API}/scan", query_string={"text": generate_code("bin")}), 404, "unknown_code")


def test_one_field_finds_everything(as_viewer: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(1)
    job = a_job(customer="Dockside Hall")
    for text, what, key in ((part.number, "part", part.id), (bin_.name, "bin", bin_.id), ("dockside", "job", job.id)):
        items = as_viewer.get(f"{API}/find", query_string={"text": text}).get_json()["items"]
        assert (what, key) in {(one["what"], one["id"]) for one in items}
        assert as_viewer.get(items[0]["address"]).status_code == 200
    checked_problem(as_viewer.get(f"{API}/find"), 422)
