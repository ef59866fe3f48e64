"""The pages of incoming checks: a plan in words, testing on the phone, deciding, and a supplier's dead ones."""

from __future__ import annotations

from datetime import UTC, datetime

from inventory.domain.buying import incoming_plans
from inventory.domain.buying import suppliers as selling
from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.catalogue import lots
from inventory.domain.common import clock
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.quality import incoming_testing
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.http_clients import PageClient
from tests.pages.page_forms import element_names, find_form, follow_redirect, page_forms, page_text, submit_form
from tests.proof_factories import FAN_ATTRIBUTES, built_in_procedure_id


def a_check(quantity: int = 20, **plan: object) -> IncomingCheckRecord:
    """Receive a delivery with a plan."""
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, **{"test": 5, **plan})  # type: ignore[arg-type]
    receive.receive(part.id, quantity, a_bin(part).id)
    return incoming_testing.waiting_checks()[-1]


def test_a_plan_is_shown_in_words_before_it_is_kept(owner_page: PageClient) -> None:
    part = a_part()
    page = owner_page.get(f"/parts/{part.id}/incoming-plan")
    answer = follow_redirect(
        owner_page, submit_form(owner_page, page, "/incoming-plan", "plan", how="question", sure="90", most_bad="5")
    )
    assert "one 90 % sure that at most 5 % of it are bad" in page_text(answer)
    assert "20 14 30 %" in page_text(answer)
    assert incoming_plans.find_plan(part_id=part.id) is None
    shown_page = follow_redirect(owner_page, submit_form(owner_page, answer, "/incoming-plan", "save", act="save"))
    assert "one 90 % sure that at most 5 % of it are bad" in page_text(shown_page)
    assert incoming_plans.plan(part_id=part.id).most_bad == 0.05
    dropped = submit_form(
        owner_page, owner_page.get(f"/parts/{part.id}/incoming-plan"), "/incoming-plan", "drop", act="drop"
    )
    assert "taken away" in page_text(follow_redirect(owner_page, dropped))


def test_a_plan_that_cannot_be_is_refused_beside_its_field(owner_page: PageClient) -> None:
    supplier = selling.add_supplier("Lowland Market").id
    page = owner_page.get(f"/suppliers/{supplier}/incoming-plan")
    refused = submit_form(owner_page, page, "/incoming-plan", "plan", how="number", test="3", accept="3")
    assert refused.status_code == 422
    assert "nothing would ever be refused" in page_text(refused)
    none = submit_form(owner_page, refused, "/incoming-plan", "plan", how="number", test="", accept="0")
    assert "Say how many to test" in page_text(none)


def test_receiving_leads_to_the_test_and_the_lot_says_that_it_waits(tech_page: PageClient) -> None:
    part = a_part()
    bin_ = a_bin(part)
    incoming_plans.set_plan(part_id=part.id, test=5)
    page = tech_page.get(f"/receive?part={part.id}")
    got = follow_redirect(tech_page, submit_form(tech_page, page, "/receive", amount="20", bin=bin_.name))
    assert "To be tested: 5 of 20" in page_text(got)
    check = incoming_testing.waiting_checks()[0]
    assert f"/incoming/{check.id}" in got.get_data(as_text=True)
    assert not [form for form in page_forms(got) if form.action.endswith("/release")]
    bin_page = tech_page.get(f"/bins/{bin_.id}")
    assert "20 pieces more, not to be taken" in page_text(bin_page)
    assert f'href="/incoming/{check.id}">to be tested' in bin_page.get_data(as_text=True)
    assert "Deliveries to test" in page_text(tech_page.get("/"))


def test_testing_is_one_tap_each_until_the_answer_is_certain(tech_page: PageClient) -> None:
    check = a_check()
    page = tech_page.get(f"/incoming/{check.id}")
    assert "Take the next 5: 5 out of" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/result", "result", result="good"))
    assert "1 of 5 tested, none bad" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/result", "result", result="bad"))
    assert "Number 2 is bad, scrapped." in page_text(page)
    assert "The answer is certain: reject it" in page_text(page)
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/close", "close"))
    assert "nobody can take from the lot" in page_text(page)
    sorting = follow_redirect(tech_page, submit_form(tech_page, page, "/sort", "sort"))
    assert "the bad ones are sorted out" in page_text(sorting)


def test_the_same_tap_sent_twice_counts_once(tech_page: PageClient) -> None:
    check = a_check()
    page = tech_page.get(f"/incoming/{check.id}")
    for _ in range(2):
        submit_form(tech_page, page, "/result", "result", result="bad")
    assert incoming_testing.check(check.id).tested == 1


def test_a_wrong_tap_is_corrected_or_taken_back(tech_page: PageClient) -> None:
    check = a_check()
    page = follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/incoming/{check.id}"), "/result", "result", result="bad")
    )
    test = incoming_testing.check(check.id).results[0].id
    page = follow_redirect(tech_page, submit_form(tech_page, page, "/result", f"correct-{test}"))
    assert "1 of 5 tested, none bad" in page_text(page)
    test = incoming_testing.check(check.id).results[-1].id
    refused = submit_form(tech_page, page, "/take-back", f"take-back-{test}", reason=" ")
    assert refused.status_code == 422
    page = follow_redirect(
        tech_page, submit_form(tech_page, refused, "/take-back", f"take-back-{test}", reason="wrong bag")
    )
    assert "taken back" in page_text(page)
    assert incoming_testing.check(check.id).tested == 0


