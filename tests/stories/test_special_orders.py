"""Special orders do not fool the reckoning: from the form or the API to the reorder list."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask import Flask

from inventory.domain.buying import suppliers
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive
from inventory.domain.reorder import reorder_list
from inventory.domain.reorder.usage import uses_of_part
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import ApiClient, PageClient
from tests.pages.page_forms import submit_form
from tests.proof_factories import a_piece


def kept_for_a_month(kept: str = "counted", **more: object) -> tuple[PartRecord, int]:
    """A part catalogued a month ago, sold in three weeks, with twenty of it in a bin."""
    with clock.freeze_at(clock.now() - timedelta(days=30)):
        part = a_part("Lamp holder", kept=kept, **more)  # type: ignore[arg-type]
        bin_ = a_bin(part)
        receive.receive(part.id, 20, bin_.id)
        suppliers.add_offer(part.id, suppliers.add_supplier(f"Supplier {part.number}", lead_days=21).id, 40)
    return part, bin_.id


def level_of(part: PartRecord) -> int:
    return reorder_list.advice_for_parts([part.id])[part.id].level


def take_with_api(client: ApiClient, bin_id: int, one_off: bool) -> None:
    sent = {"bin_id": bin_id, "job_id": a_job().id, "quantity": 8, "one_off": one_off}
    assert client.post("/api/v1/pulls", json=sent).status_code == 201


def take_with_form(client: PageClient, part: PartRecord, bin_id: int, one_off: bool) -> None:
    page = client.get(f"/bins/{bin_id}")
    form = {"amount": "8", "job": str(a_job().id), **({"one_off": "1"} if one_off else {})}
    assert submit_form(client, page, "/take", f"more-{part.id}", **form).status_code == 303


@pytest.mark.parametrize("door", ["api", "form"])
def test_a_pull_ticked_as_a_one_off_does_not_raise_the_level(
    app: Flask, as_tech: ApiClient, tech_page: PageClient, door: str
) -> None:
    special, ordinary = kept_for_a_month(), kept_for_a_month()
    quiet = level_of(special[0])
    levels = []
    for (part, bin_id), one_off in ((special, True), (ordinary, False)):
        if door == "api":
            take_with_api(as_tech, bin_id, one_off)
        else:
            take_with_form(tech_page, part, bin_id, one_off)
        levels.append(level_of(part))
    assert levels[0] == quiet
    assert levels[1] > quiet
    assert levels[1] > level_of(special[0])
    (use,) = uses_of_part(special[0].id)
    assert (use.one_off, use.quantity, use.counted) == (True, 8, 0)


def test_a_piece_fitted_as_a_one_off_is_left_out_too(tech_page: PageClient) -> None:
    piece = a_piece("C-07", spare=False)
    job = a_job()
    page = tech_page.get(f"/pieces/{piece.id}")
    submit_form(tech_page, page, "/fit", job=str(job.id), one_off="1")
    (use,) = uses_of_part(piece.part_id)
    assert (use.job_id, use.one_off, use.counted) == (job.id, True, 0)


def test_the_job_that_a_part_was_catalogued_for_tells_a_size_and_no_rate(as_tech: ApiClient) -> None:
    job = a_job()
    sent = {"number": "L-900", "name": "Lamp holder, odd", "kind": "other", "catalogued_for": job.id}
    part_id = as_tech.post("/api/v1/parts", json=sent).get_json()["id"]
    bin_ = a_bin()
    receive.receive(part_id, 6, bin_.id)
    pulled = {"bin_id": bin_.id, "part_id": part_id, "job_id": job.id, "quantity": 6}
    assert as_tech.post("/api/v1/pulls", json=pulled).status_code == 201
    reckoned = as_tech.get(f"/api/v1/parts/{part_id}/reckoning").get_json()
    assert (reckoned["reckoned"]["k"], round(reckoned["reckoned"]["kz"], 3)) == (0, 1)
    assert reckoned["reckoned"]["s"] == pytest.approx(5, abs=0.01)
    assert [use["first_job"] for use in reckoned["uses"]] == [True]
    assert any(
        "left out: one-off, or the job it was catalogued for" in sentence for sentence in reckoned["sentences"]
    )
    assert reckoned["advice"]["why"][0].endswith("if it will not be wanted again, fix its level at 0.")
    jobs.close_job(job.id, found="odd lamp holder")
