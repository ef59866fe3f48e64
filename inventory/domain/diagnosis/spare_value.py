"""Which spares are worth proving and keeping, from the bench's own jobs, and what keeping them has saved so far."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.kind_figures import figures_of, table
from inventory.domain.common.records import PartRecord, read
from inventory.domain.common.shop import Shop
from inventory.domain.diagnosis.diagnosis_records import AssumedFigure, KeepListRecord, KeepRecord
from inventory.domain.diagnosis.job_case import FAILS, WORKS
from inventory.domain.diagnosis.next_step import assumed_figures
from inventory.domain.diagnosis.step_durations import clocked_shop
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.standings import see
from inventory.domain.reorder.unit_purchases import OneMore, one_more
from inventory.reckoning.common.kind_defaults import KindDefaults
from inventory.reckoning.diagnosis.priors import smoothed
from inventory.reckoning.diagnosis.spare_value import (
    ORDERED_IF_BAD,
    ORDERED_IF_GOOD,
    Keeping,
    Worth,
    saved_so_far,
    worth_keeping,
)
from inventory.store.tables import Job, Loan, Order, OrderLine, Part, Piece, Suspect

YEAR = timedelta(days=365.25)
MOST_YEARS, LEAST_YEARS = 2.0, 0.5  # assumed: jobs older than that say little; less would be guessing
AT_FAULT, AT_FAULT_WEIGHT = 0.3, 2.0  # assumed chance that a suspect is the fault, as so many jobs
ORDERED_WEIGHT = 5.0  # jobs that the measured habits of ordering count as
GOOD = 0.98  # assumed chance that a proved spare is good, where none is kept yet
FIGURES = (
    "minute_minor", "waiting_day_minor", "recovered_share", "minutes_swap", "minutes_back", "minutes_proof",
    "holding_share",
)  # fmt: skip


@dataclass
class _Seen:
    """What the bench's jobs say of one part."""

    jobs: set[int] = field(default_factory=set)  # that suspected it
    bad: set[int] = field(default_factory=set)
    good: set[int] = field(default_factory=set)
    swapped: set[int] = field(default_factory=set)  # jobs on which one of it was swapped, at any time
    ordered: set[int] = field(default_factory=set)  # jobs for which it was ordered
    spares: list[PieceSeen] = field(default_factory=list)  # that are here
    since: datetime | None = None  # the first one was kept


def keep_list() -> KeepListRecord:
    """Return every part that a job of the last two years suspected, or that is kept as a spare; best value first."""
    (own, clocked), now = clocked_shop(), clock.now()
    years = _years(now)
    seen = _gather(now - years * YEAR)
    parts = {one.id: one for one in Part.select().where(Part.id << list(seen), ~Part.retired)}
    prices = one_more(parts, own) if parts else {}
    priced = [one for one in parts.values() if prices[one.id].price_minor > 0]
    kinds = table()
    found = [
        _record(part, seen[part.id], _case(part, seen[part.id], prices[part.id], years, own, figures_of(part, kinds)))
        for part in priced
    ]
    unpriced = tuple(read(PartRecord, one) for one in parts.values() if one not in priced)
    return KeepListRecord(
        tuple(sorted(found, key=lambda one: (-one.value_minor, one.part.number))), unpriced, years,
        sum(one.saved_minor or 0 for one in found), (*assumed_figures(FIGURES, clocked), *_fixed()),
    )  # fmt: skip


def _years(now: datetime) -> float:
    first = Job.select(Job.opened).order_by(Job.opened).first()
    length = (now - first.opened) / YEAR if first is not None else 0.0
    return float(min(max(length, LEAST_YEARS), MOST_YEARS))


# ---- what the bench's jobs say ---------------------------------------------------------------------------


def _gather(since: datetime) -> Mapping[int, _Seen]:
    seen: dict[int, _Seen] = defaultdict(_Seen)
    _add_suspects(seen, since)
    _add_swaps(seen)
    _add_orders(seen)
    _add_spares(seen)
    return seen


def _add_suspects(seen: dict[int, _Seen], since: datetime) -> None:
    rows = Suspect.select(Suspect, Job).join(Job).where(Suspect.part.is_null(False), Job.opened >= since)
    for one in rows:
        part = seen[one.part_id]
        part.jobs.add(one.job_id)
        if one.verdict and one.job.status == "closed":
            (part.bad if one.verdict == "bad" else part.good).add(one.job_id)


