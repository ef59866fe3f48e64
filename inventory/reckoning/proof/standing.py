"""Standing of one piece: how far it can be trusted as a test instrument, worked out from its dated log.

The events that a log may hold are in ``events``, the assumed figures of each kind of part in ``kinds``. The
chance follows Bayes' rule step by step; the word follows hard rules, first match wins:

failed    a failed proof with nothing passed since, or P(good) < .50
doubtful  P(good) < .90, or a swap that still failed on a job not yet closed, or its lot on hold
lapsed    proof out of date, or matings above the rated number
proved    a passed proof or a run in a unit on this very piece, and P(good) >= .96
unproved  the rest

The thresholds come from what "still fails" is worth: clearing a 50:50 suspect down to 5 % needs a spare of
.957, down to 10 % one of .898.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from inventory.reckoning.common.bayes import proof_likelihoods, swap_likelihoods, update_p_good
from inventory.reckoning.common.durations import DAYS_PER_MONTH
from inventory.reckoning.common.kind_defaults import KindDefaults
from inventory.reckoning.proof.piece_events import (
    Exposure,
    FromDonor,
    FromLot,
    JobClosed,
    JobOutcome,
    LotHeld,
    LotReleased,
    Mated,
    PieceEvent,
    ProofResult,
    StatedChance,
    SwapResult,
    months_between,
    to_utc,
)

STANDINGS = ("unproved", "proved", "lapsed", "doubtful", "failed")
PROVED_FROM = 0.96
DOUBTFUL_BELOW = 0.90
FAILED_BELOW = 0.50
JobOutcomes = Mapping[str, JobOutcome]  # the last answer of each job that carried one back

WORN_SHARE = 0.95  # share of good contacts left at the rated matings: S(m) = .95^((m/M)^2), assumed


@dataclass(frozen=True, slots=True)
class StandingStep:
    """One line of a piece's timeline: P(good) after something happened, and why it moved."""

    at: datetime
    p_good: float
    words: str


@dataclass(frozen=True, slots=True)
class StandingFacts:
    """Everything that the word of a standing is judged from."""

    p_good: float
    proved_on: date | None = None  # last day it passed a proof or ran in a unit, none failed since
    failed_on: date | None = None  # a failed proof with nothing passed since
    failed_reading: str = ""
    matings: int = 0
    open_failures: tuple[str, ...] = ()  # jobs not yet closed in which a unit still failed with it
    held: str | None = None  # reason of the hold on its lot


