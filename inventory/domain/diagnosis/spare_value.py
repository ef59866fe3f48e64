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
from inventory.domain.diagnosis.next_step import assumed_figures
from inventory.domain.diagnosis.step_durations import shop_with_durations
from inventory.domain.proof.loans import UNIT_WORKED
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.reorder.unit_purchases import UnitPurchase, unit_purchases
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

YEAR = timedelta(days=365.25)
MAX_YEARS, MIN_YEARS = 2.0, 0.5  # assumed: older jobs say little, and a shorter history would be a guess
PRIOR_AT_FAULT, PRIOR_AT_FAULT_WEIGHT = 0.3, 2.0  # assumed chance that a suspect is the fault, as so many jobs
PRIOR_ORDERED_WEIGHT = 5.0  # jobs that the measured habits of ordering count as
DEFAULT_P_GOOD = 0.98  # assumed chance that a proved spare is good, where none is kept yet
ASSUMED_SETTINGS = (
    "minute_minor", "waiting_day_minor", "recovered_share", "minutes_swap", "minutes_back", "minutes_proof",
    "holding_share",
)  # fmt: skip


@dataclass
class _PartHistory:
    """The history of one part in the bench's jobs."""

    jobs: set[int] = field(default_factory=set)  # that suspected it
    bad: set[int] = field(default_factory=set)
    good: set[int] = field(default_factory=set)
    swapped: set[int] = field(default_factory=set)  # jobs on which one of it was swapped, at any time
    ordered: set[int] = field(default_factory=set)  # jobs for which it was ordered
    spares: list[PieceStatus] = field(default_factory=list)  # that are here
    since: datetime | None = None  # the first one was kept


def spare_values() -> SpareValueList:
    """Return every part that a job of the last two years suspected, or that is kept as a spare; best value first."""
    (config, durations), now = shop_with_durations(), clock.now()
    years = _years_of_history(now)
    histories = _part_histories(now - years * YEAR)
    parts = {part.id: part for part in Part.select().where(Part.id << list(histories), ~Part.retired)}
    prices = unit_purchases(parts, config) if parts else {}
    priced = [part for part in parts.values() if prices[part.id].price_minor > 0]
    kinds = figures_by_kind()
    records = [
        _spare_value_record(
            part,
            histories[part.id],
            _spare_value_inputs(
                part, histories[part.id], prices[part.id], years, config, figures_of_part(part, kinds)
            ),
        )
        for part in priced
    ]
    unpriced = tuple(from_row(PartRecord, part) for part in parts.values() if part not in priced)
    return SpareValueList(
        tuple(sorted(records, key=lambda one: (-one.value_minor, one.part.number))), unpriced, years,
        sum(one.saved_minor or 0 for one in records),
        (*assumed_figures(ASSUMED_SETTINGS, durations), *_fixed_figures()),
    )  # fmt: skip


def _years_of_history(now: datetime) -> float:
    first = Job.select(Job.opened).order_by(Job.opened).first()
    length = (now - first.opened) / YEAR if first is not None else 0.0
    return float(min(max(length, MIN_YEARS), MAX_YEARS))


# ---- what the bench's jobs say ---------------------------------------------------------------------------


def _part_histories(since: datetime) -> Mapping[int, _PartHistory]:
    histories: dict[int, _PartHistory] = defaultdict(_PartHistory)
    _add_suspects(histories, since)
    _add_swaps(histories)
    _add_orders(histories)
    _add_spares(histories)
    return histories


def _add_suspects(histories: dict[int, _PartHistory], since: datetime) -> None:
    rows = Suspect.select(Suspect, Job).join(Job).where(Suspect.part.is_null(False), Job.opened >= since)
    for row in rows:
        history = histories[row.part_id]
        history.jobs.add(row.job_id)
        if row.verdict and row.job.status == "closed":
            (history.bad if row.verdict == "bad" else history.good).add(row.job_id)


