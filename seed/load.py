"""Loads the demo bench into an empty database, in one transaction, the same every time for a day and a seed."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date

from inventory.domain.catalogue import bins, lots, parts
from inventory.domain.common import clock, code_factory
from inventory.domain.common.errors import Conflict
from inventory.domain.jobs import jobs, people
from inventory.domain.proof import pieces
from inventory.store.connection import execute, transaction
from inventory.store.tables import KeyValue
from seed import forecast_history, incoming_checks, last_days, opening, purchasing, repairs, spares, stories, upkeep
from seed.data_files import PersonRow
from seed.data_files import people as people_sheets
from seed.demo_bench import BENCH_NAME, DemoBench
from shared.codes import format_code

SEED = 1847


@dataclass(frozen=True)
class DemoSummary:
    """What was loaded and how to sign in; printed, it says so in words.

    ``counts`` is by the names of things; ``codes`` has the scannable codes of what a first visit is about.
    """

    today: date
    seed: int
    people: tuple[PersonRow, ...]
    counts: dict[str, int]
    codes: dict[str, str]

    def __str__(self) -> str:
        """Say what was loaded, who may sign in, and what to scan first."""
        loaded = ", ".join(f"{number} {name}" for name, number in self.counts.items())
        return "\n".join(
            (
                f"{BENCH_NAME} is loaded, as of {self.today:%d %b %Y}: {loaded}.",
                "Sign in as:",
                *(
                    f"  {person.name:<8} {person.passphrase:<22} ({person.shown_as}, {person.role})"
                    for person in self.people
                ),
                "Codes to scan or type:",
                *(f"  {format_code(code)}  {what}" for what, code in self.codes.items()),
            )
        )


_DEMO_MARKER = "demo bench loaded for"

DEMO_PEOPLE = tuple((sheet.name, sheet.role, sheet.passphrase) for sheet in people_sheets())
"""Who may sign in to the demo: name, role, passphrase. Published, so never used beyond this machine."""


def is_demo() -> bool:
    """Tell whether the bound database holds the demo bench."""
    return bool(KeyValue.select().where(KeyValue.name == _DEMO_MARKER).exists())


def load_demo(today: date | None = None, seed: int = SEED) -> DemoSummary:
    """Fill the bound, open and empty database with the demo bench, its history ending the day before *today*.

    Raises Conflict when there is something in the database already; it is left as it was.
    """
    _require_empty()
    bench = DemoBench(today or clock.today(), seed)
    with transaction(), code_factory.use_code_chooser(random.Random(seed).choice):
        opening.open_shop(bench)
        upkeep.schedule_upkeep(bench)
        purchasing.schedule_weekly_orders(bench)
        forecast_history.schedule_advice(bench)
        repairs.schedule_jobs(bench)
        spares.schedule_spares(bench)
        stories.schedule_stories(bench)
        last_days.schedule_last_days(bench)
        incoming_checks.schedule_incoming_checks(bench)
        bench.diary.live()
        KeyValue.create(name=_DEMO_MARKER, value=bench.today.isoformat())
        return DemoSummary(bench.today, seed, tuple(people_sheets()), _table_counts(), _example_codes(bench))


def _require_empty() -> None:
    if people.list_people() or parts.parts(limit=1).items or bins.bins(limit=1).items or jobs.jobs(limit=1).items:
        raise Conflict(
            "This database is in use already: the demo bench goes into an empty one only. Choose another data "
            "folder (DATA_DIR) for it.",
            reason="not_empty",
        )


def _table_counts() -> dict[str, int]:
    tables = ("parts", "bins", "jobs", "orders", "pieces", "lots", "movements")
    return {table: int(execute(f"SELECT COUNT(*) FROM {table}").fetchone()[0]) for table in tables}


def _example_codes(bench: DemoBench) -> dict[str, str]:
    headers = bench.bins["A-01"]
    cooling, hum = (jobs.job(bench.story_ids[name]) for name in ("cooling job", "hum job"))
    return {
        f"bin {headers.name}, {bench.parts['CN-101'].name}": headers.code,
        f"bin {bench.home['FN-301']}, {bench.parts['FN-301'].name}": bench.bins[bench.home["FN-301"]].code,
        "piece C-07, a proved fan": pieces.piece(bench.pieces["C-07"]).piece.code,
        "piece C-09, the amplifier module bought on a guess": pieces.piece(bench.pieces["C-09"]).piece.code,
        "lot of headers on hold": lots.lot(bench.story_ids["bad lot"]).code,
        **{f"job {job.number}, {job.title}": job.code for job in (cooling, hum)},
    }
