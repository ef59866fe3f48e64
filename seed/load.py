"""Loads the demo bench into an empty database, in one transaction, the same every time for a day and a seed."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date

from inventory.stock import bins, clock, jobs, minting, parts, people
from inventory.stock.refusals import Conflict
from inventory.store.binding import writing
from seed import buying, opening, repairs, spares, stories, upkeep
from seed.bench import Bench
from seed.sheets import PersonSheet
from seed.sheets import people as people_sheets

SEED = 1847
BENCH_NAME = "Harbour Street Stage & Studio Repair"


@dataclass(frozen=True)
class DemoSummary:
    """What was loaded, and how to sign in. ``counts`` by the names of things; printed, it says it in words."""

    today: date
    seed: int
    people: tuple[PersonSheet, ...]
    counts: dict[str, int]

    def __str__(self) -> str:
        """Say what was loaded and who may sign in."""
        loaded = ", ".join(f"{number} {name}" for name, number in self.counts.items())
        lines = [f"{BENCH_NAME} is loaded, as of {self.today:%d %b %Y}: {loaded}.", "Sign in as:"]
        lines += [f"  {one.name:<8} {one.passphrase:<24} {one.shown_as}, {one.role}" for one in self.people]
        return "\n".join(lines)


def load_demo(today: date | None = None, seed: int = SEED) -> DemoSummary:
    """Fill the bound, open and empty database with the demo bench, its history ending the day before *today*.

    Raises Conflict when there is something in the database already; it is left as it was.
    """
    _insist_on_empty()
    bench = Bench(today or clock.today(), seed)
    with writing(), minting.drawn_by(random.Random(seed).choice):
        opening.open_shop(bench)
        upkeep.keep_up(bench)
        buying.look_every_week(bench)
        repairs.take_in_jobs(bench)
        spares.keep_spares(bench)
        stories.tell_stories(bench)
        bench.diary.live()
    return DemoSummary(bench.today, seed, tuple(people_sheets()), _counts())


def _insist_on_empty() -> None:
    if people.everybody() or parts.parts(limit=1).items or bins.bins(limit=1).items or jobs.jobs(limit=1).items:
        raise Conflict(
            "This database is in use already: the demo bench goes into an empty one only. Choose another data "
            "folder (DATA_DIR) for it.",
            reason="not_empty",
        )


def _counts() -> dict[str, int]:
    return {}
