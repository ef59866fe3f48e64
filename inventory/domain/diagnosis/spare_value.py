"""Which spares are worth proving and keeping, from the bench's own jobs, and what keeping them has saved so far."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.kind_figures import figures_by_kind, figures_of_part
from inventory.domain.common.records import PartRecord, from_row
from inventory.domain.common.shop import ShopConfig
from inventory.domain.diagnosis.diagnosis_records import AssumedFigure, SpareValueList, SpareValueRecord
from inventory.domain.diagnosis.job_case import STILL_FAILS, WORKS_WITH_IT
from inventory.domain.diagnosis.next_step import assumed_figures
from inventory.domain.diagnosis.step_durations import shop_with_durations
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.reorder.unit_purchases import UnitPurchase, unit_purchases
from inventory.reckoning.common.durations import DAYS_PER_YEAR
from inventory.reckoning.common.kind_defaults import KindDefaults
from inventory.reckoning.diagnosis.priors import smoothed_share
from inventory.reckoning.diagnosis.spare_value import (
    ORDER_CHANCE_IF_BAD,
    ORDER_CHANCE_IF_GOOD,
    SpareCase,
    SpareValue,
    assess_spare_value,
    savings_to_date,
)
from inventory.store.tables import Job, Loan, Order, OrderLine, Part, Piece, Suspect

YEAR = timedelta(days=DAYS_PER_YEAR)
MAX_YEARS, MIN_YEARS = 2.0, 0.5  # assumed: jobs older than that say little; less would be guessing
PRIOR_AT_FAULT, PRIOR_AT_FAULT_WEIGHT = 0.3, 2.0  # assumed chance that a suspect is the fault, as so many jobs
PRIOR_ORDERED_WEIGHT = 5.0  # jobs that the measured habits of ordering count as
DEFAULT_P_GOOD = 0.98  # assumed chance that a proved spare is good, where none is kept yet
ASSUMED_SETTINGS = (
    "minute_minor", "waiting_day_minor", "recovered_share", "minutes_swap", "minutes_back", "minutes_proof",
    "holding_share",
)  # fmt: skip


@dataclass
class _PartHistory:
    """What the bench's jobs say of one part."""

    jobs: set[int] = field(default_factory=set)  # that suspected it
    bad: set[int] = field(default_factory=set)
    good: set[int] = field(default_factory=set)
    swapped: set[int] = field(default_factory=set)  # jobs on which one of it was swapped, at any time
    ordered: set[int] = field(default_factory=set)  # jobs for which it was ordered
    spares: list[PieceStatus] = field(default_factory=list)  # that are here
    since: datetime | None = None  # the first one was kept


def spare_values() -> SpareValueList:
    """Return every part that a job of the last two years suspected, or that is kept as a spare; best value first."""
    (own, clocked), now = shop_with_durations(), clock.now()
    years = _years_of_history(now)
    seen = _part_histories(now - years * YEAR)
    parts = {part.id: part for part in Part.select().where(Part.id << list(seen), ~Part.retired)}
    prices = unit_purchases(parts, own) if parts else {}
    priced = [part for part in parts.values() if prices[part.id].price_minor > 0]
    kinds = figures_by_kind()
    found = [
        _spare_value_record(
            part,
            seen[part.id],
            _spare_value_inputs(part, seen[part.id], prices[part.id], years, own, figures_of_part(part, kinds)),
        )
        for part in priced
    ]
    unpriced = tuple(from_row(PartRecord, part) for part in parts.values() if part not in priced)
    return SpareValueList(
        tuple(sorted(found, key=lambda one: (-one.value_minor, one.part.number))), unpriced, years,
        sum(one.saved_minor or 0 for one in found), (*assumed_figures(ASSUMED_SETTINGS, clocked), *_fixed_figures()),
    )  # fmt: skip


def _years_of_history(now: datetime) -> float:
    first = Job.select(Job.opened).order_by(Job.opened).first()
    length = (now - first.opened) / YEAR if first is not None else 0.0
    return float(min(max(length, MIN_YEARS), MAX_YEARS))


# ---- what the bench's jobs say ---------------------------------------------------------------------------


def _part_histories(since: datetime) -> Mapping[int, _PartHistory]:
    seen: dict[int, _PartHistory] = defaultdict(_PartHistory)
    _add_suspects(seen, since)
    _add_swaps(seen)
    _add_orders(seen)
    _add_spares(seen)
    return seen


