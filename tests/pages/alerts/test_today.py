"""Today: what needs doing, each with a way to act, and nothing when nothing does."""

from __future__ import annotations

from datetime import timedelta

from flask.testing import FlaskClient

from inventory.domain.alerts import alerts
from inventory.domain.buying import orders, suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.pages.jobs import job_screen
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import page_text
from tests.proof_factories import a_piece


def _alert_of(kind: str) -> int:
    return int(alerts.alerts(kind=kind).items[0].id)


def test_it_says_that_nothing_needs_doing(tech_page: PageClient) -> None:
    part, _, _ = a_stocked_part(50)
    pull.pull(1, part_id=part.id, job_id=a_job().id)
    assert "Nothing needs doing" in page_text(tech_page.get("/"))


def test_it_lists_swap_tests_that_are_overdue_with_their_job_and_suspect(tech_page: PageClient) -> None:
    with clock.freeze_at(clock.now() - timedelta(days=5)):
        piece, job = a_piece("C-05"), a_job()
        suspect = job_screen.add_suspect_from_form(job.id, "rear fan")
        swap_tests.take_piece(piece.id, job.id, suspect_id=suspect.id, hours=48)
    page = tech_page.get("/")
    assert "Due today 1 C-05" in page_text(page)
    assert f"swap test overdue: with job {job.number} in place of rear fan" in page_text(page)
    assert f'href="/pieces/{piece.id}"' in page.get_data(as_text=True)


def test_it_tells_jobs_that_can_go_on_from_jobs_that_must_wait(tech_page: PageClient) -> None:
    part, _, _ = a_stocked_part(1)
    ready, stuck = a_job(symptom="no pan"), a_job(symptom="no tilt")
    for job in (ready, stuck):
        jobs.mark_waiting(job.id, "a header")
    jobs.set_need(ready.id, part.id, 1)
    jobs.set_need(stuck.id, part.id, 2)
    text = page_text(tech_page.get("/"))
    assert text.index(f"Job {ready.number}") < text.index(f"Job {stuck.number}")
    assert text.count("all it wants is here") == 1
    assert "waits for a header" in text


def test_it_lists_jobs_promised_by_today(tech_page: PageClient) -> None:
    late = a_job(promised=clock.today() - timedelta(days=1))
    a_job(promised=clock.today() + timedelta(days=5))
    text = page_text(tech_page.get("/"))
    assert f"Due today 1 Job {late.number}" in text


def test_what_presses_stands_on_top_and_the_rest_is_folded_below_it(tech_page: PageClient) -> None:
    late, part = a_job(promised=clock.today()), a_part(name="Motorised fader")
    jobs.mark_waiting(late.id, "a fader")
    jobs.set_need(late.id, part.id, 2)
    page = tech_page.get("/")
    text, body = page_text(page), page.get_data(as_text=True)
    assert f"Due today 2 Job {late.number}" in text
    assert "Jobs wait for what is not ordered Motorised fader Order" in text
    assert text.index("Due today") < text.index("Likely to run dry") < text.index(f"Jobs waiting 1 {late.number}")
    assert 'quiet-group" >' in body.replace("  ", " ")
    refused = tech_page.post_form(f"/alerts/{_alert_of('promised')}/later", until="2020-01-01", back="today")
    assert refused.status_code == 422


def test_it_lists_lots_on_hold_and_lots_past_their_date_or_soon_while_something_is_left(
    tech_page: PageClient,
) -> None:
    _, _, first = a_stocked_part(5)
    lots.hold_lot(first.lot_ids[0], "cracked latches")
    for name, days in (("Old flux", -3), ("Mask", 12), ("Fresh paste", 200)):
        other = a_part(name, "consumable")
        receive.receive(other.id, 2, a_bin(other).id, best_before=clock.today() + timedelta(days=days))
    text = page_text(tech_page.get("/"))
    assert "5 pieces left; cracked latches" in text
    assert "Best before 2 Old flux, Mask" in text
    assert text.index("past its date") < text.index("use it first")
    assert "Fresh paste" not in text


def test_it_lists_spares_that_cannot_be_trusted_and_orders_that_are_late(tech_page: PageClient) -> None:
    piece, job = a_piece("C-06"), a_job()
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id).loan.id, "still fails")
    with clock.freeze_at(clock.now() - timedelta(days=30)):
        supplier = suppliers.add_supplier("Northgate Components", lead_days=5)
        order = orders.draft_order(supplier.id, [NewOrderLine(a_part().id, 10, cost_minor=500)])
        orders.place_order(order.id)
    text = page_text(tech_page.get("/"))
    assert "Spares to prove again 1 C-06" in text
    assert f"Order {order.number} Northgate Components" in text
    assert "days late" in text


def test_it_lists_what_is_likely_to_run_dry(tech_page: PageClient) -> None:
    part = a_part("Lamp holder", level=4)
    receive.receive(part.id, 1, a_bin(part).id)
    text = page_text(tech_page.get("/"))
    assert "Likely to run dry" in text
    assert "Lamp holder" in text
    assert "1 piece on the shelf" in text


def test_a_viewer_may_look(viewer_page: PageClient) -> None:
    assert viewer_page.get("/").status_code == 200


def test_a_stranger_is_asked_to_sign_in_first(client: FlaskClient) -> None:
    answer = client.get("/")
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in")


def test_it_only_shows(tech_page: PageClient) -> None:
    assert tech_page.post_form("/").status_code == 405


def test_it_is_not_kept_by_the_browser(tech_page: PageClient) -> None:
    assert tech_page.get("/").headers["Cache-Control"] == "no-store"
