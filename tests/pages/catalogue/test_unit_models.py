"""The pages of unit models: what fits, what was learnt, what came in before."""

from __future__ import annotations

from inventory.domain.catalogue import parts
from inventory.domain.jobs import jobs
from tests.factories import a_job, a_part
from tests.http_clients import PageClient
from tests.pages.page_forms import follow_redirect, page_text, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE unit_models;--"


def test_it_lists_models_with_their_jobs_and_parts(tech_page: PageClient) -> None:
    a_job(unit_model="Corvid 7"), a_job(unit_model="Corvid 7")
    a_part(fits=["Tern 12"])
    text = page_text(tech_page.get("/unit-models"))
    assert "Corvid 7 2 jobs 0 parts fit" in text
    assert "Tern 12 0 jobs 1 part fits" in text
    assert "Tern" not in page_text(tech_page.get("/unit-models?q=corvid"))


def test_it_shows_parts_lessons_and_past_jobs(tech_page: PageClient) -> None:
    a_part("Rear fan", "fan", fits=["Corvid 7"])
    job = a_job(unit_model="Corvid 7", symptom="no pan")
    jobs.close_job(job.id, found="flat-flex cracked")
    model = parts.unit_models()[0]
    parts.add_lesson("Check the flat-flex first.", unit_model_id=model.id)
    text = page_text(tech_page.get(f"/unit-models/{model.id}"))
    for words in ("Rear fan", f"Job {job.number}", "it was: flat-flex cracked", "Check the flat-flex first."):
        assert words in text


def test_it_keeps_a_lesson(tech_page: PageClient) -> None:
    model = parts.get_or_create_unit_model("Corvid 7")
    page = tech_page.get(f"/unit-models/{model.id}")
    refused = submit_form(tech_page, page, "/lessons", text=" ")
    assert refused.status_code == 422
    assert "Write the lesson in a sentence first." in page_text(refused)
    answer = follow_redirect(tech_page, submit_form(tech_page, page, "/lessons", text="The yoke cracks."))
    assert "The yoke cracks." in page_text(answer)
    lessons = parts.lessons(unit_model_id=model.id)
    assert [(lesson.text, lesson.person) for lesson in lessons] == [("The yoke cracks.", tech_page.person.shown_as)]


def test_it_shows_html_and_sql_in_every_text_as_text(tech_page: PageClient) -> None:
    model = parts.get_or_create_unit_model(EVIL)
    parts.add_lesson(EVIL, unit_model_id=model.id)
    for address in ("/unit-models", f"/unit-models/{model.id}"):
        body = tech_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_no_model_that_is_not_there(tech_page: PageClient) -> None:
    assert tech_page.get("/unit-models/999").status_code == 404
    assert tech_page.post_form("/unit-models/999/lessons", text="x").status_code == 404


def test_it_lets_a_viewer_look_and_nothing_else(viewer_page: PageClient) -> None:
    model = parts.get_or_create_unit_model("Corvid 7")
    assert "Note a lesson" not in page_text(viewer_page.get(f"/unit-models/{model.id}"))
    assert viewer_page.post_form(f"/unit-models/{model.id}/lessons", text="x").status_code == 403


def test_it_takes_no_other_method(tech_page: PageClient) -> None:
    model = parts.get_or_create_unit_model("Corvid 7")
    assert tech_page.get(f"/unit-models/{model.id}/lessons").status_code == 405
    assert tech_page.post_form(f"/unit-models/{model.id}").status_code == 405
