"""Today: what does not wait until tomorrow, what may, and when nothing needs doing."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.alerts import alerts, alerts_overview
from inventory.domain.alerts.today import gather_today
from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull
from inventory.pages.jobs import job_screen
from tests.factories import a_job, a_part, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")


def out_for(hours: int, days_ago: float = 2) -> int:
    """Take a piece for a swap test so many days ago, for so many hours."""
    with clock.freeze_at(clock.now() - timedelta(days=days_ago)):
        job = a_job()
        suspect = job_screen.add_suspect_from_form(job.id, "rear fan")
        return swap_tests.take_piece(a_piece(level=0).id, job.id, suspect_id=suspect.id, hours=hours).loan.id


def test_it_presses_when_a_swap_test_should_have_ended_and_not_before() -> None:
    overdue, in_time = out_for(24), out_for(72)
    today = gather_today()
    assert ([loan.id for loan in today.overdue], [loan.id for loan in today.in_time]) == ([overdue], [in_time])
    assert today.pressing == 1


def test_it_presses_when_a_job_is_promised_by_today_and_not_when_for_tomorrow() -> None:
    due = a_job(promised=clock.today())
    a_job(promised=clock.today() + timedelta(days=1))
    today = gather_today()
    assert ([job.id for job in today.due], today.pressing) == ([due.id], 1)


def test_what_jobs_wait_for_presses_once_however_many_parts_it_is() -> None:
    stock_parts = [a_part("Fader"), a_part("Fan plug")]
    idle = a_part("Lamp holder", level=4)
    for part in stock_parts:
        jobs.set_need(a_job().id, part.id, 1)
    today = gather_today()
    assert {part.part.id for part in today.waited_for} == {part.id for part in stock_parts}
    assert {part.part.id for part in today.to_order} == {part.id for part in (*stock_parts, idle)}
    assert today.pressing == 1


def test_a_lot_on_hold_presses_where_an_open_job_has_some_of_it() -> None:
    _, bin_, receipt = a_stocked_part(5)
    for _ in range(2):
        pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    lots.hold_lot(receipt.lot_ids[0], "cracked latches")
    _, _, unused = a_stocked_part(5)
    lots.hold_lot(unused.lot_ids[0], "wrong colour")
    today = gather_today()
    assert (len(today.held_in_jobs), today.pressing) == (2, 2)
    assert {lot.lot.id for lot in today.on_hold} == {receipt.lot_ids[0], unused.lot_ids[0]}


def test_what_presses_is_what_its_alerts_call_urgent() -> None:
    out_for(24)
    out_for(72)
    a_job(promised=clock.today())
    jobs.mark_waiting(a_job().id, "a fader")
    jobs.set_need(a_job().id, a_part("Fader").id, 1)
    a_part("Lamp holder", level=4)
    _, bin_, receipt = a_stocked_part(5)
    pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    lots.hold_lot(receipt.lot_ids[0], "cracked latches")
    urgent = [alert.kind for alert in alerts.refresh_alerts() if alert.urgent]
    assert sorted(urgent) == ["held", "overdue", "promised", "reorder"]
    assert gather_today().pressing == len(urgent)


def test_what_somebody_has_seen_presses_no_more() -> None:
    a_job(promised=clock.today())
    (alert,) = alerts.refresh_alerts()
    alerts.mark_alert_done(alert.id)
    today = alerts_overview.today_screen()
    assert (today.today.pressing, today.today.quiet, today.quieted) == (0, True, 1)
    assert gather_today().pressing == 1


def test_a_swap_test_in_time_and_a_job_at_work_need_nothing() -> None:
    out_for(72)
    assert gather_today().quiet
    jobs.mark_waiting(a_job().id, "a fader")
    assert not gather_today().quiet
