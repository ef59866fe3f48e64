"""Template filters that put records into words."""

from __future__ import annotations

import math
from collections.abc import Iterable

from flask import Blueprint

from inventory.domain.common.records import Holding, JobRecord, LotRecord
from inventory.domain.proof.proof_records import CheckRecord
from inventory.domain.proof.standings import uncertain_chance_text
from inventory.pages.context import day
from inventory.pages.forms import JobOrBenchField
from shared.codes import format_code
from shared.quantities import format_quantity

Choice = tuple[object, str]

ORIGIN_WORDS = {
    "delivery": "delivered",
    "donor": "from a donor unit",
    "left over": "left over from a job",
    "found": "found",
}


def amount_number(quantity: int, unit: str) -> str:
    """Say the number of an amount alone, to be set large: "1.5" of "1.5 m"."""
    return format_quantity(quantity, unit).rpartition(" ")[0]


def amount_unit(quantity: int, unit: str) -> str:
    """Say the unit of an amount alone: "m" of "1.5 m"."""
    return format_quantity(quantity, unit).rpartition(" ")[2]


def origin(lot: LotRecord) -> str:
    """Say where a lot came from: "delivered", "from a donor unit"."""
    return ORIGIN_WORDS[lot.origin]


def origin_and_date(lot: LotRecord) -> str:
    """Say where a lot came from, and when: "delivered 3 Nov 2026", "from a donor unit, 3 Nov 2026"."""
    between = " " if lot.origin in ("delivery", "found") else ", "
    return f"{origin(lot)}{between}{day(lot.received)}"


def chance(share: float) -> str:
    """Say a chance to a tenth of a per cent, never rounded up to certainty: "97.4 %"."""
    return uncertain_chance_text(share)


def odds_position(share: float) -> float:
    """Return where a chance lies on the drawn scale, 0 to 300: even steps of odds, from 30 % to 99.8 %."""
    low, high = _log_odds(0.30), _log_odds(0.998)
    return round(300 * (min(max(_log_odds(share), low), high) - low) / (high - low), 1)


def _log_odds(share: float) -> float:
    clamped = min(max(share, 1e-6), 1 - 1e-6)
    return math.log(clamped / (1 - clamped))


def job_line(job: JobRecord) -> str:
    """Say a job in one line: "1042 · Corvid 7 · no pan"."""
    return " · ".join(filter(None, (job.number, job.title, "waiting" if job.status == "waiting" else "")))


def job_choices(jobs: Iterable[JobRecord], *, bench: bool = False) -> list[Choice]:
    """Return jobs to choose from; *bench* adds the choice of no job, for the bench itself."""
    bench_choice: list[Choice] = [(JobOrBenchField.BENCH, "No job: for the bench itself")] if bench else []
    return [*((job.id, job_line(job)) for job in jobs), *bench_choice]


def lot_choices(holdings: Iterable[Holding], unit: str) -> list[Choice]:
    """Return the lots of a bin to choose from, those on hold left out."""
    return [
        (
            holding.lot.id,
            f"{format_code(holding.lot.code)} · {format_quantity(holding.quantity, unit)} · {origin(holding.lot)}",
        )
        for holding in holdings
        if not holding.lot.on_hold
    ]


def limits_sentence(check: CheckRecord) -> str:
    """Say between which limits a reading has to be."""
    unit = f" {check.unit}" if check.unit else ""
    if check.low and check.high:
        return f"From {check.low} to {check.high}{unit}."
    return f"At least {check.low}{unit}." if check.low else f"At most {check.high}{unit}."


def init_app(pages: Blueprint) -> None:
    """Give the templates these filters."""
    for template_filter in (
        amount_number,
        amount_unit,
        origin,
        origin_and_date,
        job_line,
        job_choices,
        lot_choices,
        limits_sentence,
        chance,
        odds_position,
    ):
        pages.add_app_template_filter(template_filter)
