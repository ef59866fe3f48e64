"""docs/story-module.md tells a story of the demo bench: every number in it is worked out again here by the code."""

from __future__ import annotations

import re
from functools import partial

import pytest

from inventory.domain.diagnosis import diagnose, job_closing, next_step, spare_value, swap_tests
from inventory.domain.diagnosis.diagnosis_records import NextStepRecord, SpareValueRecord
from inventory.domain.jobs import jobs
from inventory.domain.money import wasted_purchases
from inventory.domain.proof import loans, pieces, standings
from inventory.store.connection import database
from tests import ROOT

PAGE = (ROOT / "docs" / "story-module.md").read_text()
TEXT = " ".join(PAGE.split())
MODULE, CAPACITOR = "Amplifier module", "Supply capacitor"


def told(*sentences: str) -> None:
    """Fail when the page does not say these, or says other numbers."""
    missing = [sentence for sentence in sentences if " ".join(sentence.split()) not in TEXT]
    assert not missing, missing


def share(value: float) -> str:
    """Say a chance to a tenth of a per cent, and never as a certainty."""
    if not 0.0005 <= value < 0.9995:
        return "over 99.9 %" if value > 0.5 else "under 0.1 %"
    return f"{value:.1%}".replace("%", " %")


def euros(minor: int) -> str:
    """Say money to a whole euro: what depends on the age of spares moves by cents within a day."""
    return f"{minor / 100:.0f}"


def spare() -> int:
    return next(piece.piece.id for piece in pieces.pieces(spare=True, limit=100).items if piece.piece.name == "C-09")


def the_guess() -> int:
    return int(loans.loans(piece_id=spare(), limit=50).items[-1].job_id)


def the_second() -> int:
    open_jobs = jobs.jobs(status="open", limit=100).items
    return int(next(open_job.id for open_job in open_jobs if open_job.symptom == "Hums, nothing plugged in"))


def suspect(job_id: int, name: str) -> int:
    return next(suspect.id for suspect in jobs.suspects(job_id) if suspect.name == name)


def where_the_chances_of_the_first_job_started() -> None:
    job, priors = jobs.job(the_guess()), diagnose.diagnose_job(the_guess()).priors
    counts = {count.name: count for count in priors.counts}
    assert set(counts) == {MODULE, CAPACITOR, "Internal plug", "Input board"}
    module, capacitor, plug = counts[MODULE], counts[CAPACITOR], counts["Internal plug"]
    assert (counts["Input board"].times, priors.elsewhere.times) == (0, 0)
    assert module.share == pytest.approx((module.times + 0.45) / (priors.jobs + 2))
    told(
        f"Job {job.number}, a Tern 12 powered speaker: *{job.symptom}.*",
        f"{priors.jobs} jobs of that model with that symptom had been closed. It was the amplifier module "
        f"{module.times} times, the supply capacitor {capacitor.times} times, the internal plug {plug.times} time.",
        f"({module.times} + 0.45) / {priors.jobs + 2} = {share(module.share)}",
        f"{module.share:.3f} x 0.25 = {module.share * 0.25:.3f} beforehand",
    )


def how_each_thing_seen_moved_the_first_job() -> None:
    log = diagnose.diagnose_job(the_guess()).log
    assert [line.kind for line in log] == ["complaint", "swap test", "measured", "new part"]
    columns = [{move.name: move.after for move in line.moved} for line in log]
    told(
        *(
            f"| {name} | {' | '.join(share(column[name]) for column in columns)} |"
            for name in (CAPACITOR, MODULE, "Internal plug", "Input board", "something not on the list")
        ),
        f"from {share(columns[0][MODULE])} to {share(columns[1][MODULE])}",
        f"because C-09 may be ({share(columns[1]['C-09'])} by now)",
        f"it is tired, and bad with {share(columns[2][CAPACITOR])}",
        f"with the old module in its place: {share(columns[3][CAPACITOR])}",
    )


def what_became_of_the_module_bought_in_vain() -> None:
    bought = next(
        purchase
        for purchase in wasted_purchases.wasted_purchases().items
        if purchase.job and purchase.job.id == the_guess()
    )
    assert [(fate.word, fate.told) for fate in bought.fates] == [("became a proved spare", "C-09")]
    job = jobs.job(the_guess())
    assert job.closed is not None
    assert (job.closed.date() - job.opened.date()).days == 9
    steps = standings.standing_of(spare()).steps
    left = next(step for step in steps if step.words.startswith(f"job {job.number} closed"))
    told(
        f"one was ordered for {bought.cost_minor / 100:.2f}",
        f"bought in vain: {bought.cost_minor / 100:.2f}, and nine days",
        f"is good with {share(steps[0].p_good)}: the kind's Beta(1, 49), nothing of its lot tested, 49 / 50",
        f"raises that to {share(steps[2].p_good)}, the most that is ever claimed",
        f"so it left that job with {share(left.p_good)}",
    )