def _add_suspects(seen: dict[int, _PartHistory], since: datetime) -> None:
    rows = Suspect.select(Suspect, Job).join(Job).where(Suspect.part.is_null(False), Job.opened >= since)
    for row in rows:
        part = seen[row.part_id]
        part.jobs.add(row.job_id)
        if row.verdict and row.job.status == "closed":
            (part.bad if row.verdict == "bad" else part.good).add(row.job_id)


def _add_swaps(seen: dict[int, _PartHistory]) -> None:
    rows: Iterable[Any] = Loan.select(Loan, Piece).join(Piece).where(Loan.result << (WORKS_WITH_IT, STILL_FAILS))
    for row in rows:
        seen[row.piece.part_id].swapped.add(row.job_id)


def _add_orders(seen: dict[int, _PartHistory]) -> None:
    rows = OrderLine.select(OrderLine, Order).join(Order).where(
        OrderLine.job_id.is_null(False), Order.status != "cancelled"
    )  # fmt: skip
    for row in rows:
        if row.part_id in seen and row.job_id is not None:
            seen[row.part_id].ordered.add(row.job_id)


def _add_spares(seen: dict[int, _PartHistory]) -> None:
    rows = list(Piece.select().where(Piece.spare).order_by(Piece.created, Piece.id))
    for row in rows:
        part = seen[row.part_id]
        part.since = min(part.since, row.created) if part.since else row.created
    for here in piece_statuses([row.id for row in rows if row.bin_id is not None]):
        seen[here.part.id].spares.append(here)


# ---- records ---------------------------------------------------------------------------------------------


def _spare_value_record(part: Any, seen: _PartHistory, case: SpareCase) -> SpareValueRecord:
    worth = assess_spare_value(case)
    best = [spare.standing for spare in seen.spares]
    return SpareValueRecord(
        part=from_row(PartRecord, part),
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
        pieces=tuple(spare.piece.shown_as for spare in seen.spares),
        proved=sum(one.word == "proved" for one in best),
        swapped_jobs=len(seen.swapped),
        kept_since=seen.since,
        saved_minor=_saved_so_far(worth, seen),
        p_good=case.p_good,
    )


def _spare_value_inputs(
    part: Any, seen: _PartHistory, price: UnitPurchase, years: float, own: ShopConfig, kind: KindDefaults
) -> SpareCase:
    bad, good = seen.bad - seen.swapped, seen.good - seen.swapped  # a swap stood in for the order
    return SpareCase(
        jobs=len(seen.jobs) / years,
        p_bad=smoothed_share(len(seen.bad), len(seen.bad | seen.good), PRIOR_AT_FAULT, PRIOR_AT_FAULT_WEIGHT),
        price=price.price_minor,
        lead_days=price.lead_days,
        waiting_day=own.waiting_day_minor,
        minutes_in=own.minutes_swap,
        minutes_out=own.minutes_back,
        harm=kind.harm,
        p_good=max((spare.standing.p_good for spare in seen.spares), default=DEFAULT_P_GOOD),
        recovered=own.recovered_share,
        minute=own.minute_minor,
        holding=own.holding_share,
        proofs=12.0 / kind.proof_months,
        minutes_proof=own.minutes_proof,
        ordered_if_bad=smoothed_share(len(bad & seen.ordered), len(bad), ORDER_CHANCE_IF_BAD, PRIOR_ORDERED_WEIGHT),
        ordered_if_good=smoothed_share(
            len(good & seen.ordered), len(good), ORDER_CHANCE_IF_GOOD, PRIOR_ORDERED_WEIGHT
        ),
    )


def _saved_so_far(worth: SpareValue, seen: _PartHistory) -> int | None:
    if seen.since is None:
        return None
    return round(savings_to_date(worth, len(seen.swapped), (clock.now() - seen.since) / YEAR))


def _fixed_figures() -> Sequence[AssumedFigure]:
    """Give the figures that are no settings."""
    return (
        AssumedFigure(
            "at_fault",
            f"Chance that a suspect is the fault, counted as {PRIOR_AT_FAULT_WEIGHT:g} jobs: {PRIOR_AT_FAULT:g}",
            True,
        ),
        AssumedFigure(
            "ordered",
            "Chance that a suspected part is ordered when it is the fault, and when it is not "
            f"(measured in simulation), counted as {PRIOR_ORDERED_WEIGHT:g} jobs: {ORDER_CHANCE_IF_BAD:g} and "
            f"{ORDER_CHANCE_IF_GOOD:g}",
            True,
        ),
        AssumedFigure(
            "good", f"Chance that a proved spare is good, where none is kept yet: {DEFAULT_P_GOOD:g}", True
        ),
    )
