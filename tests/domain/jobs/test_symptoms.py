"""Symptoms in customers' words: which say the same, which the shop knows, and which past jobs count."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.diagnosis import diagnose, job_closing
from inventory.domain.jobs import jobs
from inventory.domain.jobs.symptoms import known_symptoms, significant_words, similar_symptoms
from inventory.pages.diagnosis.diagnosis_screen import set_known_symptom
from tests.factories import a_job


@pytest.mark.parametrize(
    ("symptom", "other"),
    [
        ("No pan", "no  PAN!"),
        ("Cooling fault, stops after ten minutes", "Stops after 10 minutes: cooling fault"),
        ("Channels crackle", "Channel crackles"),
        ("The fan is noisy", "noisy fan"),
        ("Does not charge", "does NOT charge."),
    ],
)
def test_the_same_words_in_any_order_case_or_number_are_the_same_symptom(symptom: str, other: str) -> None:
    assert significant_words(symptom) == significant_words(other)


@pytest.mark.parametrize(
    ("symptom", "other"),
    [
        ("No pan", "No tilt"), ("Charges", "Does not charge"), ("Light on", "Light off"),
        ("One channel dead", "Two channels dead"), ("Dead", "Output dead"), ("Glass", "Gla"),
    ],
)  # fmt: skip
def test_words_that_change_the_meaning_keep_symptoms_apart(symptom: str, other: str) -> None:
    assert significant_words(symptom) != significant_words(other)


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=8), max_size=6), st.randoms())
def test_no_order_and_no_case_ever_matters(words: list[str], by_chance: object) -> None:
    mixed = list(words)
    by_chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert significant_words(" ".join(words)) == significant_words(", ".join(mixed).upper())


def closed_as(name: str, symptom: str, model: str = "Corvid 7 moving head") -> str:
    job = a_job(symptom=symptom, unit_model=model)
    job_closing.close_with_causes(job.id, was=[jobs.add_suspect(job.id, name).id])
    return job.number


@pytest.mark.usefixtures("bench")
def test_it_counts_jobs_told_in_other_words_and_says_which() -> None:
    first = closed_as("fan", "Stops after ten minutes, cooling fault")
    second = closed_as("harness", "cooling FAULT: stops after 10 minutes")
    closed_as("fan", "Stops at once")
    job = a_job(symptom="Cooling fault, stops after ten minutes")
    jobs.add_suspect(job.id, "fan")
    priors = diagnose.diagnose_job(job.id).priors
    assert priors.jobs == 2
    assert [(job.number, job.it_was) for job in priors.counted] == [(second, "harness"), (first, "fan")]
    assert priors.counted[1].symptom == "Stops after ten minutes, cooling fault"


@pytest.mark.usefixtures("bench")
def test_it_says_what_a_job_was_that_was_nothing_on_its_list() -> None:
    past = a_job()
    jobs.add_suspect(past.id, "fan")
    job_closing.close_with_causes(past.id, something_else=True)
    job = a_job()
    jobs.add_suspect(job.id, "fan")
    assert diagnose.diagnose_job(job.id).priors.counted[0].it_was == "something not on its list"


@pytest.mark.usefixtures("bench")
def test_it_knows_the_shops_symptoms_the_commonest_first_in_their_commonest_words() -> None:
    for symptom in ("No pan", "No pan", "no pan!", "No light", ""):
        a_job(symptom=symptom)
    assert [(symptom.words, symptom.jobs) for symptom in known_symptoms()] == [("No pan", 3), ("No light", 1)]


@pytest.mark.usefixtures("bench")
def test_a_symptom_that_is_new_to_the_model_is_offered_those_it_is_near_to() -> None:
    closed_as("fan", "Cooling fault, stops after ten minutes")
    closed_as("lamp", "No light")
    closed_as("fan", "Stops cold", "Tern 12 powered speaker")
    job = a_job(symptom="Stops when hot")
    symptoms = similar_symptoms(job.symptom, job.unit_model_id)
    assert [symptom.words for symptom in symptoms] == ["Cooling fault, stops after ten minutes"]
    assert similar_symptoms("no light", job.unit_model_id) == similar_symptoms("No pan at all", None) == []


@pytest.mark.usefixtures("bench")
def test_taking_the_shops_words_keeps_the_customers_in_the_note() -> None:
    job = a_job(symptom="Gives up when hot", note="Bring cover.")
    named = set_known_symptom(job.id, "Cooling fault")
    assert (named.symptom, named.note) == (
        "Cooling fault",
        "Bring cover.\nIn the customer's words: Gives up when hot",
    )
    assert set_known_symptom(job.id, "Cooling fault").note == named.note
