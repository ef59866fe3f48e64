"""What was bought in vain: for a job that did not use it, or on a guess; and what became of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots, parts
from inventory.domain.common import clock
from inventory.domain.common.records import ActionResult, JobRecord, PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.money.wasted_purchases import GUESS_DAYS, WastedPurchaseReport, wasted_purchases
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof import proofs
from inventory.domain.quality import sent_back
from tests.factories import a_bin, a_job, a_part, a_placed_order
from tests.proof_factories import FAN_ATTRIBUTES, prove_fan

pytestmark = pytest.mark.usefixtures("bench")
MORNING = datetime(2026, 3, 2, 9, tzinfo=UTC)


def bought(
    quantity: int = 1, *, job: JobRecord | None = None, cost: int | None = 1850
) -> tuple[PartRecord, ActionResult]:
    """Order a fan (for a job, unless it is left out) and receive it."""
    part = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    bin_, seller = a_bin(part), suppliers.add_supplier("Quayside Spares " + part.number)
    line = NewOrderLine(part.id, quantity, cost_minor=cost or 0, job_id=None if job is None else job.id)
    order = a_placed_order(seller.id, [line])
    receipt = receive.receive(part.id, quantity, bin_.id, order_line_id=order.lines[0].id)
    return part, receipt


def fates(report: WastedPurchaseReport) -> list[tuple[str, int, int | None]]:
    return [(fate.word, fate.quantity, fate.cost_minor) for item in report.items for fate in item.fates]


def test_what_its_job_used_is_not_in_vain() -> None:
    job = a_job()
    _, receipt = bought(job=job)
    pull.pull(1, lot_id=receipt.lot_ids[0], job_id=job.id)
    jobs.close_job(job.id)
    assert wasted_purchases().items == ()


def test_while_the_job_is_open_nobody_knows_yet() -> None:
    job = a_job()
    bought(job=job)
    assert wasted_purchases().items == ()
    jobs.close_job(job.id)
    (purchase,) = wasted_purchases().items
    assert (purchase.job and purchase.job.id, purchase.cost_minor, purchase.idle_minor) == (job.id, 1850, 1850)
    assert f"Bought for job {job.number}, which used none of it" in purchase.why
    assert fates(wasted_purchases()) == [("still lying there", 1, 1850)]


def test_a_fan_bought_on_a_guess_that_became_a_proved_spare_is_of_use() -> None:
    job = a_job()
    _, receipt = bought(job=job)
    lot, bin_ = receipt.lot_ids[0], receipt.bin_id or 0
    pull.pull(1, lot_id=lot, job_id=job.id)
    pull.put_back(1, job_id=job.id, lot_id=lot)
    piece = adjustments.single_out(bin_, lot, name="C-07").made_pieces[0]
    proofs.record_run_in_unit(piece.id, job.id)
    prove_fan(piece.id)
    jobs.close_job(job.id)
    (purchase,) = wasted_purchases().items
    assert [(fate.word, fate.told) for fate in purchase.fates] == [("became a proved spare", "C-07")]
    assert (purchase.cost_minor, purchase.idle_minor) == (1850, 0)


def test_money_over_all_fates_adds_up_to_what_the_lot_cost() -> None:
    job, other = a_job(), a_job()
    part, receipt = bought(7, job=job, cost=1000)
    lot, bin_ = receipt.lot_ids[0], receipt.bin_id or 0
    pull.pull(2, lot_id=lot, job_id=job.id)
    pull.pull(1, lot_id=lot, job_id=other.id)
    sent_back.send_back(1, bin_id=bin_, lot_id=lot, cause="not needed")
    adjustments.scrap(1, bin_id=bin_, lot_id=lot, reason="wire torn; it was never returned")
    undo.undo(adjustments.scrap(1, bin_id=bin_, lot_id=lot, reason="slip").entry)
    jobs.close_job(job.id)
    report = wasted_purchases()
    words = {fate.word: fate.quantity for fate in report.items[0].fates}
    assert words == {"still lying there": 2, "used by another job": 1, "sent back": 1, "scrapped": 1}
    assert report.cost_minor == sum(cost or 0 for _, _, cost in fates(report)) == 1000 - 286
    assert dict(report.by_fate)["used by another job"] + report.idle_minor + dict(report.by_fate)["sent back"] == 714
    assert part.id == report.items[0].part.id


def test_a_lot_without_a_cost_is_listed_and_said_to_have_none() -> None:
    job = a_job()
    part = a_part()
    seller = suppliers.add_supplier("Quayside Spares")
    order = a_placed_order(seller.id, [NewOrderLine(part.id, 2, job_id=job.id)])
    lot = receive.receive(part.id, 2, a_bin(part).id, order_line_id=order.lines[0].id).lot_ids[0]
    lots.edit_lot(lot, cost_minor=None)
    jobs.close_job(job.id)
    report = wasted_purchases()
    assert (report.cost_minor, report.without_cost, report.items[0].cost_minor) == (0, 1, None)


def test_a_guess_shows_once_its_time_has_passed_and_not_when_a_level_asks_for_it() -> None:
    with clock.freeze_at(MORNING - timedelta(days=GUESS_DAYS + 1)):
        bought()  # what the bench begins with is no guess
    with clock.freeze_at(MORNING):
        part, receipt = bought()
    with clock.freeze_at(MORNING + timedelta(days=GUESS_DAYS - 1)):
        assert wasted_purchases().items == ()
    with clock.freeze_at(MORNING + timedelta(days=GUESS_DAYS + 1)):
        (wasted,) = wasted_purchases().items
        assert (wasted.job, wasted.lot.id) == (None, receipt.lot_ids[0])
        parts.edit_part(part.id, level=1)
        assert wasted_purchases().items == ()
        parts.edit_part(part.id, level=None)
        taken = pull.pull(1, lot_id=receipt.lot_ids[0], job_id=a_job().id)
        assert wasted_purchases().items == ()
        undo.undo(taken.entry)
        assert [purchase.lot.id for purchase in wasted_purchases().items] == [receipt.lot_ids[0]]


def test_what_was_ordered_after_a_job_had_used_the_part_is_no_guess() -> None:
    with clock.freeze_at(MORNING):
        part = a_part()
        bin_ = a_bin(part)
        receive.receive(part.id, 2, bin_.id, origin="found")
        pull.pull(1, part_id=part.id, job_id=a_job().id)
    with clock.freeze_at(MORNING + timedelta(days=1)):
        receive.receive(part.id, 5, bin_.id, cost_minor=100)
    with clock.freeze_at(MORNING + timedelta(days=200)):
        assert wasted_purchases().items == ()


def test_a_receipt_that_was_undone_was_never_bought() -> None:
    job = a_job()
    _, receipt = bought(job=job)
    undo.undo(receipt.entry)
    jobs.close_job(job.id)
    assert wasted_purchases().items == ()
