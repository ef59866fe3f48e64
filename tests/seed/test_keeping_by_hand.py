"""What keeping one spare of the demo is worth, worked out step by step as the numbers page tells it.

The formula is that of docs/numbers.md ("Which spares to keep"): S = f w L + z (1 - r) P, and a year
V = N A [S - p (1 - g)(w L + (t_in + t_out) R) - f (1 - p) d P] - h P - k t_proof R, A = 1 / (1 + N p L / 365).
Nothing here calls the reckoning: the counts are read from the tables, the rest is arithmetic.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.common import clock
from inventory.domain.diagnosis import spare_value
from inventory.domain.diagnosis.diagnosis_records import SpareValueRecord
from inventory.store.tables import Job, Loan, Order, OrderLine, Part, Piece, Suspect

pytestmark = pytest.mark.usefixtures("demo")
YEAR = timedelta(days=365.25)
W, R, H, REST = 600, 80, 0.25, 0.5  # waiting day, minute, holding share, recovered share: the shop's own (assumed)
T_IN, T_OUT, T_PROOF, D, K = 15, 10, 10, 0.005, 1  # minutes; a fan's harm a run, and proofs a year (assumed)


def head_fan() -> Part:
    return Part.get(Part.number == "FN-301")


def on_the_list() -> SpareValueRecord:
    return next(part for part in spare_value.spare_values().parts if part.part.number == "FN-301")


def counted() -> tuple[set[int], set[int], set[int], set[int], set[int]]:
    """Return the jobs that suspected it, on which it was bad, or good, that swapped one, and that ordered one."""
    part = head_fan()
    rows = list(Suspect.select(Suspect, Job).join(Job).where(Suspect.part == part.id))
    rows = [row for row in rows if row.job.opened >= clock.now() - 2 * YEAR]
    closed = [row for row in rows if row.job.status == "closed"]
    swaps = Loan.select(Loan, Piece).join(Piece).where(Piece.part == part.id)
    lines = OrderLine.select(OrderLine, Order).join(Order).where(OrderLine.part == part.id)
    return (
        {row.job_id for row in rows},
        {job.job_id for job in closed if job.verdict == "bad"},
        {job.job_id for job in closed if job.verdict == "good"},
        {swap.job_id for swap in swaps if swap.result in ("works with it", "still fails")},
        {line.job_id for line in lines if line.job_id is not None and line.order.status != "cancelled"},
    )


def test_the_yearly_worth_of_the_head_fan_is_the_formula_worked_out_by_hand() -> None:
    jobs, bad, good, swapped, ordered = counted()
    years = min(max((clock.now() - min(job.opened for job in Job.select())) / YEAR, 0.5), 2.0)
    value = on_the_list()
    assert (value.jobs, value.times_bad) == (len(jobs), len(bad))

    n = len(jobs) / years
    p = (len(bad) + 0.3 * 2) / (len(bad | good) + 2)  # .3 is assumed, and counts as two jobs
    if_bad = (len(bad & ordered - swapped) + 0.93 * 5) / (len(bad - swapped) + 5)  # .93 and .15 as five jobs
    if_good = (len(good & ordered - swapped) + 0.15 * 5) / (len(good - swapped) + 5)
    assert (n, p, if_bad, if_good) == pytest.approx(
        (value.jobs_a_year, value.p_bad, value.ordered_if_bad, value.ordered_if_good), rel=1e-4
    )

    z = if_good * (1 - p)
    f = if_bad * p + z
    price, days, g = value.price_minor, value.lead_days, value.p_good
    s = f * W * days + z * (1 - REST) * price
    misled = p * (1 - g) * (W * days + (T_IN + T_OUT) * R)
    harmed = f * (1 - p) * D * price
    a = 1 / (1 + n * p * days / 365)
    upkeep = H * price + K * T_PROOF * R
    v = n * a * (s - misled - harmed) - upkeep
    assert value.saving_minor == pytest.approx(s, abs=1)
    assert value.value_minor == pytest.approx(v, abs=2)  # the price is shown rounded to a cent

    # break-even: the number of jobs a year at which the same sum is nothing
    assert value.break_even_jobs is not None
    even = value.break_even_jobs
    assert even / (1 + even * p * days / 365) * (s - misled - harmed) == pytest.approx(upkeep, rel=1e-3)

    # saved so far: the saving of each job that swapped one, less what holding cost since the first was kept
    since = min(piece.created for piece in Piece.select().where(Piece.part == head_fan().id, Piece.spare))
    saved = len(swapped) * (s - misled - harmed) - (clock.now() - since) / YEAR * upkeep
    assert value.saved_minor == pytest.approx(saved, abs=len(swapped))


def test_the_worth_of_the_whole_list_is_the_sum_of_its_parts_and_ranked() -> None:
    report = spare_value.spare_values()
    values = [part.value_minor for part in report.parts]
    assert values == sorted(values, reverse=True)
    assert report.saved_minor == sum(part.saved_minor or 0 for part in report.parts)
