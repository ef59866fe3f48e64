"""Several people at once: one gets the last connector, the other is told so; nothing is lost or doubled."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from typing import Any

import pytest

from inventory.domain.buying import incoming_plans
from inventory.domain.catalogue import bins
from inventory.domain.common import clock, idempotency
from inventory.domain.common.errors import Conflict, DomainError, Invalid
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.quality import incoming_testing
from inventory.store import connection, verify
from inventory.store.tables import Movement
from tests.factories import a_bin, a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def together(acts: list[Callable[[], Any]]) -> list[Any]:
    """Run *acts* at the same moment, each on a thread and a connection of its own; return results or refusals."""
    gate, results = threading.Barrier(len(acts)), [None] * len(acts)

    def run(number: int) -> None:
        connection.connect()
        gate.wait()
        try:
            results[number] = acts[number]()
        except DomainError as refused:
            results[number] = refused
        finally:
            connection.database.close()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(len(acts))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results


def test_two_who_reach_for_the_last_one_get_one_success_and_one_clear_refusal() -> None:
    _, bin_, _ = a_stocked_part(1)
    job = a_job()
    results = together([lambda: pull.pull(bin_id=bin_.id, job_id=job.id)] * 2)
    refusals = [result for result in results if isinstance(result, Conflict)]
    assert len(refusals) == 1
    assert f"{bin_.name} has none left" in refusals[0].sentence
    assert f"took the last 1 piece for job {job.number}" in refusals[0].sentence
    assert verify.verify_ledger().sound


def test_eight_who_pull_as_fast_as_they_can_take_exactly_what_was_there() -> None:
    part = a_part()
    bin_ = a_bin(part)
    for _ in range(5):
        receive.receive(part.id, 5, bin_.id)
    job = a_job()

    def grab() -> int:
        taken = 0
        while True:
            try:
                taken += pull.pull(bin_id=bin_.id, job_id=job.id).quantity
            except Conflict:
                return taken

    assert sum(together([grab] * 8)) == 25
    assert verify.verify_ledger().sound


def test_the_same_key_sent_eight_times_at_once_pulls_once() -> None:
    _, bin_, _ = a_stocked_part(20)
    job = a_job()

    def act() -> idempotency.StoredResponse:
        pull.pull(bin_id=bin_.id, job_id=job.id)
        return idempotency.StoredResponse(201, "taken")

    def send() -> idempotency.StoredResponse:
        return idempotency.run_once("person:1", "key-1", "the same request", act)

    results = together([send] * 8)
    answered = [result for result in results if isinstance(result, idempotency.StoredResponse)]
    under_way = [result for result in results if isinstance(result, Conflict) and result.reason == "under_way"]
    assert len(answered) + len(under_way) == 8
    assert answered
    assert {answer.body for answer in answered} == {"taken"}
    assert Movement.select().where(Movement.kind == "pull").count() == 1
    assert send().replayed


def test_a_key_used_for_another_request_is_refused() -> None:
    idempotency.run_once("person:1", "key-1", "first", lambda: idempotency.StoredResponse(201, "first"))
    with pytest.raises(Invalid, match="used for a different request"):
        idempotency.run_once("person:1", "key-1", "second", lambda: idempotency.StoredResponse(201, "second"))
    other = idempotency.run_once(
        "person:2", "key-1", "second", lambda: idempotency.StoredResponse(201, "somebody else's")
    )
    assert (other.body, other.replayed) == ("somebody else's", False)


def test_a_refused_request_leaves_nothing_and_is_refused_again_under_its_key() -> None:
    _, bin_, _ = a_stocked_part(3)
    job = a_job()

    def act() -> idempotency.StoredResponse:
        pull.pull(bin_id=bin_.id, job_id=job.id)
        return idempotency.StoredResponse(409, "refused after all")

    first = idempotency.run_once("person:1", "key-1", "same", act)
    again = idempotency.run_once("person:1", "key-1", "same", act)
    assert (first.replayed, again.replayed, again.status) == (False, True, 409)
    assert not Movement.select().where(Movement.kind == "pull").exists()


def test_a_crash_in_between_loses_both_the_act_and_its_key() -> None:
    _, bin_, _ = a_stocked_part(3)
    job = a_job()

    def crash() -> idempotency.StoredResponse:
        pull.pull(bin_id=bin_.id, job_id=job.id)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        idempotency.run_once("person:1", "key-1", "same", crash)
    assert not Movement.select().where(Movement.kind == "pull").exists()
    assert (
        idempotency.run_once("person:1", "key-1", "same", lambda: idempotency.StoredResponse(201, "taken")).body
        == "taken"
    )


_ANOTHER_PROCESS = """
import sys
from inventory.store import connection
from inventory.domain.movements import pull
from inventory.domain.common.errors import Conflict
url, bin_id, job_id = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
connection.bind_database(url); connection.connect()
taken = 0
try:
    while True:
        taken += pull.pull(bin_id=bin_id, job_id=job_id).quantity
except Conflict:
    print(taken)
