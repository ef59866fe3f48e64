"""The demo bench, loaded once for all tests that only look at it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from inventory.domain.common import clock
from inventory.store import connection, verify
from seed.load import DemoSummary, load_demo
from tests.seed import snapshot

TODAY = date(2026, 3, 11)


@dataclass(frozen=True)
class LoadedDemo:
    """A loaded demo bench: where it is, what it said of itself, and how long it took to load."""

    url: str
    summary: DemoSummary
    stored: snapshot.Stored
    ledger: str  # its digest
    seconds: float  # of this processor's time, so that busy neighbours do not count


def load_demo_at(url: str, today: date = TODAY) -> LoadedDemo:
    """Load the demo bench into the empty database at *url*."""
    connection.bind_database(url)
    connection.connect()
    began = time.process_time()
    summary = load_demo(today)
    took = time.process_time() - began
    stored = snapshot.stored(today)  # before anybody looks at anything: looks at the reorder list are remembered
    loaded = LoadedDemo(url, summary, stored, verify.verify_ledger().digest, took)
    connection.database.close()
    return loaded


@pytest.fixture(scope="session")
def loaded_demo(request: pytest.FixtureRequest) -> Iterator[LoadedDemo]:
    """The demo bench in a database that no test changes."""
    kind = "sqlite" if request.config.getoption("--database") == "sqlite" else "postgres"
    with request.getfixturevalue(f"fresh_{kind}")() as url:
        yield load_demo_at(url)


@pytest.fixture
def demo(loaded_demo: LoadedDemo) -> Iterator[LoadedDemo]:
    """The demo bench on the morning of its day, bound and open."""
    connection.bind_database(loaded_demo.url)
    connection.connect()
    with clock.freeze_at(datetime(TODAY.year, TODAY.month, TODAY.day, 9, tzinfo=UTC)):
        yield loaded_demo
    connection.database.close()
