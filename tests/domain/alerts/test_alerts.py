"""Alerts: raised for what needs doing, seen, put off, over, and back again."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from inventory.domain.alerts import alerts
from inventory.domain.alerts.alert_records import AlertRecord
from inventory.domain.alerts.alert_sources import ALERT_KINDS
from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots, parts
from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.quality import recall
from inventory.pages.jobs import job_screen
from tests.factories import a_bin, a_job, a_part, a_person, a_placed_order, a_short_part, a_stocked_part
from tests.frozen_days import MONDAY, days_later
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench", "frozen_monday")


def keys(state: str = "open") -> list[str]:
    return [alert.key for alert in alerts.refresh_alerts() if alert.state == state]


def only() -> AlertRecord:
    (alert,) = alerts.refresh_alerts()
    return alert


# ---- what raises one ---------------------------------------------------------------------------------------


def test_a_quiet_bench_has_none() -> None:
    a_job()
    a_stocked_part(20)
    parts.edit_part(a_part("Lamp holder").id, level=0)
    assert [key for key in keys() if not key.startswith("reorder")] == []


def test_a_part_to_order_raises_one_that_says_how_many_and_why() -> None:
    part = a_short_part()
    seller = suppliers.add_supplier("Northgate Components", lead_days=4)
    suppliers.add_offer(part.id, seller.id, 40)
    alert = only()
    assert (alert.key, alert.kind, alert.what, alert.what_id) == (f"reorder:{part.id}", "reorder", "part", part.id)
    assert alert.title.startswith("Order ")
    assert alert.title.endswith(" pieces of Lamp holder from Northgate Components")
    assert "the owner has set a level of 4 pieces" in alert.detail
    assert not alert.urgent
    jobs.set_need(a_job().id, part.id, 1)
    assert only().urgent


def test_an_order_that_is_late_raises_one_and_its_words_follow_the_days() -> None:
    part = a_part(level=0)
    seller = suppliers.add_supplier("Northgate Components", lead_days=3)
    order = a_placed_order(seller.id, [NewOrderLine(part.id, 4)])
    assert keys() == []
    with days_later(4):
        late = only()
        assert (late.key, late.title) == (
            f"late:{order.id}",
            f"Order {order.number} from Northgate Components is late",
        )
        assert "1 day late; still to come: 4-way header." in late.detail
    with days_later(6):
        later = only()
        assert (later.id, later.telling, later.raised) == (late.id, 1, late.raised)
        assert "3 days late" in later.detail


def test_an_overdue_swap_test_raises_one_and_it_goes_when_the_piece_is_back() -> None:
    piece, job = a_piece("C-05"), a_job()
    parts.edit_part(piece.part_id, level=0)
    loan = swap_tests.take_piece(
        piece.id, job.id, suspect_id=job_screen.add_suspect_from_form(job.id, "rear fan").id, hours=48
    ).loan
    with days_later(5):
        alert = only()
        assert (alert.key, alert.urgent, alert.what_id) == (f"overdue:{loan.id}", True, piece.id)
        assert f"should be back from job {job.number}" in alert.title
        assert "in place of rear fan" in alert.detail
        swap_tests.bring_back_piece(loan.id, "cannot tell")
        assert [key for key in keys() if key.startswith("overdue")] == []
        assert alerts.alert(alert.id).state == "gone"


def test_jobs_promised_or_able_to_go_on_raise_one_each() -> None:
    part, _, _ = a_stocked_part(5)
    parts.edit_part(part.id, level=0)
    due, ready, stuck = a_job(promised=date(2026, 3, 2)), a_job(), a_job()
    for job, number in ((ready, 2), (stuck, 9)):
        jobs.mark_waiting(job.id, "headers")
        jobs.set_need(job.id, part.id, number)
    job_keys = [key for key in keys() if not key.startswith("reorder")]
    assert job_keys == [f"promised:{due.id}", f"ready:{ready.id}"]


def test_lots_past_their_date_or_soon_raise_different_ones() -> None:
    flux = a_part("Flux", "consumable", level=0)
    lot = receive.receive(flux.id, 2, a_bin(flux).id, best_before=date(2026, 3, 20)).lot_ids[0]
    assert keys() == [f"soon:{lot}"]
    with days_later(30):
        assert keys() == [f"past:{lot}"]
    assert [alert.state for alert in alerts.alerts(state="gone").items] == ["gone"]


def test_a_lot_on_hold_raises_one_and_each_open_job_that_has_some_of_it_another() -> None:
    part, bin_, receipt = a_stocked_part(5)
    parts.edit_part(part.id, level=0)
    job, other = a_job(), a_job()
    for open_job in (job, other):
        pull.pull(1, bin_id=bin_.id, job_id=open_job.id)
    lot = receipt.lot_ids[0]
    lots.hold_lot(lot, "cracked latches")
    assert keys() == [f"held:{lot}:{other.id}", f"held:{lot}:{job.id}", f"hold:{lot}"]
    assert "(cracked latches)" in alerts.refresh_alerts()[0].detail
    recall.tick_job(lot, job.id, note="resoldered")
    assert keys() == [f"held:{lot}:{other.id}", f"hold:{lot}"]


def test_a_spare_that_changes_for_the_worse_is_told_again() -> None:
    piece, job = a_piece("C-06"), a_job()
    parts.edit_part(piece.part_id, level=0)
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id).loan.id, "still fails")
    assert keys() == [f"spare:{piece.id}:doubtful"]


def test_every_kind_has_its_heading() -> None:
    assert all(heading[0].isupper() for heading in ALERT_KINDS.values())
    assert list(alerts.alerts_by_heading([])) == []


# ---- seen, put off, over, back -----------------------------------------------------------------------------


def test_looking_twice_changes_nothing() -> None:
    a_short_part()
    assert alerts.refresh_alerts() == alerts.refresh_alerts()


def test_one_that_somebody_has_seen_stays_quiet_while_it_lasts() -> None:
    a_short_part()
    owner = a_person("owner")
    alert = alerts.mark_alert_done(only().id, by=owner.id)
    assert (alert.state, alert.acknowledged, alert.acknowledged_by) == ("seen", MONDAY, owner.shown_as)
    with days_later(40):
        assert only().state == "seen"
        assert alerts.mark_alert_done(alert.id).acknowledged == MONDAY


def test_one_that_was_put_off_is_told_again_on_its_day() -> None:
    a_short_part()
    first = only()
    put_off = alerts.postpone_alert(first.id, date(2026, 3, 9))
    assert (put_off.state, put_off.snoozed_until) == ("put off", date(2026, 3, 9))
    with days_later(6):
        assert only().state == "put off"
    with days_later(7):
        again = only()
        assert (again.state, again.telling, again.id) == ("open", first.telling + 1, first.id)


@pytest.mark.parametrize("until", [date(2026, 3, 2), date(2026, 3, 1), date(2028, 1, 1)])
def test_it_is_put_off_until_a_day_to_come(until: date) -> None:
    a_short_part()
    with pytest.raises(Invalid, match="Put it off until a day after today, a year at most"):
        alerts.postpone_alert(only().id, until)


def test_seen_and_put_off_can_be_taken_back() -> None:
    a_short_part()
    alert = only()
    alerts.mark_alert_done(alert.id)
    assert alerts.reopen_alert(alert.id).state == "open"
    alerts.postpone_alert(alert.id, date(2026, 3, 9))
    assert alerts.reopen_alert(alert.id).state == "open"
    assert alerts.mark_alert_done(alert.id).state == "seen"
    assert alerts.postpone_alert(alert.id, date(2026, 3, 9)).state == "put off"


def test_one_whose_cause_ends_is_over_and_cannot_be_put_off() -> None:
    part = a_short_part()
    alert = only()
    receive.receive(part.id, 9, a_bin(part).id)
    assert alerts.refresh_alerts() == []
    assert alerts.alert(alert.id).gone == MONDAY
    with pytest.raises(Conflict, match="That is over already"):
        alerts.mark_alert_done(alert.id)


def test_one_that_comes_back_within_a_day_goes_on_and_after_that_is_told_anew() -> None:
    part = a_short_part()
    alert = only()
    alerts.mark_alert_done(alert.id)
    parts.edit_part(part.id, level=0)
    assert alerts.refresh_alerts() == []
    with days_later(0.5):
        parts.edit_part(part.id, level=4)
        same = only()
        assert (same.id, same.state, same.telling, same.raised) == (alert.id, "seen", 1, MONDAY)
        parts.edit_part(part.id, level=0)
        assert alerts.refresh_alerts() == []
    with days_later(3):
        parts.edit_part(part.id, level=4)
        anew = only()
        assert (anew.id, anew.state, anew.telling) == (alert.id, "open", 2)
        assert anew.raised == MONDAY + timedelta(days=3)


def test_two_people_do_not_overrule_each_other_unseen() -> None:
    a_short_part()
    alert = only()
    alerts.postpone_alert(alert.id, date(2026, 3, 9), alert.version)
    with pytest.raises(Stale):
        alerts.mark_alert_done(alert.id, alert.version)


def test_they_are_listed_by_state_and_kind_in_pages() -> None:
    stock_parts = [a_short_part() for _ in range(3)]
    first = alerts.current_alerts(limit=2)
    rest = alerts.alerts(limit=2, after=first.next)
    assert [item.what_id for item in (*first.items, *rest.items)] == [part.id for part in stock_parts][::-1]
    alerts.mark_alert_done(first.items[0].id)
    assert [alert.id for alert in alerts.alerts(state="seen").items] == [first.items[0].id]
    assert len(alerts.alerts(state="open").items) == 2
    assert alerts.alerts(kind="late").items == []
    for wrong in ({"state": "lost"}, {"kind": "cake"}):
        with pytest.raises(Invalid, match="must be one of"):
            alerts.alerts(**wrong)  # type: ignore[arg-type]
    with pytest.raises(NotFound, match="There is no alert 999"):
        alerts.alert(999)


def test_what_was_over_a_year_ago_is_forgotten() -> None:
    part = a_short_part()
    only()
    parts.edit_part(part.id, level=0)
    alerts.refresh_alerts()
    with days_later(300):
        assert alerts.delete_old_alerts() == 0
    with days_later(400):
        assert alerts.delete_old_alerts() == 1
        assert alerts.alerts(state="gone").items == []