def test_readings_are_typed_as_for_a_proof(tech_page: PageClient) -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    bench_run = built_in_procedure_id("Fan bench run")
    incoming_plans.set_plan(part_id=fan.id, test=2)
    receive.receive(fan.id, 6, a_bin(fan).id)
    check = incoming_testing.waiting_checks()[0]
    page = tech_page.get(f"/incoming/{check.id}?procedure={bench_run}")
    refused = submit_form(tech_page, page, "/result", "result", **{"reading-1": "140 mA"})
    assert refused.status_code == 422
    assert "not in 'mA'" in page_text(refused)
    fields = {"reading-1": "0.14 A", "reading-2": "1990", **{f"reading-{n}": "yes" for n in (3, 4, 5)}}
    page = follow_redirect(
        tech_page, submit_form(tech_page, refused, "/result", "result", fate="labelled", name="F-20", **fields)
    )
    assert "Number 1 is good, is now F-20: print its label." in page_text(page)
    assert 'aria-current="true">Fan bench run' in page.get_data(as_text=True)


def test_pieces_are_named_and_chosen(tech_page: PageClient) -> None:
    board = a_part("driver board", "module", kept="individually")
    incoming_plans.set_plan(part_id=board.id, test=2)
    receive.receive(board.id, 3, a_bin(board).id)
    check = incoming_testing.waiting_checks()[0]
    page = tech_page.get(f"/incoming/{check.id}")
    assert "(drawn by lot)" in page_text(page)
    chosen = dict(find_form(page, "/result", "result").fields)["piece"]
    follow_redirect(tech_page, submit_form(tech_page, page, "/result", "result", result="good"))
    assert str(incoming_testing.check(check.id).results[0].piece_id) == str(chosen)


def test_only_the_owner_decides_otherwise(owner_page: PageClient) -> None:
    check = a_check()
    page = owner_page.get(f"/incoming/{check.id}")
    refused = submit_form(owner_page, page, "/override", "override", outcome="accepted", reason="")
    assert refused.status_code == 422
    result_page = follow_redirect(
        owner_page, submit_form(owner_page, refused, "/override", "override", outcome="accepted", reason="known")
    )
    assert "Accepted by the owner's decision" in page_text(result_page)
    assert not lots.lot(check.lot.id).on_hold
    off = a_check()
    page = follow_redirect(
        owner_page,
        submit_form(owner_page, owner_page.get(f"/incoming/{off.id}"), "/call-off", "call-off", reason="no"),
    )
    assert "called off" in page_text(page)


def test_a_tech_has_no_such_form_and_a_viewer_none_at_all(tech_page: PageClient, viewer_page: PageClient) -> None:
    check = a_check()
    actions = [form.action for form in page_forms(tech_page.get(f"/incoming/{check.id}"))]
    assert not [action for action in actions if action.endswith(("/override", "/call-off"))]
    shown = viewer_page.get(f"/incoming/{check.id}")
    assert [form for form in page_forms(shown) if form.method == "post" and "/incoming/" in form.action] == []


def test_a_viewer_is_led_to_the_part_and_not_to_a_form_that_is_not_theirs(
    tech_page: PageClient, viewer_page: PageClient
) -> None:
    check = a_check()
    plan = f'href="/parts/{check.part.id}/incoming-plan"'
    assert plan in tech_page.get("/incoming").get_data(as_text=True)
    text = viewer_page.get("/incoming").get_data(as_text=True)
    assert plan not in text
    assert f'href="/parts/{check.part.id}"' in text


def test_a_check_is_begun_on_the_lots_page(tech_page: PageClient) -> None:
    _, _, receipt = a_stocked_part(8)
    page = tech_page.get(f"/lots/{receipt.lot_ids[0]}")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/check", "begin-check", test="3", accept="0"))
    assert "0 of 3 tested" in page_text(answer)
    assert "0 of 3" in page_text(tech_page.get("/incoming"))


def test_a_lot_that_is_gone_says_so(tech_page: PageClient) -> None:
    check = a_check(hold=False)
    page = tech_page.get(f"/incoming/{check.id}")
    pull.pull(20, lot_id=check.lot.id, job_id=a_job().id)
    refused = submit_form(tech_page, page, "/result", "result", result="good")
    assert refused.status_code == 409
    assert "No untested one of this lot is here" in page_text(refused)
    assert "Nothing is left to test" in page_text(refused)


def test_a_supplier_shows_its_dead_ones_in_a_picture_and_in_figures(tech_page: PageClient) -> None:
    supplier = selling.add_supplier("Lowland Market").id
    few = tech_page.get(f"/suppliers/{supplier}")
    assert "Nothing of what it sent has been seen" in page_text(few)
    assert "Share dead on arrival" not in few.get_data(as_text=True)
    for month in (2, 5):
        with clock.freeze_at(datetime(2026, month, 3, 9, tzinfo=UTC)):
            part = a_part()
            receipt = receive.receive(part.id, 30, a_bin(part).id, supplier_id=supplier)
            job = a_job()
            pull.pull(15, lot_id=receipt.lot_ids[0], job_id=job.id)
            jobs.close_job(job.id, found="burnt")
    page = tech_page.get(f"/suppliers/{supplier}")
    assert "None of 30 seen so far were dead on arrival" in page_text(page)
    assert "svg" in element_names(page)
    assert "Q1 2026 15 0 0 % to " in page_text(page)
