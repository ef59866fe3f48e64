"""Pulling for a job: what the bench may take, and what it is told when it may not."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from inventory.domain.catalogue import stock_totals
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.store import verify
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def test_it_takes_one_for_the_job_and_says_what_is_left() -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    result = pull.pull(bin_id=bin_.id, job_id=job.id, by=a_person().id)
    assert (result.quantity, result.left_in_bin) == (1, 4)
    assert result.sentence == f"1 piece of {part.name} taken from {bin_.name} for job {job.number}."
    assert stock_totals.stock_of(part.id).on_shelf == 4


def test_it_refuses_below_zero_and_says_who_took_the_last_and_where_more_is() -> None:
    part, bin_, _ = a_stocked_part(1)
    other = a_bin(part, name="B-02")
    receive.receive(part.id, 7, other.id)
    ines = a_person(name="ines")
    job = a_job()
    pull.pull(bin_id=bin_.id, job_id=job.id, by=ines.id)
    with pytest.raises(Conflict) as refused:
        pull.pull(bin_id=bin_.id, job_id=job.id, by=ines.id)
    assert refused.value.reason == "not_enough"
    assert f"{bin_.name} has none left, not 1 piece." in refused.value.sentence
    assert f"ines took the last 1 piece for job {job.number}" in refused.value.sentence
    assert "Bin B-02 has 7 pieces." in refused.value.sentence


def test_it_says_who_took_the_last_only_when_it_ran_out_by_that() -> None:
    _, bin_, _ = a_stocked_part(20)
    ines, job = a_person(name="ines"), a_job()
    taken = pull.pull(bin_id=bin_.id, job_id=job.id, by=ines.id)

    def told(quantity: int) -> str:
        with pytest.raises(Conflict) as refused:
            pull.pull(bin_id=bin_.id, quantity=quantity, job_id=job.id, by=ines.id)
        return refused.value.sentence

    assert f"{bin_.name} has 19 pieces left, not 50 pieces." in told(50)
    assert "took the last" not in told(50)
    undo.undo(taken.entry)
    tomas = a_person(name="tomas")
    pull.pull(bin_id=bin_.id, quantity=20, job_id=job.id, by=tomas.id)
    assert "tomas took the last 20 pieces" in told(1)


def test_it_names_nobody_when_a_count_found_none() -> None:
    part, bin_, received = a_stocked_part(2)
    assert received.made_lot is not None
    ines, job = a_person(name="ines"), a_job()
    pull.pull(bin_id=bin_.id, job_id=job.id, by=ines.id)
    adjustments.count(bin_.id, received.made_lot.id, 0)
    with pytest.raises(Conflict) as refused:
        pull.pull(part_id=part.id, bin_id=bin_.id, job_id=job.id, by=ines.id)
    assert "has none left" in refused.value.sentence
    assert "took the last" not in refused.value.sentence


def test_it_refuses_a_closed_job_and_says_what_to_do() -> None:
    _, bin_, _ = a_stocked_part()
    job = a_job()
    jobs.close_job(job.id)
    with pytest.raises(Conflict, match="is closed: take another job in hand, or reopen this one"):
        pull.pull(bin_id=bin_.id, job_id=job.id)


def test_it_wants_a_job_or_a_reason() -> None:
    _, bin_, _ = a_stocked_part()
    with pytest.raises(Conflict, match="Take a job in hand first, or say what it is for"):
        pull.pull(bin_id=bin_.id)
    assert pull.pull(bin_id=bin_.id, reason="test rig").sentence.endswith(": test rig.")


def test_it_takes_the_lot_that_expires_first_then_the_oldest() -> None:
    part = a_part(kind="consumable", name="UV-curing mask")
    bin_ = a_bin(part)
    soon = (clock.now() + timedelta(days=30)).date()
    undated = receive.receive(part.id, 2, bin_.id).made_lot
    late = receive.receive(part.id, 2, bin_.id, best_before=soon + timedelta(days=300)).made_lot
    early = receive.receive(part.id, 2, bin_.id, best_before=soon).made_lot
    job = a_job()
    taken = [pull.pull(bin_id=bin_.id, job_id=job.id).lot_ids[0] for _ in range(6)]
    assert None not in (undated, late, early)
    assert taken == [early.id] * 2 + [late.id] * 2 + [undated.id] * 2


def test_it_takes_a_lot_past_its_date_only_when_told_to_and_keeps_that() -> None:
    past = datetime(2026, 1, 10, tzinfo=UTC)
    with clock.freeze_at(past):
        _, bin_, _ = a_stocked_part(3, best_before=(past + timedelta(days=20)).date())
    job = a_job()
    with pytest.raises(Conflict) as refused:
        pull.pull(bin_id=bin_.id, job_id=job.id)
    assert refused.value.reason == "past_date"
    assert pull.pull(bin_id=bin_.id, job_id=job.id, past_date_ok=True).warnings


def test_it_spans_lots_when_the_first_has_too_few() -> None:
    part, bin_, first = a_stocked_part(2)
    second = receive.receive(part.id, 5, bin_.id)
    result = pull.pull(4, bin_id=bin_.id, job_id=a_job().id)
    assert result.lot_ids == first.lot_ids + second.lot_ids
    assert result.left_in_bin == 3


def test_it_asks_which_part_when_a_bin_holds_several() -> None:
    bin_ = a_bin(mixed=True)
    for _ in range(2):
        receive.receive(a_part().id, 1, bin_.id)
    with pytest.raises(Invalid, match="holds several parts: say which one"):
        pull.pull(bin_id=bin_.id, job_id=a_job().id)


@pytest.mark.parametrize("quantity", [0, -1, 10**9 + 1, True, "3", 1.5])
def test_it_refuses_a_quantity_that_cannot_be_right(quantity: object) -> None:
    _, bin_, _ = a_stocked_part()
    with pytest.raises(Invalid):
        pull.pull(quantity, bin_id=bin_.id, job_id=a_job().id)  # type: ignore[arg-type]


def test_it_meets_the_need_of_the_job_and_gives_it_back() -> None:
    part, bin_, _ = a_stocked_part()
    job = a_job()
    jobs.set_need(job.id, part.id, 3)
    assert stock_totals.stock_of(part.id).promised == 3
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    assert jobs.needs(job.id)[0].missing == 1
    pull.put_back(1, job_id=job.id, part_id=part.id)
    assert jobs.needs(job.id)[0].missing == 2
    assert verify.verify_ledger().sound


def test_it_puts_back_no_more_than_the_job_took() -> None:
    part, bin_, _ = a_stocked_part()
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    with pytest.raises(Conflict, match="has only 2 of that"):
        pull.put_back(3, job_id=job.id, part_id=part.id)
    result = pull.put_back(2, job_id=job.id, part_id=part.id)
    assert result.left_in_bin == 5
