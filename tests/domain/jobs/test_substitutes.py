"""A part used instead of another: the ledger says what left, the want and the use are those of what was asked for."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.catalogue import history
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict, DomainError, Invalid
from inventory.domain.common.records import JobRecord, PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.jobs.fitted_substitutes import fitted_substitutes
from inventory.domain.movements import pull, receive, undo
from inventory.domain.reorder import usage, usage_totals
from inventory.reckoning.reorder.demand import DEFAULT_CONSTANTS
from inventory.store import job_use, verify
from inventory.store.connection import database
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")


@pytest.fixture
def part_and_substitute() -> tuple[PartRecord, PartRecord, JobRecord]:
    """A part that has run out, another one that fits, and a job that wants three."""
    header, (other, _, _), job = a_part("latched header"), a_stocked_part(9), a_job()
    jobs.set_need(job.id, header.id, 3)
    return header, other, job


def used(part: PartRecord) -> int:
    return int(usage.use_events([part.id]).quantity.sum())


def taken(job: JobRecord) -> int:
    return jobs.needs(job.id)[0].taken


def test_the_ledger_says_what_left_and_for_what(
    part_and_substitute: tuple[PartRecord, PartRecord, JobRecord],
) -> None:
    header, other, job = part_and_substitute
    result = pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    (line,) = history.movements(job_id=job.id).items
    assert (line.part_id, line.quantity, line.reason) == (other.id, -2, f"instead of {header.number}")
    assert f"instead of {header.name}" in result.sentence
    assert [
        (substitute.part_id, substitute.instead_id, substitute.kept)
        for substitute in fitted_substitutes(job_id=job.id)
    ] == [(header.id, other.id, 2)]


def test_it_meets_the_need_and_counts_as_use_of_what_was_asked_for(
    part_and_substitute: tuple[PartRecord, PartRecord, JobRecord],
) -> None:
    header, other, job = part_and_substitute
    pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    assert (taken(job), used(header), used(other)) == (2, 2, 0)
    every = usage.use_events()
    assert dict(zip(every.part_id.tolist(), every.quantity.tolist(), strict=True)) == {header.id: 2}


def test_what_was_put_back_before_it_stood_in_does_not_come_off_it() -> None:
    header, (other, _, _), job = a_part("latched header"), a_stocked_part(9), a_job()
    for part in (header, other):
        jobs.set_need(job.id, part.id, 3)
    pull.pull(2, part_id=other.id, job_id=job.id)
    pull.put_back(2, job_id=job.id, part_id=other.id)
    pull.pull(1, part_id=other.id, job_id=job.id, instead_of=header.id)
    assert [substitute.kept for substitute in fitted_substitutes()] == [1]
    assert (used(header), used(other)) == (1, 0)
    pull.put_back(1, job_id=job.id, part_id=other.id)
    assert [need.taken for need in jobs.needs(job.id)] == [0, 0]
    assert (used(header), used(other)) == (0, 0)


def test_a_need_that_is_said_later_counts_what_the_job_has_already() -> None:
    header, (other, _, _), job = a_part("latched header"), a_stocked_part(9), a_job()
    pull.pull(4, part_id=other.id, job_id=job.id)
    back = pull.put_back(1, job_id=job.id, part_id=other.id)
    pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    for part in (header, other):
        jobs.set_need(job.id, part.id, 5)
    assert [need.taken for need in jobs.needs(job.id)] == [2, 3]
    assert stock_of(other.id).promised == 2
    undo.undo(back.entry)
    assert [need.taken for need in jobs.needs(job.id)] == [2, 4]


def test_what_is_put_back_comes_off_what_stood_in_first(
    part_and_substitute: tuple[PartRecord, PartRecord, JobRecord],
) -> None:
    header, other, job = part_and_substitute
    pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    pull.pull(3, part_id=other.id, job_id=job.id)
    back = pull.put_back(1, job_id=job.id, part_id=other.id)
    assert (taken(job), used(header), used(other)) == (1, 1, 3)
    pull.put_back(2, job_id=job.id, part_id=other.id)
    assert (taken(job), used(header), used(other)) == (0, 0, 2)
    undo.undo(back.entry)
    assert (taken(job), used(header), used(other)) == (0, 0, 3)


def test_an_undo_takes_all_of_it_back(part_and_substitute: tuple[PartRecord, PartRecord, JobRecord]) -> None:
    header, other, job = part_and_substitute
    result = pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    undo.undo(result.entry)
    assert (taken(job), used(header), used(other), fitted_substitutes()) == (0, 0, 0, [])


def test_a_one_off_stands_in_and_is_not_expected_again(
    part_and_substitute: tuple[PartRecord, PartRecord, JobRecord],
) -> None:
    header, other, job = part_and_substitute
    pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id, one_off=True)
    assert (taken(job), used(header), used(other)) == (2, 0, 0)
    assert [(use.quantity, use.one_off) for use in usage.uses_of_part(header.id)] == [(2, True)]


def test_a_piece_may_stand_in(part_and_substitute: tuple[PartRecord, PartRecord, JobRecord]) -> None:
    header, _, job = part_and_substitute
    piece = a_piece("C-07")
    pull.pull_piece(piece.id, job_id=job.id, instead_of=header.id)
    assert (taken(job), used(header)) == (1, 1)
    pull.put_back(1, job_id=job.id, piece_id=piece.id)
    assert (taken(job), used(header)) == (0, 0)


def test_it_is_refused_without_a_job_and_in_another_measure(
    part_and_substitute: tuple[PartRecord, PartRecord, JobRecord],
) -> None:
    header, other, job = part_and_substitute
    with pytest.raises(Conflict, match="take a job in hand"):
        pull.pull(1, part_id=other.id, reason="trying", instead_of=header.id)
    wire = a_part("wire", "other", unit="mm")
    with pytest.raises(Invalid, match="measured in"):
        pull.pull(1, part_id=other.id, job_id=job.id, instead_of=wire.id)
    assert fitted_substitutes() == []


def test_what_is_remembered_of_use_follows(part_and_substitute: tuple[PartRecord, PartRecord, JobRecord]) -> None:
    header, other, job = part_and_substitute
    usage_totals.clear_cache()
    usage_totals.usage_totals(DEFAULT_CONSTANTS)
    pull.pull(2, part_id=other.id, job_id=job.id, instead_of=header.id)
    warm = usage_totals.usage_totals(DEFAULT_CONSTANTS)
    pull.put_back(1, job_id=job.id, part_id=other.id)
    again = usage_totals.usage_totals(DEFAULT_CONSTANTS)
    usage_totals.clear_cache()
    cold = usage_totals.usage_totals(DEFAULT_CONSTANTS)
    for part, pieces in ((header, 1), (other, 0)):
        row = cold.parts.rows_of([part.id])
        assert again.stats.s[row] == pytest.approx(cold.stats.s[row])
        assert bool(cold.stats.k[row] > 0) == bool(pieces)
    assert warm.stats.s[warm.parts.rows_of([header.id])] > again.stats.s[again.parts.rows_of([header.id])]


ACT = st.tuples(st.sampled_from(["pull", "instead", "put back", "undo", "receive"]), st.integers(0, 5))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ACT, max_size=16))
def test_use_of_both_parts_together_is_always_what_the_jobs_keep(acts: list[tuple[str, int]]) -> None:
    with database.atomic() as everything:
        (other, home, first), header = a_stocked_part(9), a_part("latched header")
        bin_, jobs_ = a_bin(header), [a_job(), a_job()]
        entries = [first.entry]
        for what, number in acts:
            job = jobs_[number % 2].id
            with suppress(DomainError), database.atomic():
                if what == "receive":
                    result = receive.receive(header.id, 1, bin_.id)
                elif what == "put back":
                    result = pull.put_back(1 + number % 2, job_id=job, part_id=other.id)
                elif what == "undo":
                    result = undo.undo(entries[-1 - number % len(entries)])
                else:
                    instead = header.id if what == "instead" else None
                    result = pull.pull(1 + number % 3, bin_id=home.id, job_id=job, instead_of=instead)
                entries.append(result.entry)
        job_quantities = {
            job.id: sum(number for _, number in job_use.loose_of_job(job.id, other.id)) for job in jobs_
        }
        events = usage.use_events([header.id, other.id])
        for job_id, number in job_quantities.items():
            assert int(events.quantity[events.job_id == job_id].sum()) == number
        assert used(header) == sum(substitute.kept for substitute in fitted_substitutes())
        assert used(header) + used(other) == sum(job_quantities.values())
        assert verify.verify_ledger().sound
        everything.rollback()
