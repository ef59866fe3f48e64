"""What moves stock, proves and lends over REST: each is done, read again, and refused when it cannot be."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.jobs import jobs
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient
from tests.proof_factories import a_piece, built_in_procedure_id, fan_readings, prove_fan


def _did(client: ApiClient, path: str, **sent: Any) -> dict[str, Any]:
    """Do something that is told as an entry of the ledger, and read that entry again."""
    answer = client.post(API + path, json=sent)
    assert answer.status_code == 201, answer.text
    done: dict[str, Any] = answer.get_json()
    line = client.get(answer.headers["Location"]).get_json()
    assert (line["entry"], line["person"]) == (done["entry"], client.person.shown_as)
    return done


def test_what_came_in_is_pulled_put_back_moved_counted_and_scrapped(as_tech: ApiClient) -> None:
    part = a_part()
    bin_, other, job = a_bin(part), a_bin(part), a_job()
    lot = _did(as_tech, "/receipts", part_id=part.id, quantity=9, bin_id=bin_.id)["made_lot"]["id"]
    assert lots.lot(lot).quantity == 9
    assert _did(as_tech, "/pulls", bin_id=bin_.id, job_id=job.id, quantity=4)["left_in_bin"] == 5
    _did(as_tech, "/put-backs", job_id=job.id, lot_id=lot, quantity=1, bin_id=bin_.id)
    _did(as_tech, "/moves", to_bin_id=other.id, bin_id=bin_.id, lot_id=lot, quantity=2)
    assert _did(as_tech, "/counts", bin_id=other.id, lot_id=lot, quantity=1)["quantity"] == -1
    scrapped = _did(as_tech, "/scraps", bin_id=bin_.id, lot_id=lot, quantity=1, reason="cracked")
    assert stock_of(part.id).on_shelf == 4
    _did(as_tech, "/undos", entry=scrapped["entry"])
    assert as_tech.get(f"{API}/parts/{part.id}/stock").get_json()["on_shelf"] == 5
    checked_problem(as_tech.post(f"{API}/undos", json={"entry": scrapped["entry"]}), 409)


def test_one_is_singled_out_and_pulled_by_its_label(as_tech: ApiClient) -> None:
    part, bin_, done = a_stocked_part(3)
    result = _did(as_tech, "/single-outs", bin_id=bin_.id, lot_id=done.lot_ids[0])["made_pieces"][0]
    assert as_tech.get(f"{API}/scan", query_string={"text": result["code"]}).get_json()["id"] == result["id"]
    _did(as_tech, f"/pieces/{result['id']}/pull", job_id=a_job().id)
    assert stock_of(part.id).on_shelf == 2
    checked_problem(as_tech.post(f"{API}/pieces/{result['id']}/pull", json={"job_id": a_job().id}), 409)


@pytest.mark.parametrize("quantity", [0, -1, 10**12, 1.5, "1", True, None, [], "one"])
@pytest.mark.parametrize("path", ["/receipts", "/pulls", "/moves", "/scraps"])
def test_a_quantity_that_cannot_be_right_moves_nothing(path: str, quantity: Any, as_tech: ApiClient) -> None:
    part, bin_, done = a_stocked_part(5)
    data = {
        "/receipts": {"part_id": part.id, "bin_id": bin_.id},
        "/pulls": {"bin_id": bin_.id, "job_id": a_job().id},
        "/moves": {"bin_id": bin_.id, "to_bin_id": a_bin(part).id, "lot_id": done.lot_ids[0]},
        "/scraps": {"bin_id": bin_.id, "lot_id": done.lot_ids[0], "reason": "x"},
    }[path]
    assert "quantity" in checked_problem(as_tech.post(API + path, json={**data, "quantity": quantity}), 422)["errors"]
    assert stock_of(part.id).on_shelf == 5


def test_what_may_not_be_pulled_is_refused_with_its_reason(as_tech: ApiClient) -> None:
    part, bin_, done = a_stocked_part(5)
    job = a_job()
    assert as_tech.post(f"{API}/lots/{done.lot_ids[0]}/hold", json={"reason": "cracked"}).status_code == 201
    data = {"bin_id": bin_.id, "job_id": job.id}
    assert "hold" in checked_problem(as_tech.post(f"{API}/pulls", json=data), 409)["detail"]
    assert as_tech.post(f"{API}/jobs/{job.id}/close", json={"something_else": True}).status_code == 200
    checked_problem(as_tech.post(f"{API}/pulls", json={**data, "bin_id": a_stocked_part(1)[1].id}), 409)
    assert stock_of(part.id).on_hold == 5


def test_the_id_of_another_kind_is_not_taken_for_one(as_tech: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    a_job()
    checked_problem(as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": 999}), 404)
    code = as_tech.get(f"{API}/bins/{bin_.id}").get_json()["code"]
    checked_problem(as_tech.post(f"{API}/pulls", json={"bin_id": code, "job_id": 1}), 422)


def test_a_slip_in_a_code_is_told_with_what_was_meant(as_viewer: ApiClient) -> None:
    code = a_bin().code
    other = next(c for c in "ABCDEFGHJKMNPQRTUVWXYZ234678" if c != code[4])
    answer = as_viewer.get(f"{API}/scan", query_string={"text": code[:4] + other + code[5:]})
    assert answer.status_code in (404, 422)
    assert code in checked_problem(answer, answer.status_code)["did_you_mean"]


# ---- proof and loan --------------------------------------------------------------------------------------


def test_a_test_with_readings_makes_a_piece_proved(as_tech: ApiClient) -> None:
    piece, run = a_piece("C-07"), built_in_procedure_id("Fan bench run")
    at = f"{API}/pieces/{piece.id}"
    assert as_tech.get(f"{at}/standing").get_json()["word"] == "unproved"
    items = as_tech.get(f"{at}/procedures/{run}").get_json()["checks"]
    assert [one["name"] for one in items] == [reading["name"] for reading in fan_readings()]
    answer = as_tech.post(f"{at}/proofs", json={"procedure_id": run, "readings": fan_readings()})
    assert (answer.status_code, answer.get_json()["after"]["word"]) == (201, "proved")
    proof = as_tech.get(answer.headers["Location"]).get_json()
    assert proof == answer.get_json()["proof"]
    before = as_tech.get(f"{at}/standing", query_string={"at": piece.created.isoformat().replace("+00:00", "Z")})
    assert before.get_json()["word"] == "unproved"
    struck = as_tech.post(f"{API}/proofs/{proof['id']}/strike", json={"reason": "wrong fan"})
    assert (struck.status_code, as_tech.get(f"{at}/standing").get_json()["word"]) == (200, "unproved")
    checked_problem(
        as_tech.post(f"{API}/proofs/{proof['id']}/strike", json={"reason": "again"}), 409, "struck_already"
    )


@pytest.mark.parametrize("value", ["", "fast", "1e3", "1,000", "NaN"])
def test_a_reading_that_is_none_proves_nothing(value: str, as_tech: ApiClient) -> None:
    piece, run = a_piece("C-07"), built_in_procedure_id("Fan bench run")
    data = {"procedure_id": run, "readings": fan_readings(Speed=value)}
    checked_problem(as_tech.post(f"{API}/pieces/{piece.id}/proofs", json=data), 422)
    assert as_tech.get(f"{API}/proofs", query_string={"piece_id": piece.id}).get_json()["items"] == []


def _lent(client: ApiClient) -> tuple[int, int]:
    """Take a proved fan out to a job; return piece and loan."""
    piece = a_piece("C-07")
    prove_fan(piece.id)
    job = a_job()
    suspect = client.post(f"{API}/jobs/{job.id}/suspects", json={"name": "fan", "part_id": piece.part_id}).get_json()
    spares = client.get(f"{API}/spares", query_string={"suspect_id": suspect["id"]}).get_json()
    assert spares["sentence"] == "One proved fan fits: C-07."
    data = {"piece_id": piece.id, "job_id": job.id, "suspect_id": suspect["id"]}
    answer = client.post(f"{API}/loans", json=data)
    assert answer.status_code == 201, answer.text
    checked_problem(client.post(f"{API}/loans", json=data), 409)
    return piece.id, int(client.get(answer.headers["Location"]).get_json()["id"])


def test_a_loan_comes_back_with_its_result_and_may_be_taken_back(as_tech: ApiClient) -> None:
    piece, loan = _lent(as_tech)
    assert [one["id"] for one in as_tech.get(f"{API}/loans?open=true").get_json()["items"]] == [loan]
    back = as_tech.post(f"{API}/loans/{loan}/bring-back", json={"result": "works with it"})
    assert (back.status_code, back.get_json()["loan"]["result"]) == (200, "works with it")
    checked_problem(as_tech.post(f"{API}/loans/{loan}/bring-back", json={"result": "still fails"}), 409, "loan_ended")
    assert as_tech.get(f"{API}/loans?open=true").get_json()["items"] == []
    again = as_tech.post(f"{API}/loans/{loan}/reopen", json={"reason": "wrong button"}).get_json()
    assert (again["result"], again["ended"]) == ("", None)
    gone = as_tech.post(f"{API}/loans/{loan}/cancel", json={"reason": "never fitted"}).get_json()
    assert gone["result"] == "cancelled"
    words = [one["what"] for one in as_tech.get(f"{API}/pieces/{piece}/timeline").get_json()["items"]]
    assert {"loan", "proof", "movement"} <= set(words)


def test_a_piece_that_stays_fitted_is_the_job_s(as_tech: ApiClient) -> None:
    piece, loan = _lent(as_tech)
    assert as_tech.post(f"{API}/loans/{loan}/leave-fitted", json={"result": "nonsense"}).status_code == 422
    stayed = as_tech.post(f"{API}/loans/{loan}/leave-fitted", json={"result": "works with it"}).get_json()
    assert (stayed["loan"]["stayed"], stayed["entry"] is not None) == (True, True)
    assert as_tech.get(f"{API}/pieces/{piece}").get_json()["bin_id"] is None


# ---- labels ----------------------------------------------------------------------------------------------


def test_labels_are_drawn_as_picture_shape_and_sheet(as_viewer: ApiClient) -> None:
    _, bin_, done = a_stocked_part(3)
    piece, job = a_piece("C-07"), a_job()
    for path in (f"bins/{bin_.id}", f"lots/{done.lot_ids[0]}", f"pieces/{piece.id}", f"jobs/{job.id}"):
        png, svg = (as_viewer.get(f"{API}/{path}/label.{ending}") for ending in ("png", "svg"))
        assert (png.content_type, png.data[:4]) == ("image/png", b"\x89PNG")
        assert (svg.content_type.split(";")[0], b"<svg" in svg.data) == ("image/svg+xml", True)
    codes = {"codes": f"{bin_.code},{piece.code}", "media": "62x29"}
    sheet = as_viewer.get(f"{API}/labels/sheet.pdf", query_string=codes)
    assert (sheet.content_type, sheet.data[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize("asked", [{"media": "wall"}, {"dpi": "1"}, {"media": "1x1"}, {"surprise": "1"}])
def test_a_label_that_cannot_be_drawn_is_refused(asked: dict[str, str], as_viewer: ApiClient) -> None:
    checked_problem(as_viewer.get(f"{API}/bins/{a_bin().id}/label.png", query_string=asked), 422)
    checked_problem(as_viewer.get(f"{API}/labels/sheet.pdf"), 422)


def test_today_tells_what_needs_doing(as_tech: ApiClient) -> None:
    assert as_tech.get(f"{API}/today").get_json()["quiet"]
    _, loan = _lent(as_tech)
    assert [one["id"] for one in as_tech.get(f"{API}/today").get_json()["out"]] == [loan]
    again = as_tech.get(f"{API}/pieces/to-prove-again?within_days=3650").get_json()["items"]
    assert [one["piece"]["name"] for one in again] == ["C-07"]
    assert as_tech.get(f"{API}/pieces/lapsed").get_json()["items"] == []


def test_today_tells_what_presses_until_somebody_has_seen_it(as_tech: ApiClient) -> None:
    part = a_part("Motorised fader")
    jobs.set_need(a_job(promised=clock.today()).id, part.id, 1)
    today = as_tech.get(f"{API}/today").get_json()
    assert (today["pressing"], today["quieted"], today["waited_for_part_ids"]) == (2, 0, [part.id])
    alert = next(one for one in as_tech.get(f"{API}/alerts").get_json()["items"] if one["kind"] == "promised")
    assert as_tech.post(f"{API}/alerts/{alert['id']}/done").status_code == 200
    today = as_tech.get(f"{API}/today").get_json()
    assert (today["pressing"], today["quieted"], today["due"]) == (1, 1, [])