def _add_swaps(histories: dict[int, _PartHistory]) -> None:
    rows: Iterable[Any] = Loan.select(Loan, Piece).join(Piece).where(Loan.result << list(UNIT_WORKED))
    for row in rows:
        histories[row.piece.part_id].swapped.add(row.job_id)


def _add_orders(histories: dict[int, _PartHistory]) -> None:
    rows = OrderLine.select(OrderLine, Order).join(Order).where(
        OrderLine.job_id.is_null(False), Order.status != "cancelled"
    )  # fmt: skip
    for row in rows:
        if row.part_id in histories and row.job_id is not None:
            histories[row.part_id].ordered.add(row.job_id)


def _add_spares(histories: dict[int, _PartHistory]) -> None:
    rows = list(Piece.select().where(Piece.spare).order_by(Piece.created, Piece.id))
    for row in rows:
        history = histories[row.part_id]
        history.since = min(history.since, row.created) if history.since else row.created
    for status in piece_statuses([row.id for row in rows if row.bin_id is not None]):
        histories[status.part.id].spares.append(status)


# ---- records ---------------------------------------------------------------------------------------------


def _spare_value_record(part: Any, history: _PartHistory, case: SpareCase) -> SpareValueRecord:
    value = assess_spare_value(case)
    standings = [spare.standing for spare in history.spares]
    return SpareValueRecord(
        part=from_row(PartRecord, part),
        jobs=len(history.jobs),
        times_bad=len(history.bad),
        jobs_a_year=case.jobs,
        p_bad=case.p_bad,
        price_minor=round(case.price),
        lead_days=case.lead_days,
        ordered_if_bad=case.ordered_if_bad,
        ordered_if_good=case.ordered_if_good,
        orders_seen=len((history.bad | history.good) - history.swapped),
        saving_minor=round(value.saving),
        value_minor=round(value.per_year),
        break_even_jobs=value.break_even_jobs,
        pieces=tuple(spare.piece.shown_as for spare in history.spares),
        proved=sum(standing.word == "proved" for standing in standings),
        swapped_jobs=len(history.swapped),
        kept_since=history.since,
        saved_minor=_saved_so_far(value, history),
        p_good=case.p_good,
    )


def _spare_value_inputs(
    part: Any, history: _PartHistory, price: UnitPurchase, years: float, config: ShopConfig, kind: KindDefaults
) -> SpareCase:
    bad, good = history.bad - history.swapped, history.good - history.swapped  # a swap stood in for the order
    return SpareCase(
        jobs=len(history.jobs) / years,
        p_bad=smoothed_share(
            len(history.bad), len(history.bad | history.good), PRIOR_AT_FAULT, PRIOR_AT_FAULT_WEIGHT
        ),
        price=price.price_minor,
        lead_days=price.lead_days,
        waiting_day=config.waiting_day_minor,
        minutes_in=config.minutes_swap,
        minutes_out=config.minutes_back,
        harm=kind.harm,
        p_good=max((spare.standing.p_good for spare in history.spares), default=DEFAULT_P_GOOD),
        recovered=config.recovered_share,
        minute=config.minute_minor,
        holding=config.holding_share,
        proofs=12.0 / kind.proof_months,
        minutes_proof=config.minutes_proof,
        ordered_if_bad=smoothed_share(
            len(bad & history.ordered), len(bad), ORDER_CHANCE_IF_BAD, PRIOR_ORDERED_WEIGHT
        ),
        ordered_if_good=smoothed_share(
            len(good & history.ordered), len(good), ORDER_CHANCE_IF_GOOD, PRIOR_ORDERED_WEIGHT
        ),
    )


def _saved_so_far(value: SpareValue, history: _PartHistory) -> int | None:
    if history.since is None:
        return None
    return round(savings_to_date(value, len(history.swapped), (clock.now() - history.since) / YEAR))


def _fixed_figures() -> Sequence[AssumedFigure]:
    """Return the assumed figures that are not settings."""
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
