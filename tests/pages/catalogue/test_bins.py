"""The bin page: one tap takes one, a refusal says what to do next, a blank label is put to use."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from flask import Flask
from werkzeug.test import TestResponse

from inventory.domain.catalogue import bins, lots
from inventory.domain.catalogue.history import movements
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.jobs import jobs, people
from inventory.domain.movements import receive
from inventory.store import connection
from tests.factories import a_bin, a_job, a_part, a_person, a_stocked_part
from tests.http_clients import PageClient, make_page_client
from tests.pages.page_forms import (
    PageForm,
    element_names,
    find_form,
    follow_redirect,
    page_forms,
    page_text,
    send_form,
    submit_form,
)
from tests.proof_factories import a_piece


def with_job(client: PageClient) -> int:
    """Take a new job in hand; return its id."""
    job = a_job()
    people.set_job_in_hand(client.person.id, job.id)
    return job.id


def test_it_says_what_is_in_the_bin_so_that_parts_can_be_told_apart(tech_page: PageClient) -> None:
    part = a_part("Board header", attributes={"pitch_mm": 2, "ways": 4, "gender": "header"}, caution="Brittle latch.")
    bin_ = a_bin(part, name="A-14")
    lot = receive.receive(part.id, 23, bin_.id).made_lot
    text = page_text(tech_page.get(f"/bins/{bin_.id}"))
    assert "Bin A-14" in text
    assert "Board header" in text
    assert "2.0 mm · 4 ways · header" in text
    assert "23 pieces" in text
    assert "Brittle latch." in text
    assert lot is not None
    assert f"Next: {lot.code[:3]}-{lot.code[3:6]}-{lot.code[6:]}" in text


def test_it_takes_one_for_the_job_in_hand_and_offers_to_undo_it(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    job = jobs.job(with_job(tech_page))
    page = tech_page.get(f"/bins/{bin_.id}")
    assert f"Take 1 for job {job.number}" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/take"))
    assert f"1 piece of {part.name} taken from {bin_.name} for job {job.number}." in page_text(result_page)
    assert stock_of(part.id).on_shelf == 4
    assert movements(job_id=job.id).items[0].quantity == -1
    undone = follow_redirect(tech_page, submit_form(tech_page, result_page, "/undo"))
    assert "Undone: pull" in page_text(undone)
    assert stock_of(part.id).on_shelf == 5


def test_what_was_asked_for_in_vain_goes_on_the_needs_in_one_tap(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(2)
    job_id = with_job(tech_page)
    refused = submit_form(tech_page, tech_page.get(f"/bins/{bin_.id}"), "/take", amount="7")
    assert f"Put 7 on job {jobs.job(job_id).number}'s needs" in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/want"))
    assert [(need.part.id, need.quantity) for need in jobs.needs(job_id)] == [(part.id, 7)]


def test_it_takes_one_when_the_button_is_tapped_twice(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    with_job(tech_page)
    button = find_form(tech_page.get(f"/bins/{bin_.id}"), "/take")
    first, second = send_form(tech_page, button), send_form(tech_page, button)
    assert first.headers["Location"] == second.headers["Location"]
    assert stock_of(part.id).on_shelf == 4


def test_it_asks_again_when_a_form_that_was_sent_comes_back_with_something_else_in_it(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(9)
    with_job(tech_page)
    more = find_form(tech_page.get(f"/bins/{bin_.id}"), "/take", f"more-{part.id}")
    send_form(tech_page, more, amount="2")
    changed = send_form(tech_page, more, amount="3")
    assert changed.status_code == 409
    assert "That form was sent before, with something else in it." in page_text(changed)
    assert stock_of(part.id).on_shelf == 7
    follow_redirect(
        tech_page, submit_form(tech_page, changed, "/take", f"more-{part.id}")
    )  # what was typed is still there
    assert stock_of(part.id).on_shelf == 4


def tap(button: tuple[PageClient, PageForm]) -> TestResponse:
    """Send a form from a thread of its own, and leave no connection behind."""
    try:
        return send_form(*button)
    finally:
        connection.database.close()


def test_it_gives_the_last_piece_to_one_of_two_people_and_tells_the_other(app: Flask, tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(1)
    both = [tech_page, make_page_client(app, a_person())]
    for response in both:
        with_job(response)
    buttons = [(answer, find_form(answer.get(f"/bins/{bin_.id}"), "/take")) for answer in both]
    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(tap, buttons))
    assert sorted(answer.status_code for answer in answers) == [303, 409]
    refused = next(answer for answer in answers if answer.status_code == 409)
    assert "took the last 1 piece" in page_text(refused)
    assert stock_of(part.id).on_shelf == 0


def test_it_lets_a_job_be_chosen_right_there_and_the_take_go_on(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    job = a_job()
    page = tech_page.get(f"/bins/{bin_.id}")
    assert "For which job?" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/take", job=job.id))
    assert f"for job {job.number}." in page_text(result_page)
    assert people.person(tech_page.person.id).job_in_hand_id == job.id
    assert stock_of(part.id).on_shelf == 4


def test_it_asks_again_when_no_job_was_chosen(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    a_job()
    refused = submit_form(tech_page, tech_page.get(f"/bins/{bin_.id}"), "/take")
    assert refused.status_code == 422
    assert "Choose the job it is for." in page_text(refused)
    assert stock_of(part.id).on_shelf == 5


def test_it_says_when_there_are_too_few_and_offers_what_there_is(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(3)
    other = a_bin(part, name="B-02")
    receive.receive(part.id, 7, other.id)
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    refused = submit_form(tech_page, page, "/take", f"more-{part.id}", amount="9")
    assert refused.status_code == 409
    assert f"{bin_.name} has 3 pieces left, not 9 pieces." in page_text(refused)
    assert "Go to bin B-02" in page_text(refused)
    assert dict(find_form(refused, "/take", f"more-{part.id}").fields)["amount"] == "3"  # the way on, in the band
    result_page = follow_redirect(tech_page, submit_form(tech_page, refused, "/take", f"more-{part.id}"))
    assert "3 pieces" in page_text(result_page)
    assert stock_of(part.id).on_shelf == 7


def test_it_puts_on_the_jobs_needs_what_the_bin_has_not(tech_page: PageClient) -> None:
    part = a_part()
    bin_ = a_bin(part)
    job = with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    assert "None to take here." in page_text(page)
    follow_redirect(tech_page, submit_form(tech_page, page, "/want"))
    assert [(need.part.id, need.missing) for need in jobs.needs(job)] == [(part.id, 1)]


def test_it_asks_before_it_takes_what_is_past_its_date(tech_page: PageClient) -> None:
    yesterday = clock.today() - timedelta(days=1)
    part, bin_, _ = a_stocked_part(3, best_before=yesterday)
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    assert "past its date" in page_text(page)
    refused = submit_form(tech_page, page, "/take")
    assert refused.status_code == 409
    assert "Take it all the same" in page_text(refused)
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, refused, "/take")
    )  # the first form is the one in the band
    assert "is past its date" in page_text(result_page)
    assert stock_of(part.id).on_shelf == 2


def test_it_takes_from_another_lot_when_told_to_but_not_from_one_on_hold(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    second = receive.receive(part.id, 5, bin_.id).made_lot
    assert second is not None
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    follow_redirect(tech_page, submit_form(tech_page, page, "/take", f"more-{part.id}", amount="2", lot=second.id))
    assert {movement.lot_id for movement in movements(kind="pull").items} == {second.id}
    page = tech_page.get(f"/bins/{bin_.id}")
    lots.hold_lot(second.id, "cracked latches")
    refused = submit_form(tech_page, page, "/take", f"more-{part.id}", amount="1", lot=second.id)
    assert refused.status_code == 409
    assert "is on hold (cracked latches)" in page_text(refused)
    assert stock_of(part.id).on_shelf == 5
    assert "3 pieces more, not to be taken" in page_text(refused)


def test_it_takes_for_the_bench_itself_only_with_a_reason(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}")
    fields = {"amount": "1", "job": "bench"}
    refused = submit_form(tech_page, page, "/take", f"more-{part.id}", **fields)
    assert refused.status_code == 409
    assert "or say what it is for" in page_text(refused)
    follow_redirect(
        tech_page, submit_form(tech_page, refused, "/take", f"more-{part.id}", **fields, reason="test rig")
    )
    assert movements(kind="pull").items[0].reason == "test rig"


@pytest.mark.parametrize(
    ("amount", "status", "says"),
    [
        ("", 422, "Say how many to take."),
        ("0", 422, "must be at least 1 piece"),
        ("-3", 422, "must be at least 1 piece"),
        ("three", 422, "'three' is not a quantity"),
        ("1.5", 422, "whole number"),
        ("99999999999", 422, "cannot be more than"),
        ("'; DROP TABLE movements; --", 422, "is not a quantity"),
    ],
)
def test_it_refuses_an_amount_that_cannot_be_right_and_keeps_what_was_typed(
    tech_page: PageClient, amount: str, status: int, says: str
) -> None:
    part, bin_, _ = a_stocked_part(5)
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    refused = submit_form(tech_page, page, "/take", f"more-{part.id}", amount=amount)
    assert refused.status_code == status
    assert says in page_text(refused)
    assert dict(find_form(refused, "/take", f"more-{part.id}").fields)["amount"] == amount
    assert stock_of(part.id).on_shelf == 5


def test_it_asks_how_much_of_a_part_kept_by_level_in_its_unit(tech_page: PageClient) -> None:
    part = a_part("Flux gel", "consumable", kept="by level", unit="ml")
    bin_ = a_bin(part)
    receive.receive(part.id, 30, bin_.id)
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    refused = submit_form(tech_page, page, "/take", amount="5 g")
    assert "This part is kept in ml, not in 'g'" in page_text(refused)
    result_page = follow_redirect(
        tech_page, submit_form(tech_page, refused, "/take", f"take-{part.id}", amount="0.5 cl")
    )
    assert "5 ml of Flux gel" in page_text(result_page)
    assert stock_of(part.id).on_shelf == 25


def test_it_shows_each_part_of_a_mixed_bin_with_its_own_button(tech_page: PageClient) -> None:
    bin_ = a_bin(mixed=True)
    parts_ = [a_part(name) for name in ("Screw M3", "Washer M3")]
    for part in parts_:
        receive.receive(part.id, 9, bin_.id)
    with_job(tech_page)
    page = tech_page.get(f"/bins/{bin_.id}")
    follow_redirect(tech_page, submit_form(tech_page, page, "/take", f"take-{parts_[1].id}"))
    assert [stock_of(part.id).on_shelf for part in parts_] == [9, 8]


def test_it_shows_pieces_with_their_standing(tech_page: PageClient) -> None:
    piece = a_piece("C-07")
    page = page_text(tech_page.get(f"/bins/{piece.bin_id}"))
    assert "C-07" in page
    assert "unproved" in page


def test_a_viewer_may_look_and_not_take(viewer_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    page = viewer_page.get(f"/bins/{bin_.id}")
    assert page.status_code == 200
    assert not [form for form in page_forms(page) if form.action.endswith("/take")]
    refused = viewer_page.post_form(f"/bins/{bin_.id}/take", amount="1", part=part.id, job=a_job().id)
    assert refused.status_code == 403
    assert "needs the role tech" in page_text(refused)
    assert stock_of(part.id).on_shelf == 5


def test_it_refuses_a_form_that_is_not_ours(tech_page: PageClient) -> None:
    part, bin_, _ = a_stocked_part(5)
    refused = tech_page.post(
        f"/bins/{bin_.id}/take", data={"amount": "1", "part": part.id, "job": with_job(tech_page)}
    )
    assert refused.status_code == 403
    assert stock_of(part.id).on_shelf == 5


def test_it_knows_no_such_bin_and_no_such_method(tech_page: PageClient) -> None:
    assert tech_page.get("/bins/999").status_code == 404
    assert tech_page.post_form("/bins/999/take", amount="1", job="bench", reason="x").status_code == 404
    assert tech_page.get("/bins/abc").status_code == 404
    refused = tech_page.get(f"/bins/{a_bin().id}/take")
    assert refused.status_code == 405
    assert "POST" in refused.headers["Allow"]


@pytest.mark.parametrize("job", ["999", "abc"])
def test_it_takes_for_no_job_that_is_not_there(tech_page: PageClient, job: str) -> None:
    part, bin_, _ = a_stocked_part(5)
    page = tech_page.get(f"/bins/{bin_.id}")
    assert submit_form(tech_page, page, "/take", job=job).status_code in (404, 422)
    assert stock_of(part.id).on_shelf == 5


def test_html_in_any_field_comes_out_as_text(tech_page: PageClient) -> None:
    evil = "<script>alert(1)</script>\"'><img src=x>"
    part = a_part(evil[:60], caution=evil, note=evil)
    bin_ = a_bin(part, name=evil, note=evil)
    receive.receive(part.id, 5, bin_.id, maker_lot=evil)
    people.set_job_in_hand(tech_page.person.id, a_job(symptom=evil, customer=evil).id)
    page = tech_page.get(f"/bins/{bin_.id}")
    assert "<script>alert(1)" not in page.get_data(as_text=True)
    assert "img" not in [name for name in element_names(page) if name == "img"][1:]  # only the mark of the house
    assert evil in page_text(page)


# ---- blank labels ----------------------------------------------------------------------------------------


def test_a_blank_label_asks_what_goes_in_and_is_put_to_use(tech_page: PageClient) -> None:
    part = a_part("Fuse holder", "other")
    blank = bins.add_blank_bins(1)[0]
    page = tech_page.get(f"/bins/{blank.id}")
    assert "what goes in this bin?" in page_text(page)
    result_page = follow_redirect(tech_page, submit_form(tech_page, page, "/use", name="A-20", part="fuse"))
    assert "Bin A-20 is in use." in page_text(result_page)
    assert (bins.get_bin(blank.id).name, bins.get_bin(blank.id).part_id) == ("A-20", part.id)


def test_a_blank_label_asks_which_of_several_parts_is_meant_and_keeps_the_name(tech_page: PageClient) -> None:
    part = [a_part("Header 4-way"), a_part("Header 6-way")][1]
    blank = bins.add_blank_bins(1)[0]
    refused = submit_form(tech_page, tech_page.get(f"/bins/{blank.id}"), "/use", name="A-21", part="header")
    assert refused.status_code == 422
    assert "Several parts have that: choose one." in page_text(refused)
    follow_redirect(tech_page, submit_form(tech_page, refused, "/use", part=part.number))
    assert (bins.get_bin(blank.id).name, bins.get_bin(blank.id).part_id) == ("A-21", part.id)


@pytest.mark.parametrize(("what", "mixed"), [("mixed", True), ("first", False)])
def test_a_blank_label_may_be_for_several_parts_or_for_what_comes_first(
    tech_page: PageClient, what: str, mixed: bool
) -> None:
    blank = bins.add_blank_bins(1)[0]
    follow_redirect(
        tech_page, submit_form(tech_page, tech_page.get(f"/bins/{blank.id}"), "/use", name="A-22", what=what)
    )
    bin_ = bins.get_bin(blank.id)
    assert (bin_.name, bin_.part_id, bin_.mixed) == ("A-22", None, mixed)


def test_a_blank_label_needs_a_name_of_its_own(tech_page: PageClient) -> None:
    a_bin(name="A-14")
    blank = bins.add_blank_bins(1)[0]
    page = tech_page.get(f"/bins/{blank.id}")
    assert "Give the bin a name" in page_text(submit_form(tech_page, page, "/use", name=" ", what="first"))
    answer = submit_form(tech_page, page, "/use", name="A-14", what="first")
    assert answer.status_code == 409
    assert "There is a bin A-14 already: choose another name." in page_text(answer)
    assert bins.get_bin(blank.id).name is None


def test_it_keeps_an_edit_and_refuses_one_of_an_old_page(tech_page: PageClient) -> None:
    bin_ = a_bin(name="A-30")
    page, old_page = tech_page.get(f"/bins/{bin_.id}"), tech_page.get(f"/bins/{bin_.id}")
    follow_redirect(tech_page, submit_form(tech_page, page, "/edit", name="A-31", note="top shelf"))
    assert (bins.get_bin(bin_.id).name, bins.get_bin(bin_.id).note) == ("A-31", "top shelf")
    stale = submit_form(tech_page, old_page, "/edit", name="A-32")
    assert stale.status_code == 412
    assert "Somebody changed this bin since you opened it" in page_text(stale)
    assert bins.get_bin(bin_.id).name == "A-31"