def _add_swaps(seen: dict[int, _Seen]) -> None:
    rows: Iterable[Any] = Loan.select(Loan, Piece).join(Piece).where(Loan.result << (WORKS, FAILS))
    for one in rows:
        seen[one.piece.part_id].swapped.add(one.job_id)


def _add_orders(seen: dict[int, _Seen]) -> None:
    rows = OrderLine.select(OrderLine, Order).join(Order).where(
        OrderLine.job_id.is_null(False), Order.status != "cancelled"
    )  # fmt: skip
    for one in rows:
        if one.part_id in seen and one.job_id is not None:
            seen[one.part_id].ordered.add(one.job_id)


def _add_spares(seen: dict[int, _Seen]) -> None:
    rows = list(Piece.select().where(Piece.spare).order_by(Piece.created, Piece.id))
    for one in rows:
        part = seen[one.part_id]
        part.since = min(part.since, one.created) if part.since else one.created
    for here in see([one.id for one in rows if one.bin_id is not None]):
        seen[here.part.id].spares.append(here)


# ---- records ---------------------------------------------------------------------------------------------


def _record(part: Any, seen: _Seen, case: Keeping) -> KeepRecord:
    worth = worth_keeping(case)
    best = [one.standing for one in seen.spares]
    return KeepRecord(
        part=read(PartRecord, part),
        jobs=len(seen.jobs),
        times_bad=len(seen.bad),
        jobs_a_year=case.jobs,
        p_bad=case.p_bad,
        price_minor=round(case.price),
        lead_days=case.lead_days,
        ordered_if_bad=case.ordered_if_bad,
        ordered_if_good=case.ordered_if_good,
        orders_seen=len((seen.bad | seen.good) - seen.swapped),
        saving_minor=round(worth.saving),
        value_minor=round(worth.per_year),
        break_even_jobs=worth.break_even_jobs,
        pieces=tuple(one.piece.shown_as for one in seen.spares),
        proved=sum(one.word == "proved" for one in best),
        swapped_jobs=len(seen.swapped),
        kept_since=seen.since,
        saved_minor=_saved(worth, seen),
        p_good=case.p_good,
    )


def _case(part: Any, seen: _Seen, price: OneMore, years: float, own: Shop, kind: KindDefaults) -> Keeping:
    bad, good = seen.bad - seen.swapped, seen.good - seen.swapped  # a swap stood in for the order
    return Keeping(
        jobs=len(seen.jobs) / years,
        p_bad=smoothed(len(seen.bad), len(seen.bad | seen.good), AT_FAULT, AT_FAULT_WEIGHT),
        price=price.price_minor,
        lead_days=price.lead_days,
        waiting_day=own.waiting_day_minor,
        minutes_in=own.minutes_swap,
        minutes_out=own.minutes_back,
        harm=kind.harm,
        p_good=max((one.standing.p_good for one in seen.spares), default=GOOD),
        recovered=own.recovered_share,
        minute=own.minute_minor,
        holding=own.holding_share,
        proofs=12.0 / kind.proof_months,
        minutes_proof=own.minutes_proof,
        ordered_if_bad=smoothed(len(bad & seen.ordered), len(bad), ORDERED_IF_BAD, ORDERED_WEIGHT),
        ordered_if_good=smoothed(len(good & seen.ordered), len(good), ORDERED_IF_GOOD, ORDERED_WEIGHT),
    )


def _saved(worth: Worth, seen: _Seen) -> int | None:
    if seen.since is None:
        return None
    return round(saved_so_far(worth, len(seen.swapped), (clock.now() - seen.since) / YEAR))


def _fixed() -> Sequence[AssumedFigure]:
    """Give the figures that are no settings."""
    return (
        AssumedFigure(
            "at_fault", f"Chance that a suspect is the fault, counted as {AT_FAULT_WEIGHT:g} jobs: {AT_FAULT:g}", True
        ),
        AssumedFigure(
            "ordered", "Chance that a suspected part is ordered when it is the fault, and when it is not "
            f"(measured in simulation), counted as {ORDERED_WEIGHT:g} jobs: {ORDERED_IF_BAD:g} and "
            f"{ORDERED_IF_GOOD:g}", True,
        ),
        AssumedFigure("good", f"Chance that a proved spare is good, where none is kept yet: {GOOD:g}", True),
    )  # fmt: skip
