"""Telling the customer on the pages: from the job's needs to the answer that lets it go on."""

from __future__ import annotations

from urllib.parse import unquote

from inventory.domain.buying import suppliers
from inventory.domain.common.records import JobRecord
from inventory.domain.jobs import jobs
from inventory.domain.money import notices
from tests.factories import a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_forms, page_text, send_form, submit_form


def waiting_job() -> JobRecord:
    """Open a job that needs a fan that somebody sells."""
    job, part = a_job(number="J-7"), a_part("Rear fan", "fan")
    suppliers.add_offer(part.id, suppliers.add_supplier("Northgate", lead_days=4).id, 1850)
    jobs.set_need(job.id, part.id, 1)
    return job


def test_a_tech_tells_the_customer_and_notes_the_answer(tech_page: PageClient) -> None:
    job = waiting_job()
    assert f'href="/jobs/{job.id}/notice"' in tech_page.get(f"/jobs/{job.id}").text
    page = tech_page.get(f"/jobs/{job.id}/notice")
    assert "to be ordered from Northgate: nine in ten come within" in page_text(page)
    answer = follow_redirect(
        tech_page,
        submit_form(tech_page, page, "/notice", found="The fan is worn.", **{"words-1": "Cleaning", "price-1": "5"}),
    )
    assert "- 1 piece of Rear fan: 18.50 EUR - Cleaning: 5.00 EUR - Work: 16.00 EUR Together: 39.50 EUR" in page_text(
        answer
    )
    assert "no answer yet" in page_text(answer)
    notice = notices.notices(job.id)[0]
    assert (notice.person, jobs.job(job.id).waiting_for) == (tech_page.person.shown_as, "the customer's answer")
    assert tech_page.get(f"/notices/{notice.id}.txt").text == notice.text
    mail = answer.text.split('href="mailto:?subject=')[1].split('"')[0].replace("&amp;", "&")
    assert unquote(mail.split("&body=")[1]).replace("\r\n", "\n") == notice.text
    agree = next(form for form in page_forms(answer) if form.action.endswith("/answer"))
    agree.fields.append(("answer", "agreed"))
    back = follow_redirect(tech_page, send_form(tech_page, agree))
    assert "The customer agreed: job J-7 goes on." in page_text(back)
    assert "agreed what the customer was told" in page_text(back)
    assert jobs.job(job.id).status == "open"


def test_what_was_typed_comes_back_with_what_is_wrong(tech_page: PageClient) -> None:
    job = waiting_job()
    page = tech_page.get(f"/jobs/{job.id}/notice")
    fields = {"price-0": "a lot", "words-1": "", "price-1": "7", "words-2": "A <b>lamp</b>"}
    refused = submit_form(tech_page, page, "/notice", found="Worn.", **fields)
    assert refused.status_code == 422
    assert "Say what this sum is for." in page_text(refused)
    assert 'value="a lot"' in refused.text
    assert "A &lt;b&gt;lamp&lt;/b&gt;" in refused.text
    assert submit_form(tech_page, page, "/notice", found=" ").status_code == 422
    assert notices.notices(job.id) == []


def test_a_line_is_left_out_and_nothing_need_be_safe_or_wait(tech_page: PageClient) -> None:
    job = waiting_job()
    page = tech_page.get(f"/jobs/{job.id}/notice")
    form = next(form for form in page_forms(page) if form.action.endswith("/notice"))
    form.fields = [(name, value) for name, value in form.fields if name not in ("wait", "work", "found")]
    form.fields += [("out-0", "1"), ("work", "0"), ("found", "Dust only."), ("unsafe", "1")]
    answer = follow_redirect(tech_page, send_form(tech_page, form))
    assert "What it takes" not in page_text(answer)
    assert "it is not safe" in page_text(answer)
    assert jobs.job(job.id).status == "open"


def test_a_viewer_reads_and_a_closed_job_tells_nothing_new(viewer_page: PageClient, tech_page: PageClient) -> None:
    job = waiting_job()
    notice = notices.record_notice(job.id, found="Worn.")
    answer = viewer_page.get(f"/notices/{notice.id}")
    assert answer.status_code == 200
    assert "They agree" not in page_text(answer)
    assert viewer_page.get(f"/jobs/{job.id}/notice").status_code == 403
    assert viewer_page.post_form(f"/notices/{notice.id}/answer", answer="agreed").status_code == 403
    jobs.close_job(job.id)
    assert "Tell the customer" not in page_text(tech_page.get(f"/jobs/{job.id}"))
    assert tech_page.post_form(f"/jobs/{job.id}/notice", found="Worn.").status_code == 409
    assert tech_page.get("/notices/99").status_code == 404
    assert tech_page.get("/jobs/99/notice").status_code == 404


def test_an_older_notice_says_so(tech_page: PageClient) -> None:
    job = waiting_job()
    first = notices.record_notice(job.id, found="Worn.")
    second = notices.record_notice(job.id, found="Worn, and the lamp.")
    assert "a newer one stands" in page_text(tech_page.get(f"/notices/{first.id}"))
    assert f'href="/notices/{second.id}"' in tech_page.get(f"/jobs/{job.id}/notice").text
    refused = tech_page.post_form(f"/notices/{first.id}/answer", answer="agreed")
    assert refused.status_code == 409
    assert "note the answer to that one" in page_text(refused)