@dataclass(frozen=True, slots=True)
class StandingChange:
    """The first day on which time alone changes the word, the new word, and why."""

    on: date
    word: str
    why: str


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a piece can be trusted at the moment asked about."""

    word: str
    p_good: float
    why: str
    steps: tuple[StandingStep, ...]
    months_since_proof: float | None
    proof_until: date | None  # last day on which the last proof is in date
    valid_until: date | None  # last day on which time alone leaves it proved; None if it is not proved
    months_left: float | None  # months until then
    due: StandingChange | None  # the next change that time alone brings
    facts: StandingFacts


def assess_standing(events: Iterable[PieceEvent], kind: KindDefaults, at: date) -> Standing:
    """Return the standing at ``at``, from the events up to then, whatever is logged later.

    A date means the end of that day. Ageing between the events is taken from their dates. A log that does not
    say where the piece came from starts as one of an untested lot.
    """
    known = _events_up_to(events, at)
    run = _replay(known, kind, {})
    clock = to_utc(at) if run.clock is None else max(to_utc(at), run.clock)
    _apply_ageing(run, kind, clock)
    facts = run.facts()
    word, why = judge_standing(facts, kind, clock.date())
    due = next_standing_change(facts, kind, clock) if known else None
    until = due.on - timedelta(days=1) if due and word == "proved" else None
    return Standing(
        word=word,
        p_good=run.p_good,
        why=why,
        steps=tuple(run.steps),
        months_since_proof=None if run.proved is None else months_between(run.proved, clock),
        proof_until=proof_until(facts, kind),
        valid_until=until,
        months_left=None if until is None else (until - clock.date()).days / DAYS_PER_MONTH,
        due=due,
        facts=facts,
    )


def judge_standing(facts: StandingFacts, kind: KindDefaults, on: date) -> tuple[str, str]:
    """Return the word of the standing on a day, and why, by the hard rules in their order."""
    until = proof_until(facts, kind)
    if facts.failed_on:
        reading = f" ({facts.failed_reading})" if facts.failed_reading else ""
        return "failed", f"It failed a proof on {day_text(facts.failed_on)}{reading} and has passed nothing since."
    if facts.p_good < FAILED_BELOW:
        return "failed", f"The chance that it is good is {chance_text(facts.p_good)}, less than a toss of a coin."
    if facts.open_failures:
        jobs = ", ".join(facts.open_failures)
        return "doubtful", f"A unit still failed with it on a job that is not closed yet: {jobs}."
    if facts.held is not None:
        return "doubtful", f"Its lot is on hold: {facts.held or 'no reason given'}."
    if facts.p_good < DOUBTFUL_BELOW:
        return "doubtful", f"The chance that it is good is {chance_text(facts.p_good)}, below 90 %."
    if until is not None and on > until:
        return "lapsed", f"Its proof was good until {day_text(until)}; prove it again."
    if facts.matings > kind.rated_matings:
        return "lapsed", f"It has been mated {facts.matings} times and is rated for {kind.rated_matings}."
    if facts.proved_on is None:
        return "unproved", "It has never passed a proof or run in a unit."
    if facts.p_good < PROVED_FROM:
        return "unproved", f"The chance that it is good is {chance_text(facts.p_good)}; proved needs 96 %."
    return (
        "proved",
        f"It passed on {day_text(facts.proved_on)}; the chance that it is good is {chance_text(facts.p_good)}.",
    )


def proof_until(facts: StandingFacts, kind: KindDefaults) -> date | None:
    """Return the last day on which the last passed proof is in date, or None without one."""
    if facts.proved_on is None:
        return None
    return facts.proved_on + timedelta(days=math.floor(kind.proof_months * DAYS_PER_MONTH))


def next_standing_change(facts: StandingFacts, kind: KindDefaults, clock: datetime) -> StandingChange | None:
    """Return the first day after ``clock`` on which time alone changes the word, or None if it never does."""
    now = judge_standing(facts, kind, clock.date())[0]
    days = [_day_below(facts.p_good, limit, kind, clock) for limit in (PROVED_FROM, DOUBTFUL_BELOW, FAILED_BELOW)]
    until = proof_until(facts, kind)
    if until is not None:
        days.append(until + timedelta(days=1))
    for day in sorted(day for day in days if day is not None and day > clock.date()):
        aged = _aged_p_good(facts.p_good, kind, months_between(clock, to_utc(day)))
        word, why = judge_standing(replace(facts, p_good=aged), kind, day)
        if word != now:
            return StandingChange(day, word, why)
    return None


def day_text(day: date) -> str:
    """Return a day in words, as pages say it: 3 Mar 2025."""
    return f"{day.day} {day:%b %Y}"


def chance_text(p: float) -> str:
    """Return a chance in words, to a tenth of a per cent and never rounded up to certainty."""
    tenths = min(round(p * 1000), 999) if p < 1.0 else 1000
    return f"{max(tenths, 1) / 10 if p > 0 else 0:g} %"


@dataclass(slots=True)
class _StandingState:
    """The state that the walk through a log carries along."""

    p_good: float
    clock: datetime | None = None
    steps: list[StandingStep] = field(default_factory=list)
    lot: float | None = None
    proved: datetime | None = None
    failed: ProofResult | None = None
    matings: int = 0
    open_failures: dict[str, None] = field(default_factory=dict)
    held: str | None = None

    def facts(self) -> StandingFacts:
        return StandingFacts(
            p_good=self.p_good,
            proved_on=self.proved.date() if self.proved else None,
            failed_on=to_utc(self.failed.at).date() if self.failed else None,
            failed_reading=self.failed.reading if self.failed else "",
            matings=self.matings,
            open_failures=tuple(self.open_failures),
            held=self.held,
        )


def _events_up_to(events: Iterable[PieceEvent], at: date) -> list[PieceEvent]:
    end = to_utc(at)
    if not isinstance(at, datetime):
        end += timedelta(days=1) - timedelta(microseconds=1)
    return sorted((event for event in events if to_utc(event.at) <= end), key=lambda event: to_utc(event.at))


def _replay(events: Sequence[PieceEvent], kind: KindDefaults, settled: JobOutcomes) -> _StandingState:
    """Take the events in order; swap results of the settled jobs give way to what was carried back."""
    run = _StandingState(p_good=kind.lot_prior)
    for index, event in enumerate(events):
        now = to_utc(event.at)
        _apply_ageing(run, kind, now)
        if isinstance(event, JobOutcome) and event.job not in settled:
            # Evidence is capped as it comes in, so a swap cannot be divided out again: walk anew without it.
            past = events[: index + 1]
            jobs = {e.job: e for e in past if isinstance(e, JobOutcome)}
            run.p_good = _replay(past, kind, jobs).p_good
            run.open_failures.pop(event.job, None)
            words = f"job {event.job} closed; all that it saw counts instead of the single swaps"
        else:
            words = _apply_event(run, kind, event, settled)
        _add_step(run, kind, now, words)
        if isinstance(event, SwapResult) and not event.works and event.exposed:
            run.p_good *= 1.0 - kind.harm
            _add_step(run, kind, now, f"that run may have harmed it: {chance_text(kind.harm)} a time")
    return run


def _add_step(run: _StandingState, kind: KindDefaults, now: datetime, words: str) -> None:
    """Write a line of the timeline, and one more where the cap bites.

    The cap comes last in every line, not once at the very end: no test finds every intermittent fault, so
    three proofs in a row must not make a piece immune against what it is seen to do later.
    """
    run.clock = now
    run.steps.append(StandingStep(now, run.p_good, words))
    if run.p_good > kind.cap:
        run.p_good = kind.cap
        words = f"counted as {chance_text(kind.cap)} at most, since no test finds every intermittent fault"
        run.steps.append(StandingStep(now, run.p_good, words))


def _apply_ageing(run: _StandingState, kind: KindDefaults, now: datetime) -> None:
    if run.clock is None or kind.hazard == 0.0:
        return
    months = months_between(run.clock, now)
    if months <= 0.0:
        return
    run.p_good = _aged_p_good(run.p_good, kind, months)
    if months * DAYS_PER_MONTH >= 1.0:
        words = f"{months:.1f} months went by, at {chance_text(kind.hazard)} a year"
        run.steps.append(StandingStep(now, run.p_good, words))
    run.clock = now


def _aged_p_good(p_good: float, kind: KindDefaults, months: float) -> float:
    return p_good * math.exp(-kind.hazard * months / 12.0)


def _apply_event(run: _StandingState, kind: KindDefaults, event: PieceEvent, settled: JobOutcomes) -> str:
    """Let one event act on the run, and return what happened in words."""
    match event:
        case FromLot() | FromDonor() | StatedChance():
            return _apply_origin(run, kind, event)
        case ProofResult():
            return _apply_proof(run, event)
        case SwapResult():
            return _apply_swap(run, event, settled)
        case Exposure():
            run.p_good *= (1.0 - kind.harm) ** event.times
            return f"{event.what}: {event.times} x {chance_text(kind.harm)}"
        case Mated():
            run.p_good *= _contacts_left(event.after, kind) / _contacts_left(event.before, kind)
            run.matings = event.after
            return f"mated {event.after - event.before} times, now {event.after} of {kind.rated_matings} rated"
        case JobOutcome():
            return _apply_job_outcome(run, event, settled)
        case JobClosed():
            run.open_failures.pop(event.job, None)
            return f"job {event.job} closed"
        case LotHeld():
            run.held = event.reason
            return f"its lot went on hold: {event.reason or 'no reason given'}"
        case LotReleased():
            run.held = None
            return "the hold on its lot ended"


def _apply_origin(run: _StandingState, kind: KindDefaults, event: FromLot | FromDonor | StatedChance) -> str:
    if isinstance(event, StatedChance):
        run.p_good = event.p_good
        return f"started at a stated {chance_text(event.p_good)}"
    if isinstance(event, FromDonor):
        run.p_good = kind.donor_worked if event.worked else kind.donor_dead
        return f"came from a donor unit that {'worked' if event.worked else 'was dead'}"
    share = (kind.beta_b + event.tested - event.bad) / (kind.beta_a + kind.beta_b + event.tested)
    if run.lot is None:
        run.p_good = share
    else:
        run.p_good = update_p_good(run.p_good, share * (1.0 - run.lot), (1.0 - share) * run.lot)
    run.lot = share
    return f"from a lot with {event.bad} bad of {event.tested} tested"


def _apply_proof(run: _StandingState, event: ProofResult) -> str:
    run.p_good = update_p_good(run.p_good, *proof_likelihoods(event.passed, event.sens, event.spec))
    run.proved = to_utc(event.at) if event.passed else None
    run.failed = None if event.passed else event
    reading = f" ({event.reading})" if event.reading else ""
    return f"{'passed' if event.passed else 'failed'} {event.procedure}{reading}"


def _apply_job_outcome(run: _StandingState, event: JobOutcome, settled: JobOutcomes) -> str:
    """Weigh in all that a job saw, unless the job was opened again and closed with a later answer."""
    good = event.p_after * (1.0 - event.p_before)
    bad = (1.0 - event.p_after) * event.p_before
    if settled.get(event.job) is event and (good or bad):
        run.p_good = update_p_good(run.p_good, good, bad)
    return f"job {event.job} closed"


def _apply_swap(run: _StandingState, event: SwapResult, settled: JobOutcomes) -> str:
    answer = settled.get(event.job)
    if answer is None or to_utc(event.at) > to_utc(answer.at):
        run.p_good = update_p_good(run.p_good, *swap_likelihoods(event.works, event.a, event.mask, event.misread))
    where = f" on job {event.job}" if event.job else ""
    if event.works:
        run.proved, run.failed = to_utc(event.at), None
        run.open_failures.pop(event.job, None)
        return f"a unit worked with it{where}"
    if event.job:
        run.open_failures[event.job] = None
    return f"a unit still failed with it{where}"


def _contacts_left(matings: int, kind: KindDefaults) -> float:
    """Return the share of good contacts left after so many matings."""
    return float(WORN_SHARE ** ((matings / kind.rated_matings) ** 2))


def _day_below(p_good: float, limit: float, kind: KindDefaults, clock: datetime) -> date | None:
    """Return the first day whose midnight finds P(good) below ``limit`` by ageing alone."""
    if p_good < limit or kind.hazard == 0.0:
        return None
    days = 12.0 * DAYS_PER_MONTH * math.log(p_good / limit) / kind.hazard
    if days > 36525.0:
        return None
    return (clock + timedelta(days=days)).date() + timedelta(days=1)