"""


def test_several_processes_on_one_database_take_exactly_what_was_there(database_url: str) -> None:
    _, bin_, _ = a_stocked_part(60)
    job = a_job()
    arguments = [sys.executable, "-c", _ANOTHER_PROCESS, database_url, str(bin_.id), str(job.id)]
    running = [subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    taken = [int(process.communicate(timeout=60)[0]) for process in running]
    assert sum(taken) == 60
    assert verify.verify_ledger().sound


def test_what_leaves_the_house_is_done_once_and_keeps_nobody_from_writing_meanwhile() -> None:
    """A printer that is slow must not hold the database, and two taps must not print twice."""
    calls, begun, go_on = [], threading.Event(), threading.Event()

    def act() -> idempotency.StoredResponse:
        begun.set()
        assert go_on.wait(10)
        calls.append(1)
        return idempotency.StoredResponse(200, "printed")

    def slow() -> idempotency.StoredResponse:
        return idempotency.run_claimed("ines", "key", "digest", act)

    def meanwhile() -> object:
        assert begun.wait(10)
        try:
            with pytest.raises(Conflict, match="still under way"):
                slow()
            return a_stocked_part()
        finally:
            go_on.set()

    first, second = together([slow, meanwhile])
    assert (first.status, first.replayed) == (200, False)
    assert second is not None
    again = slow()
    assert (again.body, again.replayed, calls) == ("printed", True, [1])


def test_what_did_not_leave_the_house_gives_its_key_back() -> None:
    def refuse() -> idempotency.StoredResponse:
        raise Conflict("The printer is off.")

    with pytest.raises(Conflict, match="The printer is off"):
        idempotency.run_claimed("ines", "key", "digest", refuse)
    assert (
        idempotency.run_claimed("ines", "key", "digest", lambda: idempotency.StoredResponse(200, "printed")).body
        == "printed"
    )
    with pytest.raises(Invalid, match="different request"):
        idempotency.run_claimed("ines", "key", "another digest", lambda: idempotency.StoredResponse(200, "printed"))


_DIES_OVER_IT = """
import os, sys
from datetime import datetime
from inventory.domain.common import clock, idempotency
from inventory.store import connection
connection.bind_database(sys.argv[1])
connection.connect()
with clock.freeze_at(datetime.fromisoformat(sys.argv[2])):
    idempotency.run_claimed("ines", "key", "digest", lambda: os._exit(9))
"""


def test_a_print_over_which_the_power_went_is_not_done_again(database_url: str) -> None:
    program = [sys.executable, "-c", _DIES_OVER_IT, database_url, clock.now().isoformat()]
    assert subprocess.run(program, check=False).returncode == 9
    with pytest.raises(Conflict, match="still under way"):
        idempotency.run_claimed("ines", "key", "digest", lambda: idempotency.StoredResponse(200, "printed"))
    with (
        clock.freeze_at(clock.now() + idempotency.MAX_IN_PROGRESS),
        pytest.raises(Conflict, match="was cut off") as refusal,
    ):
        idempotency.run_claimed("ines", "key", "digest", lambda: idempotency.StoredResponse(200, "printed"))
    assert refusal.value.reason == "cut_off"
    assert (
        idempotency.run_claimed(
            "ines", "fresh key", "digest", lambda: idempotency.StoredResponse(200, "printed")
        ).body
        == "printed"
    )


def test_two_who_test_the_same_delivery_at_once_both_count_and_neither_doubles() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=5, accept=4)
    receive.receive(part.id, 20, a_bin(part).id)
    check = incoming_testing.waiting_checks()[0].id
    results = together(
        [lambda good=good: incoming_testing.record_result(check, good=good) for good in (True, False) * 3]
    )
    assert not [result for result in results if isinstance(result, DomainError)]
    incoming_check = incoming_testing.check(check)
    assert (incoming_check.tested, incoming_check.bad, incoming_check.left) == (6, 3, 14)
    assert [result.number for result in incoming_check.results] == [1, 2, 3, 4, 5, 6]
    assert verify.verify_ledger().sound


def test_a_check_that_two_people_close_at_once_is_closed_by_one_of_them() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=1)
    receive.receive(part.id, 5, a_bin(part).id)
    check = incoming_testing.record_result(incoming_testing.waiting_checks()[0].id, good=False).id
    results = together([lambda: incoming_testing.close_as_tested(check, "rejected")] * 3)
    assert sorted(getattr(result, "reason", "") for result in results) == ["", "check_closed", "check_closed"]


@pytest.mark.parametrize("late", ["close", "retire"])
def test_what_must_not_be_in_use_waits_for_whoever_is_about_to_use_it(late: str) -> None:
    """A job is not closed under a piece that is going out to it, nor a bin retired under what is coming in."""
    part = a_part("60 mm fan", "fan", kept="individually")
    bin_, empty, job = a_bin(part), a_bin(part), a_job()
    piece = receive.receive(part.id, 1, bin_.id).piece_ids[0]
    under_way, answered = threading.Event(), threading.Event()

    def uses() -> None:
        with connection.transaction():
            swap_tests.take_piece(piece, job.id) if late == "close" else receive.receive(part.id, 1, empty.id)
            under_way.set()
            answered.wait(0.2)  # it is not answered meanwhile, but waits

    def ends() -> Any:
        assert under_way.wait(10)
        try:
            return jobs.close_job(job.id) if late == "close" else bins.edit_bin(empty.id, retired=True)
        finally:
            answered.set()

    _, refused = together([uses, ends])
    assert getattr(refused, "reason", "done") == ("pieces_out" if late == "close" else "not_empty")
