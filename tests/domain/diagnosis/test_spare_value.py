"""Which spares are worth keeping: counted from the bench's own jobs, valued by the formula, ranked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import bins, parts
from inventory.domain.common import clock, shop
from inventory.domain.common.records import PartRecord
from inventory.domain.diagnosis import job_closing, spare_value, swap_tests
from inventory.domain.diagnosis.diagnosis_records import SpareValueRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive
from inventory.reckoning.diagnosis.spare_value import SpareCase, assess_spare_value
from tests.factories import a_bin, a_job, a_part, a_placed_order
from tests.proof_factories import FAN_ATTRIBUTES, a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")
NOW = datetime(2026, 9, 30, 12, tzinfo=UTC)


def sold_part(number: str, price_minor: int = 1800, kind: str = "fan", **more: object) -> PartRecord:
    """Add a part that Northgate sells with a lead time of four days."""
    part = a_part(number, kind, number=number, attributes=FAN_ATTRIBUTES if kind == "fan" else {}, **more)
    known = [supplier for supplier in suppliers.suppliers().items if supplier.name == "Northgate"]
    seller = known[0] if known else suppliers.add_supplier("Northgate", lead_days=4)
    suppliers.add_offer(part.id, seller.id, price_minor)
    return part


def a_past_job(part: PartRecord, days: int, *, bad: bool, ordered: bool = False) -> int:
    """Open and close a job so many days ago that suspected a part."""
    with clock.freeze_at(NOW - timedelta(days=days)):
        job = a_job()
        suspect = jobs.add_suspect(job.id, part.name, part.id)
        if ordered:
            seller = suppliers.suppliers().items[0]
            a_placed_order(seller.id, [NewOrderLine(part.id, 1, job_id=job.id)])
        job_closing.close_with_causes(job.id, was=[suspect.id] if bad else [], something_else=not bad)
    return job.id


def kept(part: PartRecord) -> SpareValueRecord:
    with clock.freeze_at(NOW):
        return next(value for value in spare_value.spare_values().parts if value.part.id == part.id)


def test_it_counts_the_jobs_that_suspected_a_part_and_what_they_were() -> None:
    fan = sold_part("FN-1")
    for days, bad in ((365, True), (200, True), (90, False), (10, False)):
        a_past_job(fan, days, bad=bad)
    value = kept(fan)
    assert (value.jobs, value.times_bad) == (4, 2)
    assert value.jobs_a_year == pytest.approx(4, abs=0.01)
    assert value.p_bad == pytest.approx((2 + 0.3 * 2) / 6)  # with .3 counted as two jobs


def test_its_value_is_that_of_the_formula_with_the_shops_figures() -> None:
    fan = sold_part("FN-1")
    a_past_job(fan, 365, bad=True)
    a_past_job(fan, 100, bad=False)
    value = kept(fan)
    by_hand = assess_spare_value(
        SpareCase(
            jobs=value.jobs_a_year, p_bad=1.6 / 4, price=1800, lead_days=value.lead_days, waiting_day=600,
            minutes_in=15, minutes_out=10, harm=0.005, p_good=0.98, recovered=0.5, minute=80, holding=0.25, proofs=1,
            minutes_proof=10, ordered_if_bad=0.93 * 5 / 6, ordered_if_good=0.15 * 5 / 6,
        )
    )  # fmt: skip
    assert value.value_minor == round(by_hand.per_year)
    assert value.saving_minor == round(by_hand.saving)
    assert value.break_even_jobs == pytest.approx(by_hand.break_even_jobs)
    assert value.lead_days == pytest.approx(4, abs=0.2)


def test_how_often_it_is_ordered_in_vain_is_counted_from_the_bench_own_log() -> None:
    fan = sold_part("FN-1")
    a_past_job(fan, 300, bad=True, ordered=True)
    a_past_job(fan, 200, bad=False, ordered=True)
    a_past_job(fan, 100, bad=False)
    value = kept(fan)
    assert value.ordered_if_bad == pytest.approx((1 + 0.93 * 5) / 6)
    assert value.ordered_if_good == pytest.approx((1 + 0.15 * 5) / 7)
    assert value.orders_seen == 3


def test_the_most_valuable_comes_first_and_rare_ones_cost_more_than_they_save() -> None:
    common, rare = sold_part("FN-1"), sold_part("MD-1", 30_000, "module")
    for days in range(20, 400, 20):
        a_past_job(common, days, bad=days % 40 == 0)
    a_past_job(rare, 350, bad=False)
    with clock.freeze_at(NOW):
        values = spare_value.spare_values()
    assert [part.part.number for part in values.parts] == ["FN-1", "MD-1"]
    assert values.parts[0].value_minor > 0 > values.parts[1].value_minor
    assert values.parts[1].break_even_jobs is not None
    assert values.parts[1].jobs_a_year < values.parts[1].break_even_jobs


def test_a_dearer_waiting_day_makes_it_worth_more() -> None:
    fan = sold_part("FN-1")
    for days in (365, 250, 120):
        a_past_job(fan, days, bad=True)
    before = kept(fan).value_minor
    shop.edit_shop(waiting_day_minor=2400)
    assert kept(fan).value_minor > before


def test_it_says_which_spares_there_are_and_what_keeping_them_has_saved() -> None:
    fan = sold_part("FN-1")
    a_past_job(fan, 365, bad=True)
    assert kept(fan).saved_minor is None
    with clock.freeze_at(NOW - timedelta(days=180)):
        piece = a_piece("C-07", part_id=fan.id)
        prove_fan(piece.id)
    for days in (150, 60):
        with clock.freeze_at(NOW - timedelta(days=days)):
            job = a_job()
            suspect = jobs.add_suspect(job.id, "fan", fan.id)
            swap_tests.bring_back_piece(
                swap_tests.take_piece(piece.id, job.id, suspect_id=suspect.id).loan.id, "works with it"
            )
            job_closing.close_with_causes(job.id, was=[suspect.id])
    value = kept(fan)
    assert (value.pieces, value.proved, value.swapped_jobs) == (("C-07",), 1, 2)
    assert value.kept_since == NOW - timedelta(days=180)
    assert value.orders_seen == 1  # the swapped jobs say nothing of what would have been ordered
    assert value.saved_minor is not None
    # the saving of two jobs, less half a year of a quarter of 18.00 and one proof of ten minutes at .80
    per_job = value.saving_minor
    assert value.saved_minor == pytest.approx(2 * per_job - (450 + 800) * 180 / 365.25, abs=0.1 * 2 * per_job)
    assert value.saved_minor < 2 * per_job


def test_a_spare_that_nobody_ever_suspected_shows_what_it_costs() -> None:
    fan = sold_part("FN-1")
    with clock.freeze_at(NOW - timedelta(days=365)):
        a_piece("C-07", part_id=fan.id)
    value = kept(fan)
    assert (value.jobs, value.value_minor < 0) == (0, True)
    assert value.saved_minor is not None
    assert value.saved_minor < 0


def test_parts_without_a_price_are_named_apart() -> None:
    part = a_part("Odd board", "module")
    a_past_job(part, 30, bad=True)
    with clock.freeze_at(NOW):
        values = spare_value.spare_values()
    assert (values.parts, [value.name for value in values.unpriced]) == ((), ["Odd board"])


def test_what_was_paid_for_it_last_is_its_price_without_an_offer() -> None:
    part = a_part("Odd board", "module")
    seller = suppliers.add_supplier("Quayside Spares", lead_days=9)
    receive.receive(part.id, 2, a_bin(part).id, supplier_id=seller.id, cost_minor=5000)
    a_past_job(part, 30, bad=True)
    assert (kept(part).price_minor, kept(part).lead_days) == (2500, pytest.approx(9, abs=0.5))


def test_jobs_older_than_two_years_and_retired_parts_are_left_out() -> None:
    fan = sold_part("FN-1")
    a_past_job(fan, 900, bad=True)
    a_past_job(fan, 90, bad=True)
    assert (kept(fan).jobs, kept(fan).jobs_a_year) == (1, 0.5)
    parts.edit_part(fan.id, retired=True)
    with clock.freeze_at(NOW):
        assert spare_value.spare_values().parts == ()


def test_an_empty_bench_has_an_empty_list() -> None:
    values = spare_value.spare_values()
    assert (values.parts, values.saved_minor) == ((), 0)
    assert all(figure.assumed for figure in values.figures)


def test_no_bin_is_needed_to_say_so() -> None:
    """A spare that was fitted for good is no longer there, and what it saved is still told."""
    fan = sold_part("FN-1")
    with clock.freeze_at(NOW - timedelta(days=40)):
        piece = a_piece("C-07", part_id=fan.id)
        job = a_job()
        suspect = jobs.add_suspect(job.id, "fan", fan.id)
        swap_tests.leave_piece_fitted(swap_tests.take_piece(piece.id, job.id, suspect_id=suspect.id).loan.id)
    assert bins.stocked_pieces(part_id=fan.id) == []
    value = kept(fan)
    assert (value.pieces, value.swapped_jobs) == ((), 1)
    assert value.saved_minor is not None
