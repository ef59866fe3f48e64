"""docs/story-module.md tells a story of the demo bench: every number in it is worked out again here by the code."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from inventory.stock import diagnose, jobs, keep, learn, lend, next_step, pieces, prove, standings
from inventory.stock.records_diagnosis import KeepRecord, StepRecord
from inventory.store.binding import database
from tests.seed.conftest import Loaded

PAGE = (Path(__file__).parent.parent.parent / "docs" / "story-module.md").read_text()
TEXT = " ".join(PAGE.split())


def told(*sentences: str) -> None:
    """Fail when the page does not say these, or says other numbers."""
    for one in sentences:
        assert " ".join(one.split()) in TEXT, one


def share(value: float) -> str:
    """Say a chance to a tenth of a per cent, and never as a certainty."""
    if not 0.0005 <= value < 0.9995:
        return "over 99.9 %" if value > 0.5 else "under 0.1 %"
    return f"{value:.1%}".replace("%", " %")


def money(minor: int) -> str:
    return f"{minor / 100:.2f}"


def spare_c07() -> int:
    return next(one.piece.id for one in pieces.pieces(spare=True, limit=100).items if one.piece.name == "C-07")


def the_guess() -> int:
    job_id = prove.proofs(piece_id=spare_c07(), limit=50).items[-1].job_id
    assert job_id is not None
    return int(job_id)


def the_second() -> int:
    found = jobs.jobs(status="open", limit=100).items
    return int(next(one.id for one in found if one.symptom.startswith("Cooling fault")))


def suspect(job_id: int, name: str) -> int:
    return next(one.id for one in jobs.suspects(job_id) if one.name == name)


@pytest.mark.usefixtures("demo")
def test_it_says_where_the_chances_of_the_first_job_started() -> None:
    job, said = jobs.job(the_guess()), diagnose.diagnosis(the_guess()).priors
    fan, harness, header, sensor = said.counts
    names = ["Head fan", "Fan harness", "Fan header", "Temperature sensor"]
    assert [one.name for one in said.counts] == names
    assert (sensor.times, said.elsewhere.times) == (0, 0)
    assert fan.share == pytest.approx((fan.times + 0.45) / (said.jobs + 2))
    told(
        f"Job {job.number}, a Corvid 7 moving head: *{job.symptom}.*",
        f"{said.jobs} jobs of that model with that symptom had been closed. It was the head fan {fan.times} times, "
        f"the fan harness {harness.times} times, the fan header {header.times} times.",
        f"({fan.times} + 0.45) / {said.jobs + 2} = {share(fan.share)}",
        f"{fan.share:.3f} x 0.25 = {fan.share * 0.25:.3f} beforehand",
    )


@pytest.mark.usefixtures("demo")
def test_it_tells_how_each_thing_seen_moved_the_first_job() -> None:
    log = diagnose.diagnosis(the_guess()).log
    assert [line.kind for line in log] == ["complaint", "new part", "measured", "new part", "put back"]
    columns = [{one.name: one.after for one in line.moved} for line in log]
    for name in ("Head fan", "Fan harness", "Fan header", "Temperature sensor", "something not on the list"):
        told(f"| {name} | {' | '.join(share(column[name]) for column in columns)} |")
    told(
        f"A fan out of a bag is good with {share(1 - 0.5 / 25)}",
        f"So the suspicion of the fan falls to {share(columns[1]['Head fan'])}",
        f"because the new fan may be ({share(columns[1]['new Head fan'])} by now)",
        f"says bad: {share(columns[2]['Fan harness'])}",
    )
    assert columns[1]["new Head fan"] > 0.02


@pytest.mark.usefixtures("demo")
def test_it_says_what_the_spare_is_worth_the_second_time() -> None:
    job, standing = the_second(), standings.standing_of(spare_c07())
    said = diagnose.diagnosis(job).priors
    fan, harness, header, _ = said.counts
    steps = [one.words for one in standing.steps]
    assert sum("swap" in one or "a unit" in one for one in steps if "job" in one and "closed" not in one) == 6
    assert sum(one.startswith("a unit still failed") for one in steps) == 2
    assert sum(one.startswith("passed Fan bench run") for one in steps) == 2
    told(
        f"Job {jobs.job(job).number}, nine months on",
        f"By now {said.jobs} such jobs are closed: {fan.times} times the fan, {harness.times} times the harness, "
        f"{header.times} times the header.",
        f"P(good) = {share(standing.p_good)}, *{standing.word}*",
    )


@pytest.mark.usefixtures("demo")
def test_it_lists_the_steps_with_what_they_cost() -> None:
    steps = next_step.next_steps(the_second()).steps
    shown = re.findall(r"^\| (\w[^|]+?) \| [\d.]+ \| [-\d. %]+ \| [\d.]+ \|$", PAGE, re.MULTILINE)
    assert len(shown) == 5
    assert [one.words for one in steps[:3]] == shown[:3]

    def line(one: StepRecord) -> str:
        ends = share(one.p_ends) if one.action == "fix" else "-"
        return f"| {one.words} | {money(one.cost_now_minor)} | {ends} | {money(one.total_minor)} |"

    told(*(line(one) for one in steps if one.words in shown))
    assert len([one for one in steps if one.words in shown]) == 5
    best, ordered = steps[0].total_minor, next(one for one in steps if one.how == "order").total_minor
    assert 3 * best < ordered


@pytest.mark.parametrize("result", ["still fails", "works with it"])
def test_it_tells_what_each_result_of_the_swap_would_say(demo: Loaded, result: str) -> None:
    assert demo
    job, piece = the_second(), spare_c07()
    before = {one.name: one.p_bad for one in diagnose.diagnosis(job).suspects}
    with database.atomic() as undone:
        lent = lend.take(piece, job, suspect_id=suspect(job, "Head fan"))
        back = lend.bring_back(lent.loan.id, result)
        after = {one.name: one.p_bad for one in diagnose.diagnosis(job).suspects}
        following = next_step.next_steps(job)
        said = following.sentence
        carried = learn.close(job, was=[suspect(job, "Fan harness")]).carried[0]
        undone.rollback()
    if result == "works with it":
        told(f"the old fan is the fault with {share(after['Head fan'])}, and C-07 is at its cap again")
        assert back.after.p_good == pytest.approx(0.995)
        stays, sure = following.steps[:2]
        told(
            f"Then to let C-07 stay fitted costs {money(stays.cost_now_minor)} now and ends the job with "
            f"{share(stays.p_ends)}; to put the old fan back first, to be sure (A-B-A), would cost "
            f"{money(sure.total_minor - stays.total_minor)} more in all.",
        )
        assert (stays.how, sure.action) == ("keep", "run again")
        return
    told(
        f"*a* = {share(back.loan.others_good or 0)} is the chance that all else was good. C-07 goes from "
        f"{share(back.before.p_good)} to {share(back.after.p_good)}",
        f"The head fan falls from {share(before['Head fan'])} to {share(after['Head fan'])}, the harness rises to "
        f"{share(after['Fan harness'])}, and the next step is to swap in the proved harness C-03.",
        f"C-07 is cleared: {share(carried.p_after)} by all that the job saw.",
    )
    assert said.startswith("Swap in C-03 for the Fan harness")


@pytest.mark.usefixtures("demo")
def test_it_tells_what_keeping_the_spare_has_saved() -> None:
    found: KeepRecord = next(one for one in keep.keep_list().parts if one.part.number == "FN-301")
    told(
        f"{found.jobs} jobs in a year and a half suspected that fan, {found.jobs_a_year:.1f} a year. A proved one on "
        f"the shelf saves {money(found.saving_minor)} on each: the chance that it would be ordered x "
        f"{found.lead_days:.1f} days of waiting x 6.00",
        f"Keeping one is worth {money(found.value_minor)} a year and pays from {found.break_even_jobs:.1f} jobs a "
        f"year on. C-07 has been swapped on {found.swapped_jobs} jobs: {money(found.saved_minor or 0)} saved so far.",
    )
