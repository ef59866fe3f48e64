"""Provenance both ways: where a lot came from, every job it reached, and back from a job to every lot and piece."""

from __future__ import annotations

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof import proofs
from inventory.domain.quality.trace import trace_job, trace_lot
from inventory.store.job_use import of_job, of_lot
from tests.factories import a_bin, a_job, a_part, a_placed_order, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")


def test_it_says_where_all_of_a_lot_went() -> None:
    part, bin_, receipt = a_stocked_part(20, cost_minor=1000)
    lot, job, other = receipt.lot_ids[0], a_job(), a_job()
    pull.pull(3, bin_id=bin_.id, job_id=job.id)
    pull.pull(4, bin_id=bin_.id, job_id=other.id)
    pull.put_back(1, job_id=other.id, part_id=part.id)
    pull.pull(2, bin_id=bin_.id, reason="training")
    adjustments.scrap(1, bin_id=bin_.id, lot_id=lot, reason="bent")
    jobs.close_job(other.id)
    trace = trace_lot(lot)
    assert [(job.job.id, job.quantity) for job in trace.jobs] == [(job.id, 3), (other.id, 3)]
    assert (trace.left, trace.scrapped, trace.otherwise) == (11, 1, 2)
    assert [(place.bin.id, place.quantity) for place in trace.places] == [(bin_.id, 11)]


def test_it_leaves_out_a_job_that_put_everything_back_or_whose_pull_was_undone() -> None:
    part, bin_, receipt = a_stocked_part(9)
    back, undone = a_job(), a_job()
    pull.pull(2, bin_id=bin_.id, job_id=back.id)
    pull.put_back(2, job_id=back.id, part_id=part.id)
    undo.undo(pull.pull(2, bin_id=bin_.id, job_id=undone.id).entry)
    assert of_lot(receipt.lot_ids[0]) == {}
    assert of_job(back.id) == of_job(undone.id) == {}


def test_it_does_not_take_what_was_scrapped_on_a_job_for_something_in_its_unit() -> None:
    _, bin_, receipt = a_stocked_part(9)
    lot, job = receipt.lot_ids[0], a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    broke = adjustments.scrap(3, bin_id=bin_.id, lot_id=lot, job_id=job.id, reason="latch broke")
    assert of_lot(lot) == {job.id: 2}
    undo.undo(broke.entry)
    assert of_lot(lot) == {job.id: 2}
    assert of_job(job.id) == {lot: 2}


def test_it_names_the_order_and_the_supplier_of_a_delivery() -> None:
    part = a_part()
    bin_, seller = a_bin(part), suppliers.add_supplier("Quayside Spares")
    order = a_placed_order(seller.id, [NewOrderLine(part.id, 10, cost_minor=500)])
    lot = receive.receive(part.id, 10, bin_.id, order_line_id=order.lines[0].id).lot_ids[0]
    origin = trace_lot(lot).origin
    assert (origin.supplier_id, origin.order_id) == (seller.id, order.id)
    assert "Delivered by Quayside Spares" in origin.told
    assert f"on order {order.number}" in origin.told


def test_it_says_what_a_donor_unit_was_given_up_for() -> None:
    part, job = a_part("24 V fan", "fan"), a_job(unit_model="Tern 12 powered speaker")
    jobs.close_job(job.id, "Cabinet crushed in transport.")
    lot = receive.receive(part.id, 1, a_bin(part).id, origin="donor", job_id=job.id, donor_worked=True).lot_ids[0]
    origin = trace_lot(lot).origin.told
    assert "Tern 12 powered speaker" in origin
    assert "which worked" in origin
    assert "Cabinet crushed in transport." in origin


def test_it_follows_pieces_into_jobs_that_only_borrowed_them() -> None:
    piece, borrower = a_piece("C-07"), a_job()
    lent = swap_tests.take_piece(piece.id, borrower.id)
    swap_tests.bring_back_piece(lent.loan.id, "cannot tell")
    trace = trace_lot(piece.lot_id)
    assert [(job.job.id, job.quantity, [p.id for p in job.borrowed]) for job in trace.jobs] == [
        (borrower.id, 0, [piece.id])
    ]
    assert [piece.piece.id for piece in trace.pieces] == [piece.id]


def test_a_job_shows_what_it_used_borrowed_and_proved() -> None:
    _, bin_, receipt = a_stocked_part(10, cost_minor=999)
    job, fan = a_job(), a_piece("C-07")
    pull.pull(3, bin_id=bin_.id, job_id=job.id)
    lent = swap_tests.take_piece(fan.id, job.id)
    swap_tests.bring_back_piece(lent.loan.id, "works with it")
    fitted = a_piece("C-08", spare=False)
    pull.pull_piece(fitted.id, job_id=job.id)
    trace = trace_job(job.id)
    used = {use.lot.id: use for use in trace.used}
    assert used[receipt.lot_ids[0]].quantity == 3
    assert used[receipt.lot_ids[0]].cost_minor == trace.cost_minor == 300
    assert [piece.id for piece in used[fitted.lot_id].pieces] == [fitted.id]
    assert [use.piece_id for use in trace.borrowed] == [fan.id]
    assert trace.proved_names == ("C-07",)
    assert proofs.proofs(job_id=job.id).items[0].piece_id == fan.id
