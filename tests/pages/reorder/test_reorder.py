"""The reorder list, the reckoning behind each part, and the promise that the owner may change."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.domain.buying import orders, suppliers
from inventory.domain.catalogue import parts
from inventory.domain.common import clock
from inventory.domain.common.records import PartRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.reorder import reorder_list
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE parts;--"


def used_up(name: str = "Rear fan", *, seller: str = "Northgate Components", offered: bool = True) -> PartRecord:
    """Add a part that jobs used until none was left, sold by *seller*."""
    start = clock.now() - timedelta(days=300)
    with clock.freeze_at(start):
        part = a_part(name, "fan")
        bin_ = a_bin(part)
        receive.receive(part.id, 10, bin_.id)
        if offered:
            sellers = suppliers.suppliers(find=seller).items
            supplier = sellers[0] if sellers else suppliers.add_supplier(seller, shipping_minor=600)
            suppliers.add_offer(part.id, supplier.id, 1450, supplier_number="NG-60")
    for number in range(10):
        with clock.freeze_at(start + timedelta(days=28 * number + 1)):
            pull.pull(1, bin_id=bin_.id, job_id=a_job().id)
    return part


def test_it_says_that_there_is_nothing_to_order(tech_page: PageClient) -> None:
    assert "Nothing to order now" in page_text(tech_page.get("/reorder"))


def test_it_says_how_many_from_whom_why_and_at_what_risk(tech_page: PageClient) -> None:
    part = used_up()
    advice = reorder_list.reorder_list()[0]
    assert advice.order is not None
    text = page_text(tech_page.get("/reorder"))
    assert f"{advice.order.quantity} pieces" in text
    assert part.name in text
    assert "Northgate Components" in text
    assert "None on the shelf: nothing is left for the next job, so order now." in text
    assert f"{advice.risk * 100:.0f} %" in text


def test_it_marks_what_a_job_waits_for(tech_page: PageClient) -> None:
    part = used_up()
    jobs.set_need(a_job().id, part.id, 2)
    assert "a job waits for 2 pieces" in page_text(tech_page.get("/reorder"))


def test_it_drafts_the_order_of_one_supplier_with_the_parts_ticked(tech_page: PageClient) -> None:
    first, second = used_up("Rear fan"), used_up("Front fan")
    used_up("Yoke belt", seller="Quayside Spares")
    page = tech_page.get("/reorder")
    seller = suppliers.suppliers(find="Northgate").items[0]
    answer = follow_redirect(
        tech_page, submit_form(tech_page, page, "/orders/suggested", f"suggested-{seller.id}", part=[first.id])
    )
    order = orders.orders().items[0]
    assert [line.part.id for line in order.lines] == [first.id]
    assert f"Order {order.number} is drafted" in page_text(answer)
    assert second.name not in page_text(answer)


def test_it_drafts_nothing_when_nothing_is_ticked_or_nothing_is_due(tech_page: PageClient) -> None:
    used_up()
    page = tech_page.get("/reorder")
    form = find_form(page, "/orders/suggested")
    form.fields = [field for field in form.fields if field[0] != "part"]
    refused = tech_page.post(form.action, data=dict(form.fields))
    assert refused.status_code == 422
    assert "Tick at least one part for the order." in page_text(refused)
    second_page = tech_page.post(form.action, data={**dict(form.fields), "part": "999", "once": "another"})
    assert second_page.status_code == 409
    assert orders.orders().items == []


def test_it_names_parts_that_nobody_sells(tech_page: PageClient) -> None:
    part = used_up(offered=False)
    answer = tech_page.get("/reorder")
    assert "Nobody is known to sell these" in page_text(answer)
    assert f"/offers/new?part={part.id}" in answer.get_data(as_text=True)


def test_it_lays_open_the_whole_reckoning_in_words_figures_and_a_picture(tech_page: PageClient) -> None:
    part = used_up()
    explain_advice = reorder_list.explain_advice(part.id)
    page = tech_page.get(f"/parts/{part.id}/reckoning")
    text, body = page_text(page), page.get_data(as_text=True)
    for sentence in explain_advice.sentences:
        assert " ".join(sentence.split()) in text
    assert 'role="img"' in body
    assert 'class="dry"' in body
    for number, chance in enumerate(explain_advice.reckoned.pieces[:3]):
        assert f"{number} piece" in text
        assert (f"{chance * 100:.0f} %") in text
    assert "Northgate Components chosen" in text


def test_it_reckons_a_part_without_any_history(tech_page: PageClient) -> None:
    part = a_part()
    text = page_text(tech_page.get(f"/parts/{part.id}/reckoning"))
    assert "Its own history is" in text
    assert "No offer is noted" in text
    assert "What was used Nothing yet." in text


def test_it_fixes_a_level_and_a_promise_and_lets_them_be_worked_out_again(tech_page: PageClient) -> None:
    part = used_up()
    page = tech_page.get(f"/parts/{part.id}/reckoning")
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/keep", level="7", target="99"))
    assert (parts.part(part.id).level, parts.part(part.id).target) == (7, 0.99)
    assert "Level, fixed by the owner 7 pieces" in page_text(answer)
    follow_redirect(tech_page, submit_form(tech_page, answer, "/keep", level="", target=""))
    assert (parts.part(part.id).level, parts.part(part.id).target) == (None, None)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"level": "some"}, "is not a quantity"),
        ({"level": "-2"}, "The quantity cannot be negative"),
        ({"target": "0"}, "Type a percentage from 50 to 99.9, such as 95."),
        ({"target": "100"}, "Type a percentage from 50 to 99.9"),
        ({"target": "certain"}, "Type a percentage from 50 to 99.9"),
        ({"version": "99"}, "Somebody changed this part since you opened it"),
    ],
)
def test_it_says_what_is_wrong_with_a_level_or_a_promise(
    tech_page: PageClient, fields: dict[str, str], sentence: str
) -> None:
    part = used_up()
    page = tech_page.get(f"/parts/{part.id}/reckoning")
    refused = submit_form(tech_page, page, "/keep", **{"level": "6", **fields})
    assert refused.status_code in (412, 422)
    assert sentence in page_text(refused)
    assert dict(find_form(refused, "/keep").fields)["level"] == fields.get("level", "6")
    assert parts.part(part.id).level is None


def test_it_shows_html_and_sql_in_names_as_text(tech_page: PageClient) -> None:
    part = used_up(EVIL, seller=EVIL[:100])
    for address in ("/reorder", f"/parts/{part.id}/reckoning"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_no_part_that_is_not_there(tech_page: PageClient) -> None:
    assert tech_page.get("/parts/999/reckoning").status_code == 404
    assert tech_page.post_form("/parts/999/keep", level="1").status_code == 404


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    part = used_up()
    assert "Draft this order" not in page_text(viewer_page.get("/reorder"))
    assert "Keep it so" not in page_text(viewer_page.get(f"/parts/{part.id}/reckoning"))
    assert viewer_page.post_form(f"/parts/{part.id}/keep", level="1").status_code == 403
    assert viewer_page.post_form("/orders/suggested", supplier="1", part="1").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    assert tech_page.post_form("/reorder").status_code == 405
    assert tech_page.get(f"/parts/{a_part().id}/keep").status_code == 405
