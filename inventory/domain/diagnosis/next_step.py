"""What to do next on a job: each possible step with its cost now, its chance to end the job, and the expected total.

The arithmetic is in ``reckoning.diagnosis.next_step``: one step of lookahead over a list that is worked down by
chance for money. ``candidate_steps`` finds which steps there are. A test under way comes first: a piece that is out
waits for its result.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from inventory.domain.common.errors import Conflict
from inventory.domain.common.shop import shop_settings
from inventory.domain.diagnosis import diagnosis_records as r
from inventory.domain.diagnosis.candidate_steps import OUT, CandidateStep, SparesBySuspect, candidate_steps
from inventory.domain.diagnosis.diagnose import WeighedCase, weigh_case
from inventory.domain.diagnosis.open_tests import OpenTests, open_tests
from inventory.domain.diagnosis.step_durations import StepDuration, shop_with_durations
from inventory.domain.proof.spares import spares_for_suspects
from inventory.reckoning.diagnosis.next_step import FIX, GIVE_UP, RERUN, NextStep, rank_steps
from inventory.reckoning.diagnosis.repair_plan import Measurement, Remedy, RepairPlan, Rerun
from inventory.reckoning.proof.standing import chance_text

MAX_SUSPECTS = 10  # of the likeliest suspects; the work doubles with each more, and the page waits for it
REPAIRED_THRESHOLD = 0.9  # chance that all that is fitted is good from which nothing more is advised
NOTHING_TO_DO = "Nothing more to do: what is fitted now is most likely all good. Run it once more, and close the job."
ASSUMED_SETTINGS = (
    "minute_minor", "waiting_day_minor", "give_up_minor", "come_back_minor", "recovered_share", "minutes_measure",
    "minutes_swap", "minutes_back", "minutes_fit", "minutes_repair", "measured_finds", "measured_passes",
    "repair_spoils", "repair_fails", "mask", "misread", "line_cost_minor",
)  # fmt: skip
"""The shop's settings that the advice rests on."""


def next_steps(job_id: int) -> r.NextStepsRecord:
    """Return what could be done next on an open job: what is under way first, then the cheapest in expectation.

    Raises Conflict for a closed job, and whenever the job's log cannot be weighed (``diagnose.weigh_case``).
    """
    weighed = weigh_case(job_id)
    if weighed.job.status == "closed":
        raise Conflict(f"Job {weighed.job.number} is closed: reopen it to go on.", reason="job_closed")
    return steps_for_case(weighed, spares_for_suspects(weighed.suspects))


def steps_for_case(weighed: WeighedCase, spares: SparesBySuspect) -> r.NextStepsRecord:
    """Return the next steps for a job that was weighed already; *spares* fit each suspect, by its id."""
    tests = open_tests(weighed)
    if float(weighed.diagnosis.belief.weights[0]) >= REPAIRED_THRESHOLD:
        return r.NextStepsRecord(weighed.job.id, _bring_back_reminder(tests, "") + NOTHING_TO_DO, (), (), ())
    config, durations = shop_with_durations()
    places = sorted(weighed.job_case.case.places, key=lambda place: -_suspect_priority(weighed, tests, place))
    looked_at, left_out = places[:MAX_SUSPECTS], places[MAX_SUSPECTS:]
    candidates = list(candidate_steps(weighed, looked_at, tests, config, spares))
    actions = [candidate.action for candidate in candidates]
    plan = RepairPlan(
        weighed.diagnosis.belief, tuple(action for action in actions if isinstance(action, Remedy)),
        tuple(action for action in actions if isinstance(action, Measurement)), config.step_costs,
        tuple(action for action in actions if isinstance(action, Rerun)), _fitted_masks(weighed),
    )  # fmt: skip
    by_step = {id(candidate.action): candidate for candidate in candidates}
    steps = [
        _step_record(step, by_step.get(id(step.remedy or step.check or step.rerun))) for step in rank_steps(plan)
    ]
    steps.sort(key=lambda record: record.how != OUT)
    names = tuple(weighed.job_case.nodes[place].name for place in left_out)
    sentence = _summary(steps, tests, weighed)
    return r.NextStepsRecord(
        weighed.job.id, sentence, tuple(steps), names, tuple(assumed_figures(ASSUMED_SETTINGS, durations))
    )


def _suspect_priority(weighed: WeighedCase, tests: OpenTests, place: str) -> float:
    """Return the sort key of a suspect, the highest first: those with a test under way, then the likeliest."""
    suspect_id = weighed.job_case.nodes[place].suspect_id
    return weighed.diagnosis.p_bad[weighed.job_case.fitted[place]] + (
        suspect_id in tests.out or suspect_id in tests.worked
    )


