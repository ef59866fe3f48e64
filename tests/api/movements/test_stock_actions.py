"""What moves stock, over REST: each action one entry of the ledger, each refusal a sentence and nothing written."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from inventory.domain.catalogue import stock_totals
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.validation import MAX_QUANTITY
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, receive
from inventory.store import verify
from inventory.store.tables import Balance, Lot, Movement, Piece
from tests.api.problem_details import checked_problem
from tests.api.routes import API
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import ApiClient


def _done(client: ApiClient, action: str, **sent: Any) -> dict[str, Any]:
    answer = client.post(f"{API}/{action}", json=sent)
    assert answer.status_code == 201, answer.text
    told: dict[str, Any] = answer.get_json()
    assert answer.headers["Location"] == f"{API}/movements/{told['entry']}"
    line = client.get(answer.headers["Location"]).get_json()
    assert (line["entry"], line["person"]) == (told["entry"], client.person.shown_as)
    assert verify.verify_ledger().sound
    return told


def _left(bin_id: int, lot_id: int) -> int:
    balance = Balance.get_or_none(Balance.bin == bin_id, Balance.lot == lot_id)
    return balance.quantity if balance else 0


def test_what_came_in_is_a_new_lot_in_its_bin(as_tech: ApiClient) -> None:
    part = a_part()
    bin_ = a_bin(part)
    result = _done(
        as_tech, "receipts", part_id=part.id, quantity=50, bin_id=bin_.id, maker_lot="M-1", cost_minor=900,
        best_before=(clock.today() + timedelta(days=400)).isoformat(),
    )  # fmt: skip
    assert result["sentence"] == f"50 pieces of {part.name} received into {bin_.name}."
    lot = Lot.get_by_id(result["made_lot"]["id"])
    assert (lot.maker_lot, lot.cost_minor, _left(bin_.id, lot.id)) == ("M-1", 900, 50)


def test_what_is_kept_individually_comes_in_as_pieces(as_tech: ApiClient) -> None:
    part = a_part("800 W supply", "supply", kept="individually")
    result = _done(as_tech, "receipts", part_id=part.id, quantity=2, bin_id=a_bin(part).id, origin="donor")
    assert [one["code"][0] for one in result["made_pieces"]] == ["P", "P"]
    assert Piece.select().count() == 2


def test_one_is_taken_for_a_job_and_put_back(as_tech: ApiClient) -> None:
    part, bin_, received = a_stocked_part(5)
    job = a_job()
    result = _done(as_tech, "pulls", bin_id=bin_.id, job_id=job.id, quantity=3)
    assert (result["left_in_bin"], result["lot_ids"]) == (2, list(received.lot_ids))
    back = _done(as_tech, "put-backs", job_id=job.id, part_id=part.id, quantity=2)
    assert back["left_in_bin"] == 4
    checked_problem(as_tech.post(f"{API}/put-backs", json={"job_id": job.id, "part_id": part.id, "quantity": 2}), 409)
    assert _left(bin_.id, received.lot_ids[0]) == 4


def test_a_piece_is_taken_and_put_back(as_tech: ApiClient) -> None:
    _, bin_, received = a_stocked_part(1)
    single = _done(as_tech, "single-outs", bin_id=bin_.id, lot_id=received.lot_ids[0], name="C-07")
    piece = single["made_pieces"][0]["id"]
    job = a_job().id
    _done(as_tech, f"pieces/{piece}/pull", job_id=job)
    assert Piece.get_by_id(piece).bin_id is None
    checked_problem(as_tech.post(f"{API}/pieces/{piece}/pull", json={"job_id": job}), 409, "piece_gone")
    _done(as_tech, "put-backs", job_id=job, piece_id=piece)
    assert Piece.get_by_id(piece).bin_id == bin_.id


def test_some_are_moved_scrapped_and_counted(as_tech: ApiClient) -> None:
    part, bin_, received = a_stocked_part(10)
    other, lot = a_bin(part), received.lot_ids[0]
    _done(as_tech, "moves", to_bin_id=other.id, bin_id=bin_.id, lot_id=lot, quantity=4)
    _done(as_tech, "scraps", bin_id=other.id, lot_id=lot, reason="bent contacts")
    counted = _done(as_tech, "counts", bin_id=bin_.id, lot_id=lot, quantity=5, seen=6)
    assert counted["quantity"] == -1
    assert (_left(bin_.id, lot), _left(other.id, lot)) == (5, 3)
    data = {"bin_id": bin_.id, "lot_id": lot, "quantity": 5, "seen": 6}
    checked_problem(as_tech.post(f"{API}/counts", json=data), 409, "moved_meanwhile")


def test_what_was_done_is_undone_once(as_tech: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    entry = _done(as_tech, "pulls", bin_id=bin_.id, job_id=a_job().id)["entry"]
    _done(as_tech, "undos", entry=entry, reason="wrong bin")
    assert stock_totals.stock_of(part.id).on_shelf == 5
    checked_problem(as_tech.post(f"{API}/undos", json={"entry": entry}), 409, "undone_already")
    checked_problem(as_tech.post(f"{API}/undos", json={"entry": 999}), 404)
    checked_problem(as_tech.post(f"{API}/undos", json={"entry": 2**70}), 422)


@pytest.mark.parametrize("quantity", [0, -1, 10**9 + 1, 10**30, "1", 1.5, True, None])
@pytest.mark.parametrize("action", ["receipts", "pulls", "put-backs", "moves", "scraps"])
def test_a_quantity_that_cannot_be_right_moves_nothing(action: str, quantity: Any, as_tech: ApiClient) -> None:
    part, bin_, received = a_stocked_part(5)
    data = {
        "part_id": part.id, "bin_id": bin_.id, "lot_id": received.lot_ids[0], "job_id": a_job().id,
        "to_bin_id": a_bin(part).id, "reason": "why",
    }  # fmt: skip
    takes = {
        "receipts": ("part_id", "bin_id"), "pulls": ("bin_id", "job_id"), "put-backs": ("part_id", "job_id"),
        "moves": ("bin_id", "lot_id", "to_bin_id"), "scraps": ("bin_id", "lot_id", "reason"),
    }  # fmt: skip
    sent = {name: data[name] for name in takes[action]}
    problem = checked_problem(as_tech.post(f"{API}/{action}", json={**sent, "quantity": quantity}), 422)
    assert list(problem["errors"]) == ["quantity"]
    assert Movement.select().count() == 1


def test_it_refuses_more_than_there_is_and_says_where_more_is(as_tech: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(1)
    other = a_bin(part)
    _done(as_tech, "receipts", part_id=part.id, quantity=7, bin_id=other.id)
    problem = checked_problem(
        as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": a_job().id, "quantity": 2}), 409, "not_enough"
    )
    assert problem["available"] == 1
    assert f"Bin {other.name} has 7 pieces." in problem["detail"]


def test_it_refuses_a_closed_job_and_no_job_at_all(as_tech: ApiClient) -> None:
    _, bin_, _ = a_stocked_part(5)
    job = a_job()
    jobs.close_job(job.id)
    checked_problem(as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": job.id}), 409, "job_closed")
    checked_problem(as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id}), 409, "no_job")
    checked_problem(as_tech.post(f"{API}/pulls", json={"bin_id": bin_.id, "job_id": 999}), 404)
    checked_problem(as_tech.post(f"{API}/pulls", json={"job_id": a_job().id}), 422)
    assert Movement.select().count() == 1


def test_what_is_past_its_date_is_taken_only_when_told_to(as_tech: ApiClient) -> None:
    with clock.freeze_at(clock.now() - timedelta(days=60)):
        _, bin_, _ = a_stocked_part(3, best_before=(clock.now() + timedelta(days=20)).date())
    data = {"bin_id": bin_.id, "job_id": a_job().id}
    checked_problem(as_tech.post(f"{API}/pulls", json=data), 409, "past_date")
    assert "past its date" in _done(as_tech, "pulls", **data, past_date_ok=True)["warnings"][0]


def test_a_tap_sent_twice_takes_one(as_tech: ApiClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    data, key = {"bin_id": bin_.id, "job_id": a_job().id}, {"Idempotency-Key": "tap"}
    first, again = (as_tech.post(f"{API}/pulls", json=data, headers=key) for _ in range(2))
    assert (again.status_code, again.get_json()) == (201, first.get_json())
    assert stock_totals.stock_of(part.id).on_shelf == 4


def test_the_ledger_is_read_by_what_it_is_about(as_viewer: ApiClient, as_tech: ApiClient) -> None:
    part, bin_, received = a_stocked_part(5)
    job = a_job().id
    entry = _done(as_tech, "pulls", bin_id=bin_.id, job_id=job)["entry"]
    a_stocked_part(5)
    since = as_viewer.get(f"{API}/movements/{entry}").get_json()["at"]
    for asked, number in (
        (f"part_id={part.id}", 2), (f"bin_id={bin_.id}", 2), (f"lot_id={received.lot_ids[0]}", 2),
        (f"job_id={job}", 1), (f"person_id={as_tech.person.id}", 1), ("kind=receive", 2), (f"entry={entry}", 1),
        ("", 3), (f"part_id={part.id}&since={since}", 1), (f"part_id={part.id}&until={since}", 1),
    ):  # fmt: skip
        assert len(as_viewer.get(f"{API}/movements?{asked}").get_json()["items"]) == number, asked
    for asked in ("since=yesterday", "since=2031-03-31T00:00:00", "kind=lost", "part_id=x"):
        checked_problem(as_viewer.get(f"{API}/movements?{asked}"), 422)


def test_more_than_a_place_can_hold_is_refused_and_nothing_changed(as_tech: ApiClient, database_url: str) -> None:
    part = a_part()
    bins = [a_bin(part) for _ in range(3)]
    lot = receive.receive(part.id, MAX_QUANTITY, bins[0].id).lot_ids[0]
    for bin_ in bins[1:]:
        adjustments.count(bin_.id, lot, MAX_QUANTITY)
    answers = [
        as_tech.post(
            f"{API}/moves", json={"quantity": MAX_QUANTITY, "lot_id": lot, "bin_id": bin_.id, "to_bin_id": bins[0].id}
        )
        for bin_ in bins[1:]
    ]
    assert answers[0].status_code == 201
    if database_url.startswith("postgresql"):  # SQLite holds it
        assert "more than can be kept in one place" in checked_problem(answers[1], 422)["detail"]
    assert stock_of(part.id).on_shelf == 3 * MAX_QUANTITY


def test_no_loose_ones_are_found_of_a_part_that_is_kept_piece_by_piece(as_tech: ApiClient) -> None:
    part = a_part(kept="individually")
    came = receive.receive(part.id, 1, a_bin(part).id)
    data = {"bin_id": came.bin_id, "lot_id": came.lot_ids[0], "quantity": 1}
    refused = checked_problem(as_tech.post(f"{API}/counts", json=data), 422)
    assert refused["reason"] == "kept_individually"
    assert "receive what you found, and each gets its label" in refused["detail"]
    assert as_tech.post(f"{API}/counts", json={**data, "quantity": 0}).status_code == 201
