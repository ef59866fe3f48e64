"""What a customer is told begins with what the bench knows, goes out as worded, and is answered once it stands."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import parts
from inventory.domain.common import clock, shop
from inventory.domain.common.errors import Conflict, Invalid, Stale
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.money import notices
from inventory.domain.money.notice_draft import draft_notice
from inventory.domain.money.notice_records import NoticeLine
from inventory.domain.movements import pull
from tests.factories import a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")
NOW = datetime(2026, 3, 2, 10, tzinfo=UTC)
FAN = (NoticeLine("A new fan", 1850), NoticeLine("Its finger guard", None))


def offered(name: str = "Rear fan", price_minor: int = 1000, lead_days: int = 4, **more: object) -> PartRecord:
    """Add a part that somebody sells."""
    part = a_part(name, "fan", **more)
    seller = suppliers.add_supplier(f"Seller of {part.number}", lead_days=lead_days)
    suppliers.add_offer(part.id, seller.id, price_minor)
    return part


# ---- what it begins with ---------------------------------------------------------------------------------


def test_it_begins_with_what_was_found_and_what_the_job_still_needs() -> None:
    job, part = a_job(), offered(price_minor=1850)
    bad, good = jobs.add_suspect(job.id, "Rear fan"), jobs.add_suspect(job.id, "Fan harness")
    jobs.set_verdict(bad.id, "bad")
    jobs.set_verdict(good.id, "good")
    jobs.set_need(job.id, part.id, 2)
    begun = draft_notice(job.id)
    assert begun.found == "Faulty: Rear fan."
    assert [(line.words, line.price_minor) for line in begun.lines] == [("2 pieces of Rear fan", 3700)]
    assert (begun.minutes, begun.work_minor) == (20, 1600)  # a part to fit, at 48.00 an hour
    assert not begun.unsafe


def test_what_is_on_the_shelf_is_here_today_unless_another_job_was_promised_it() -> None:
    part, _, _ = a_stocked_part(3, cost_minor=300)
    first, second = a_job(), a_job()
    jobs.set_need(first.id, part.id, 2)
    with clock.freeze_at(NOW):
        assert draft_notice(first.id).lines[0].where == "on the shelf"
        assert draft_notice(first.id).ready == NOW.date() + timedelta(days=1)
        jobs.set_need(second.id, part.id, 2)
        line = draft_notice(second.id).lines[0]
        assert line.where.startswith("to be ordered")
        assert line.here > NOW.date()


def test_what_is_ordered_is_here_on_the_day_that_it_is_expected() -> None:
    with clock.freeze_at(NOW):
        job, part = a_job(), offered()
        jobs.set_need(job.id, part.id, 1)
        seller = suppliers.offers(part_id=part.id).items[0].supplier_id
        order = orders.draft_order(seller, [NewOrderLine(part.id, 1)])
        assert "to be ordered" in draft_notice(job.id).lines[0].where  # a draft is no order yet
        orders.place_order(order.id, expected=date(2026, 3, 9))
        assert (draft_notice(job.id).lines[0].where, draft_notice(job.id).lines[0].here) == (
            "ordered, expected 9 Mar", date(2026, 3, 9)
        )  # fmt: skip
        assert draft_notice(job.id).ready == date(2026, 3, 10)
    with clock.freeze_at(NOW + timedelta(days=20)):  # it is late: nobody knows when it comes
        assert draft_notice(job.id).lines[0].here > date(2026, 3, 22)


def test_what_is_to_be_ordered_is_here_when_nine_in_ten_deliveries_would_have_come() -> None:
    with clock.freeze_at(NOW):
        soon, late = offered("Belt", lead_days=2), offered("Lamp", lead_days=20)
        job = a_job()
        jobs.set_need(job.id, soon.id, 1)
        jobs.set_need(job.id, late.id, 1)
        begun = draft_notice(job.id)
        first, last = begun.lines
        assert first.here < last.here
        assert last.here >= NOW.date() + timedelta(days=20)
        assert begun.ready == last.here + timedelta(days=1)
        assert f"nine in ten come within {(last.here - NOW.date()).days} days" in last.where


def test_prices_are_the_customers_with_the_shops_mark_up_and_hour() -> None:
    part, bin_, _ = a_stocked_part(10, cost_minor=1000)
    job, fan = a_job(), offered(price_minor=2000)
    pull.pull(3, bin_id=bin_.id, job_id=job.id)
    jobs.set_need(job.id, fan.id, 1)
    shop.edit_shop(markup=0.25, hour_minor=6000, minutes_fit=30, ready_days=0)
    begun = draft_notice(job.id)
    assert [(line.words, line.price_minor) for line in begun.lines] == [
        ("Parts fitted so far", 375), ("1 piece of Rear fan", 2500)
    ]  # fmt: skip
    assert begun.work_minor == 3000
    assert part.id != fan.id


def test_a_price_that_nobody_knows_is_left_open() -> None:
    job, part = a_job(), a_part("Odd lamp", "other")
    jobs.set_need(job.id, part.id, 1)
    line = draft_notice(job.id).lines[0]
    assert line.price_minor is None
    assert line.where.startswith("to be ordered: nine in ten come within")


def test_something_at_mains_is_not_to_be_used_as_it_is() -> None:
    job, part = a_job(), a_part("Supply 36 V", "supply")
    assert "mains" in parts.part(part.id).hazards
    jobs.set_need(job.id, part.id, 1)
    assert draft_notice(job.id).unsafe


# ---- what goes out ---------------------------------------------------------------------------------------


def test_it_says_word_for_word_what_the_customer_reads() -> None:
    with clock.freeze_at(NOW):
        job = a_job(number="J-7", unit_serial="C7-1", customer="Quarry Bank")
        notice = notices.record_notice(
            job.id, found="The fan is worn out.", lines=FAN, work_minor=3200, ready=date(2026, 3, 9), unsafe=True,
            bench="Harbour Street", currency="EUR",
        )  # fmt: skip
    assert notice.text == (
        "Your repair J-7: Corvid 7 moving head, serial C7-1\n\n"
        "What we found\nThe fan is worn out.\n\n"
        "Please do not use it as it is: it is not safe. It must not be plugged in until it is mended.\n\n"
        "What it takes\n- A new fan: 18.50 EUR\n- Its finger guard: price to come\n- Work: 32.00 EUR\n"
        "Together: at least 50.50 EUR\n\n"
        "If you agree now, it will most likely be ready on 9 March 2026.\n\n"
        "Please tell us: shall we go ahead, or do you want it back as it is?\n\n"
        "Harbour Street\n2 March 2026\n"
    )
    assert notice.total_minor == 5050


def test_the_job_waits_for_the_answer_and_goes_on_with_it() -> None:
    job, person = a_job(), None
    notice = notices.record_notice(job.id, found="Worn.", by=person)
    assert (jobs.job(job.id).status, jobs.job(job.id).waiting_for) == ("waiting", "the customer's answer")
    answered = notices.record_answer(notice.id, "agreed", remark="go on")
    assert (answered.answer, answered.remark) == ("agreed", "go on")
    assert jobs.job(job.id).status == "open"


def test_a_job_that_waits_for_something_else_goes_on_waiting() -> None:
    job = a_job()
    notice = notices.record_notice(job.id, found="Worn.", wait=False)
    jobs.mark_waiting(job.id, "a lamp in the post")
    notices.record_answer(notice.id, "agreed")
    assert jobs.job(job.id).waiting_for == "a lamp in the post"


@pytest.mark.parametrize("drop", [True, False])
def test_declined_it_wants_no_more_of_what_it_has_not_got(drop: bool) -> None:
    part, bin_, _ = a_stocked_part(9)
    job, other = a_job(), offered()
    jobs.set_need(job.id, part.id, 2)
    jobs.set_need(job.id, other.id, 1)
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    notice = notices.record_notice(job.id, found="Worn.")
    notices.record_answer(notice.id, "declined", drop_needs=drop)
    assert [need.dropped for need in jobs.needs(job.id)] == [False, drop]


def test_only_the_newest_is_answered_and_an_answer_is_corrected() -> None:
    job = a_job()
    first, second = (
        notices.record_notice(job.id, found="Worn."),
        notices.record_notice(job.id, found="Worn, and the lamp too."),
    )
    with pytest.raises(Conflict, match="A newer notice of this job went out: note the answer to that one"):
        notices.record_answer(first.id, "agreed")
    notices.record_answer(second.id, "agreed", version=second.version)
    with pytest.raises(Stale):
        notices.record_answer(second.id, "declined", version=second.version)
    assert notices.record_answer(second.id, "declined").answer == "declined"
    assert [(notice.id, notice.newest, notice.answer) for notice in notices.notices(job.id)] == [
        (second.id, True, "declined"), (first.id, False, "")
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"found": "  "}, "found"), ({"found": "x" * 2001}, "found"), ({"work_minor": -1}, "work_minor"),
        ({"lines": [NoticeLine("", 5)]}, "lines"), ({"lines": [NoticeLine("fan", -5)]}, "lines"),
        ({"lines": [NoticeLine("fan", 5)] * 31}, "lines"), ({"ready": date(2026, 3, 1)}, "ready"),
        ({"ready": date(2029, 1, 1)}, "ready"), ({"ready": date(1999, 1, 1)}, "ready"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_nothing_is_kept(fields: dict[str, object], field: str) -> None:
    job = a_job()
    with clock.freeze_at(NOW), pytest.raises(Invalid) as refused:
        notices.record_notice(job.id, **{"found": "Worn.", **fields})  # type: ignore[arg-type]
    assert list(refused.value.errors) == [field]
    assert notices.notices(job.id) == []
    assert jobs.job(job.id).status == "open"


def test_the_customer_of_a_closed_job_is_told_nothing_new() -> None:
    job = a_job()
    jobs.close_job(job.id)
    with pytest.raises(Conflict, match="is closed"):
        notices.record_notice(job.id, found="Worn.")
    with pytest.raises(Invalid, match="agreed, declined"):
        notices.record_answer(1, "perhaps")


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.one_of(st.none(), st.integers(0, 10**9)), max_size=30), st.integers(0, 10**9))
def test_the_sum_is_that_of_its_lines(prices: list[int | None], work: int) -> None:
    lines = [NoticeLine("thing", price) for price in prices]
    notice = notices.record_notice(a_job().id, found="Worn.", lines=lines, work_minor=work, currency="JPY")
    assert notice.total_minor == work + sum(price or 0 for price in prices)
    assert notice.text.count("- thing: ") == len(prices)
    if prices or work:
        least = "at least " if None in prices else ""
        assert f"Together: {least}{notice.total_minor} JPY\n" in notice.text
