"""How many of what a supplier sent were dead: counted once each, with the uncertainty, by quarter."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from inventory.domain.buying import suppliers as selling
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.records import ActionResult
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.quality import incoming_testing
from inventory.domain.quality.dead_on_arrival import supplier_dead_on_arrival
from tests.factories import a_bin, a_job, a_part
from tests.proof_factories import prove_fan

pytestmark = pytest.mark.usefixtures("bench")


@pytest.fixture
def supplier() -> int:
    """Somebody who sends parts."""
    return selling.add_supplier("Northgate Components").id


def sent(supplier: int, quantity: int, **part: str) -> ActionResult:
    """Receive a delivery of a part of its own."""
    new_part = a_part(**part)
    return receive.receive(new_part.id, quantity, a_bin(new_part).id, supplier_id=supplier)


def test_nothing_seen_is_said_so(supplier: int) -> None:
    sent(supplier, 50)
    rate = supplier_dead_on_arrival(supplier)
    assert (rate.seen, rate.quarters, rate.enough) == (0, (), False)
    assert rate.words == "Nothing of what it sent has been seen to work or to be dead yet."


def test_failures_at_a_check_count_and_few_are_said_to_be_few(supplier: int) -> None:
    check = incoming_testing.begin_check(sent(supplier, 30).lot_ids[0], test=5, accept=4)
    for good in (True, False, True, False, True):
        incoming_testing.record_result(check.id, good=good)
    rate = supplier_dead_on_arrival(supplier)
    assert (rate.seen, rate.dead, rate.tested, rate.enough) == (5, 2, 5, False)
    assert rate.words.startswith("2 of 5 seen so far were dead on arrival: too few yet to say (anything up to ")


def test_a_delivery_that_never_came_after_all_tells_nothing(supplier: int) -> None:
    receipt = sent(supplier, 30)
    check = incoming_testing.begin_check(receipt.lot_ids[0], test=5, accept=4)
    incoming_testing.record_result(check.id, good=True)
    assert supplier_dead_on_arrival(supplier).seen == 1
    undo.undo(receipt.entry)
    assert supplier_dead_on_arrival(supplier).seen == 0


def test_those_that_work_in_closed_jobs_count_and_those_in_open_ones_do_not(supplier: int) -> None:
    receipt = sent(supplier, 60)
    for number, close in ((20, True), (5, False)):
        job = a_job()
        pull.pull(number, lot_id=receipt.lot_ids[0], job_id=job.id)
        if close:
            jobs.close_job(job.id, found="burnt pins")
    rate = supplier_dead_on_arrival(supplier)
    assert (rate.seen, rate.dead, rate.enough) == (20, 0, True)
    assert rate.words == "None of 20 seen so far were dead on arrival: it is 95 % sure that fewer than 9 % are."


def test_one_scrapped_as_dead_on_arrival_counts_until_that_is_undone(supplier: int) -> None:
    receipt = sent(supplier, 4)
    result = adjustments.scrap(1, bin_id=receipt.bin_id, lot_id=receipt.lot_ids[0], reason="Dead on arrival: 0 V")
    adjustments.scrap(1, bin_id=receipt.bin_id, lot_id=receipt.lot_ids[0], reason="bent when it was fitted")
    assert (supplier_dead_on_arrival(supplier).seen, supplier_dead_on_arrival(supplier).dead) == (1, 1)
    undo.undo(result.entry)
    assert supplier_dead_on_arrival(supplier).seen == 0


def test_a_piece_counts_by_its_first_proof_and_only_once(supplier: int) -> None:
    receipt = sent(supplier, 3, name="24 V fan", kind="fan")
    parts.edit_part(receipt.part_id, attributes={"volts": 24, "amps": 0.15, "rpm": 2000, "wires": 3})
    first, second = (adjustments.single_out(receipt.bin_id or 0, receipt.lot_ids[0]).piece_ids[0] for _ in range(2))
    prove_fan(first, Current="0.5")
    prove_fan(second)
    prove_fan(second, Current="0.5")
    adjustments.scrap(piece_id=first, reason="Dead on arrival")
    rate = supplier_dead_on_arrival(supplier)
    assert (rate.seen, rate.dead) == (2, 1)


def test_one_tested_and_then_fitted_is_not_counted_twice(supplier: int) -> None:
    lot = sent(supplier, 10).lot_ids[0]
    check = incoming_testing.begin_check(lot, test=3)
    for _ in range(3):
        incoming_testing.record_result(check.id, good=True)
    incoming_testing.close_as_tested(check.id, "accepted")
    job = a_job()
    pull.pull(2, lot_id=lot, job_id=job.id)
    jobs.close_job(job.id, found="burnt")
    assert supplier_dead_on_arrival(supplier).seen == 3


def test_it_is_told_by_the_quarter_in_which_the_lot_came(supplier: int) -> None:
    for month, bad in ((2, False), (8, True)):
        with clock.freeze_at(datetime(2026, month, 10, 9, tzinfo=UTC)):
            check = incoming_testing.begin_check(sent(supplier, 20).lot_ids[0], test=12, accept=11)
            for number in range(12):
                incoming_testing.record_result(check.id, good=not (bad and number < 3))
    rate = supplier_dead_on_arrival(supplier)
    assert [(quarter.name, quarter.dead, quarter.seen) for quarter in rate.quarters] == [
        ("Q1 2026", 0, 12),
        ("Q3 2026", 3, 12),
    ]
    assert rate.quarters[1].low < 0.25 < rate.quarters[1].high
    assert rate.words.startswith("3 of 24 seen so far were dead on arrival: 12.5 %, between ")
