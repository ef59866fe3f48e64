"""What to do next on a job: each possible step with its cost now, its chance to end the job, and the expected total.

The arithmetic is ``reckoning.advice``: one step of lookahead over a list that is worked down by chance for money.
Which steps there are, ``ways`` finds. What is under way comes first: a piece that is out waits for its result.
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
from inventory.reckoning.diagnosis.next_step import (
    FIX,
    GIVE_UP,
    RERUN,
    Measurement,
    NextStep,
    Remedy,
    RepairPlan,
    Rerun,
    rank_steps,
)
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

    Raises Conflict for a closed job, and whenever the job's log cannot be weighed (``diagnose.weigh``).
    """
    found = weigh_case(job_id)
    if found.job.status == "closed":
        raise Conflict(f"Job {found.job.number} is closed: reopen it to go on.", reason="job_closed")
    return steps_for_case(found, spares_for_suspects(found.suspects))


def steps_for_case(found: WeighedCase, fits: SparesBySuspect) -> r.NextStepsRecord:
    """Return the next steps for a job that was weighed already; *fits* says which spares fit each suspect."""
    begun = open_tests(found)
    if float(found.said.belief.weights[0]) >= REPAIRED_THRESHOLD:
        return r.NextStepsRecord(found.job.id, _bring_back_reminder(begun, "") + NOTHING_TO_DO, (), (), ())
    own, clocked = shop_with_durations()
    places = sorted(found.made.case.places, key=lambda place: -_suspect_priority(found, begun, place))
    looked_at, left_out = places[:MAX_SUSPECTS], places[MAX_SUSPECTS:]
    possible = list(candidate_steps(found, looked_at, begun, own, fits))
    plan = RepairPlan(
        found.said.belief, tuple(way.taken for way in possible if isinstance(way.taken, Remedy)),
        tuple(way.taken for way in possible if isinstance(way.taken, Measurement)), own.step_costs,
        tuple(way.taken for way in possible if isinstance(way.taken, Rerun)), _fitted_masks(found),
    )  # fmt: skip
    by_step = {id(way.taken): way for way in possible}
    steps = [
        _step_record(step, by_step.get(id(step.remedy or step.check or step.rerun))) for step in rank_steps(plan)
    ]
    steps.sort(key=lambda one: one.how != OUT)
    names = tuple(found.made.nodes[place].name for place in left_out)
    sentence = _summary(steps, begun, found)
    return r.NextStepsRecord(
        found.job.id, sentence, tuple(steps), names, tuple(assumed_figures(ASSUMED_SETTINGS, clocked))
    )


def _suspect_priority(found: WeighedCase, begun: OpenTests, place: str) -> float:
    """Return what suspects are sorted by: those of which something is under way, then the likeliest."""
    suspect_id = found.made.nodes[place].suspect_id
    return found.said.p_bad[found.made.fitted[place]] + (suspect_id in begun.out or suspect_id in begun.worked)


def _fitted_masks(found: WeighedCase) -> tuple[tuple[str, float], ...]:
    """Return the masks of the originals that are fitted now and whose fault comes and goes."""
    fitted = set(found.made.fitted.values())
    return tuple((name, mask) for name, mask in found.made.masks.items() if name in fitted)


# ---- records ---------------------------------------------------------------------------------------------


def _step_record(step: NextStep, way: CandidateStep | None) -> r.NextStepRecord:
    spare = way.spare if way is not None else None
    remedy, doing = step.remedy, step.remedy or step.check or step.rerun
    return r.NextStepRecord(
        action=step.action,
        how=way.how if way else "",
        words=way.words if way else "Hand it back unmended",
        suspect=way.suspect.name if way else "",
        suspect_id=way.suspect.id if way else None,
        part_id=way.suspect.part_id if way else None,
        piece_id=spare.piece.id if spare else None,
        piece=spare.piece.shown_as if spare else "",
        standing=spare.standing.word if spare else "",
        bin_id=way.bin_id if way else None,
        bin=way.bin if way else "",
        loan_id=way.loan_id if way else None,
        procedure_id=way.procedure_id if way else None,
        minutes=doing.minutes if doing else 0.0,
        price_minor=round(remedy.price) if remedy else 0,
        lead_days=remedy.lead_days if remedy else 0.0,
        p_good=1.0 - remedy.bad_if_bad if remedy else None,
        cost_now_minor=round(step.cost_now),
        p_ends=step.p_ends,
        cost_after_minor=round(step.total) - round(step.cost_now),
        total_minor=round(step.total),
    )


def _summary(steps: Sequence[r.NextStepRecord], begun: OpenTests, found: WeighedCase) -> str:
    best = steps[0]
    said = _bring_back_reminder(begun, "the unit still failed with it") + _worked_summary(begun, found)
    if best.action == GIVE_UP:
        return f"{said}Nothing that can be done is worth its cost: hand it back unmended, or name another suspect."
    if best.action == FIX:
        return f"{said}{best.words}: that ends the job with a chance of {chance_text(best.p_ends)}."
    if best.action == RERUN:
        return f"{said}{best.words}: if it fails again, it was the {best.suspect}."
    return f"{said}{best.words} first: what it says makes the rest cheaper."


def _bring_back_reminder(begun: OpenTests, why: str) -> str:
    """Remind of the pieces that are out and have nothing more to tell; with no reason, of every one that is out."""
    names = [str(one.loan.piece.shown_as) for one in begun.out.values() if not why or one.told is False]
    if not names:
        return ""
    because = f": {why}" if why else ", with its result"
    return f"Bring {' and '.join(names)} back{because}. "


def _worked_summary(begun: OpenTests, found: WeighedCase) -> str:
    """Say that a swap worked, and how likely that makes the old one the fault."""
    said = []
    for suspect in found.suspects:
        loan = begun.worked.get(suspect.id)
        if loan is not None:
            place = found.made.place_of[suspect.id]
            bad = chance_text(found.said.p_bad[found.made.original[place]])
            name = loan.piece.shown_as
            said.append(f"The unit worked with {name}, so the old {suspect.name} is bad with a chance of {bad}. ")
    return "".join(said)


def assumed_figures(names: Sequence[str], clocked: Mapping[str, StepDuration]) -> Iterator[r.AssumedFigure]:
    """Give the shop's settings of these names, in words, and whether they are still the assumed ones.

    *clocked* says which minutes the bench's own log has timed.
    """
    known = {setting.name: setting for setting in shop_settings()}
    for name in names:
        one, timed = known[name], clocked.get(name)
        about = one.about.replace(" (assumed)", "")
        if one.is_money:
            yield r.AssumedFigure(name, f"{about} {one.value:g}", not one.decided, one.meaning, one.value)
        elif timed is None:
            yield r.AssumedFigure(name, f"{about} {one.value:g}", not one.decided)
        elif timed.minutes is None:
            yield r.AssumedFigure(name, f"{about} {one.value:g}; {timed.words}", True)
        else:
            yield r.AssumedFigure(name, f"{about} {timed.minutes:g}: {timed.words}", False)