def what_the_spare_is_worth_the_second_time() -> None:
    job, standing = the_second(), standings.standing_of(spare())
    priors = diagnose.diagnose_job(job).priors
    times = {count.name: count.times for count in priors.counts}
    steps = [step.words for step in standing.steps]
    assert sum(step.startswith(("a unit worked", "a unit still failed")) for step in steps) == 4
    assert sum(step.startswith("a unit still failed") for step in steps) == 2
    assert sum(step.startswith("passed Amplifier module into dummy load") for step in steps) == 2
    told(
        f"Job {jobs.job(job).number}, seven months on",
        f"By now {priors.jobs} such jobs are closed: {times[MODULE]} times the module, {times[CAPACITOR]} times the "
        f"capacitor, {times['Internal plug']} times the plug.",
        f"P(good) = {share(standing.p_good)}, *{standing.word}*",
    )


def the_steps_with_what_they_cost() -> None:
    steps = next_step.next_steps(the_second()).steps
    shown = re.findall(r"^\| (\w[^|]+?) \| \d+ \| [-\d. %]+ \| \d+ \|$", PAGE, re.MULTILINE)
    assert len(shown) == 5
    assert [step.words for step in steps[:3]] == shown[:3]

    def line(step: NextStepRecord) -> str:
        ends = share(step.p_ends) if step.action == "fix" else "-"
        return f"| {step.words} | {euros(step.cost_now_minor)} | {ends} | {euros(step.total_minor)} |"

    told(*(line(step) for step in steps if step.words in shown))
    assert len([step for step in steps if step.words in shown]) == 5
    best, ordered = steps[0].total_minor, next(step for step in steps if step.how == "order").total_minor
    assert 2 * best < ordered


def what_each_result_of_the_swap_would_say(result: str) -> None:
    job, piece = the_second(), spare()
    before = {suspect.name: suspect.p_bad for suspect in diagnose.diagnose_job(job).suspects}
    with database.atomic() as undone:
        lent = swap_tests.take_piece(piece, job, suspect_id=suspect(job, MODULE))
        back = swap_tests.bring_back_piece(lent.loan.id, result)
        after = {suspect.name: suspect.p_bad for suspect in diagnose.diagnose_job(job).suspects}
        following = next_step.next_steps(job)
        carried = job_closing.close_with_causes(job, was=[suspect(job, CAPACITOR)]).carried[0]
        undone.rollback()
    if result == "works with it":
        assert back.after.p_good == pytest.approx(0.99)
        stays, sure = following.steps[:2]
        assert (stays.how, sure.action) == ("keep", "run again")
        told(
            f"the old module is the fault with {share(after[MODULE])}, and C-09 is at its cap again",
            f"To let C-09 stay fitted costs {euros(stays.cost_now_minor)} now and ends the job with "
            f"{share(stays.p_ends)}; to put the old module back first, to be sure (A-B-A), would cost "
            f"{euros(sure.total_minor - stays.total_minor)} more in all.",
        )
        return
    first = following.steps[0]
    told(
        f"*a* = {share(back.loan.others_good or 0)} is the chance that all else was good. C-09 goes from "
        f"{share(back.before.p_good)} to {share(back.after.p_good)}",
        f"The module falls from {share(before[MODULE])} to {share(after[MODULE])}, the capacitor rises to "
        f"{share(after[CAPACITOR])}, and the next step is: {first.words}.",
        f"C-09 is cleared: {round(carried.p_after * 100)} % by all that the job saw.",
    )


def what_keeping_the_spare_has_saved() -> None:
    value: SpareValueRecord = next(part for part in spare_value.spare_values().parts if part.part.number == "MD-510")
    told(
        f"{value.jobs} jobs in a year and a half suspected that module, {value.jobs_a_year:.1f} a year. A proved one "
        f"on the shelf saves {euros(value.saving_minor)} on each: the chance that it would be ordered x "
        f"{value.lead_days:.1f} days of waiting x 6.00",
        f"Keeping one is worth {euros(value.value_minor)} a year and pays from {value.break_even_jobs:.1f} jobs a "
        f"year on. C-09 has been swapped on {value.swapped_jobs} jobs: {euros(value.saved_minor or 0)} saved so far.",
    )


CHECKS = {
    "the start of the first job": where_the_chances_of_the_first_job_started,
    "each thing seen on the first job": how_each_thing_seen_moved_the_first_job,
    "the module bought in vain": what_became_of_the_module_bought_in_vain,
    "the worth of the spare": what_the_spare_is_worth_the_second_time,
    "the steps": the_steps_with_what_they_cost,
    "it still fails": partial(what_each_result_of_the_swap_would_say, "still fails"),
    "it works": partial(what_each_result_of_the_swap_would_say, "works with it"),
    "what it saved": what_keeping_the_spare_has_saved,
}
"""Every check of the page, on the bench that is bound: ``test_any_day`` runs them at other moments."""


@pytest.mark.usefixtures("demo")
@pytest.mark.parametrize("name", CHECKS)
def test_the_story_tells_what_the_pages_say_of(name: str) -> None:
    CHECKS[name]()