def _fitted_masks(weighed: WeighedCase) -> tuple[tuple[str, float], ...]:
    """Return the masks of the originals that are fitted now and whose fault comes and goes."""
    fitted = set(weighed.job_case.fitted.values())
    return tuple((name, mask) for name, mask in weighed.job_case.masks.items() if name in fitted)


# ---- records ---------------------------------------------------------------------------------------------


def _step_record(step: NextStep, candidate: CandidateStep | None) -> r.NextStepRecord:
    spare = candidate.spare if candidate is not None else None
    remedy, action = step.remedy, step.remedy or step.check or step.rerun
    return r.NextStepRecord(
        action=step.action,
        how=candidate.how if candidate else "",
        words=candidate.words if candidate else "Hand it back unmended",
        suspect=candidate.suspect.name if candidate else "",
        suspect_id=candidate.suspect.id if candidate else None,
        part_id=candidate.suspect.part_id if candidate else None,
        piece_id=spare.piece.id if spare else None,
        piece=spare.piece.shown_as if spare else "",
        standing=spare.standing.word if spare else "",
        bin_id=candidate.bin_id if candidate else None,
        bin=candidate.bin if candidate else "",
        loan_id=candidate.loan_id if candidate else None,
        procedure_id=candidate.procedure_id if candidate else None,
        minutes=action.minutes if action else 0.0,
        price_minor=round(remedy.price) if remedy else 0,
        lead_days=remedy.lead_days if remedy else 0.0,
        p_good=1.0 - remedy.bad_if_bad if remedy else None,
        cost_now_minor=round(step.cost_now),
        p_ends=step.p_ends,
        cost_after_minor=round(step.total) - round(step.cost_now),
        total_minor=round(step.total),
    )


def _summary(steps: Sequence[r.NextStepRecord], tests: OpenTests, weighed: WeighedCase) -> str:
    best = steps[0]
    reminders = _bring_back_reminder(tests, "the unit still failed with it") + _worked_summary(tests, weighed)
    if best.action == GIVE_UP:
        return (
            f"{reminders}Nothing that can be done is worth its cost: hand it back unmended, or name another suspect."
        )
    if best.action == FIX:
        return f"{reminders}{best.words}: that ends the job with a chance of {chance_text(best.p_ends)}."
    if best.action == RERUN:
        return f"{reminders}{best.words}: if it fails again, it was the {best.suspect}."
    return f"{reminders}{best.words} first: what it says makes the rest cheaper."


def _bring_back_reminder(tests: OpenTests, why: str) -> str:
    """Remind of the pieces that are out and have nothing more to tell; with no reason, of every one that is out."""
    names = [
        open_loan.loan.piece.shown_as for open_loan in tests.out.values() if not why or open_loan.last_worked is False
    ]
    if not names:
        return ""
    because = f": {why}" if why else ", with its result"
    return f"Bring {' and '.join(names)} back{because}. "


def _worked_summary(tests: OpenTests, weighed: WeighedCase) -> str:
    """Say that a swap worked, and how likely that makes the old one the fault."""
    sentences = []
    for suspect in weighed.suspects:
        loan = tests.worked.get(suspect.id)
        if loan is not None:
            place = weighed.job_case.place_of[suspect.id]
            bad = chance_text(weighed.diagnosis.p_bad[weighed.job_case.original[place]])
            name = loan.piece.shown_as
            sentences.append(
                f"The unit worked with {name}, so the old {suspect.name} is bad with a chance of {bad}. "
            )
    return "".join(sentences)


def assumed_figures(names: Sequence[str], durations: Mapping[str, StepDuration]) -> Iterator[r.AssumedFigure]:
    """Yield the shop's settings of these names, in words, and whether they are still the assumed ones.

    *durations* are the minutes that the job log has timed, by setting.
    """
    settings = {record.name: record for record in shop_settings()}
    for name in names:
        setting, duration = settings[name], durations.get(name)
        about = setting.about.replace(" (assumed)", "")
        if setting.is_money:
            yield r.AssumedFigure(
                name, f"{about} {setting.value:g}", not setting.decided, setting.meaning, setting.value
            )
        elif duration is None:
            yield r.AssumedFigure(name, f"{about} {setting.value:g}", not setting.decided)
        elif duration.minutes is None:
            yield r.AssumedFigure(name, f"{about} {setting.value:g}; {duration.words}", True)
        else:
            yield r.AssumedFigure(name, f"{about} {duration.minutes:g}: {duration.words}", False)
