"""The demo is the same bench with the same story at whatever moment, and in whatever time zone, it is loaded."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask import Flask
from werkzeug.serving import make_server

from inventory.app import configure
from inventory.domain.catalogue import bins
from inventory.domain.common import clock
from inventory.domain.jobs import people
from inventory.domain.movements import receive
from inventory.settings import load_settings
from inventory.store import connection, verify
from seed.load import load_demo
from tests.seed import snapshot
from tests.seed.conftest import TODAY, LoadedDemo
from tests.seed.moments import MOMENTS, Moment
from tests.seed.test_story_module import CHECKS
from tests.test_api_guide import SHELL, hold_the_guide

KEYS = SHELL + 'benchproof() { cat "$KEYS/$3"; }\n'  # `benchproof token add NAME` tells the key that was made for it


def test_the_moments_are_every_day_of_the_week_clock_changes_and_zones_from_far_west_to_far_east() -> None:
    assert len(MOMENTS) >= 14
    assert {moment.utc.weekday() for moment in MOMENTS} == set(range(7))
    offsets = {moment.utc.astimezone(ZoneInfo(moment.zone)).utcoffset() for moment in MOMENTS}
    hours = sorted(offset.total_seconds() / 3600 for offset in offsets if offset is not None)
    assert (hours[0], hours[-1]) == (-8, 13)
    assert {(moment.utc.month, moment.utc.day) for moment in MOMENTS} >= {(2, 29), (12, 31)}


@pytest.fixture(scope="session")
def expected(loaded_demo: LoadedDemo) -> tuple[dict[str, Any], dict[str, float]]:
    """What is reckoned on the morning of the day that the other tests take."""
    connection.bind_database(loaded_demo.url)
    connection.connect()
    with clock.freeze_at(datetime(TODAY.year, TODAY.month, TODAY.day, 9, tzinfo=UTC)):
        return snapshot.reckoned(), snapshot.figures()


@pytest.mark.parametrize("moment", MOMENTS, ids=lambda one: one.why)
def test_the_demo_is_the_same_and_the_guides_hold(
    moment: Moment, loaded_demo: LoadedDemo, expected: Any, service: Flask, database_url: str, tmp_path: Path
) -> None:
    with _in_zone(moment.zone), clock.freeze_at(moment.utc):
        connection.bind_database(database_url)
        connection.connect()
        summary = load_demo()
        assert summary.today == moment.utc.date()
        assert (summary.counts, summary.codes) == (loaded_demo.summary.counts, loaded_demo.summary.codes)
        _same(snapshot.stored(summary.today), loaded_demo.stored)
        reckoned, figures = expected
        assert snapshot.reckoned() == reckoned
        _nearly(snapshot.figures(), figures)
        ledger = verify.verify_ledger()
        assert ledger.sound
        assert (ledger.digest == loaded_demo.ledger) == (summary.today == TODAY)  # loaded twice: the same to the line
        for check in CHECKS.values():
            check()
        with _served(service, database_url, moment, tmp_path) as environment:
            hold_the_guide(environment, tmp_path, KEYS)
        connection.connect()
        receive.receive(1, 5, bins.bins(part_id=1).items[0].id)
        assert verify.verify_ledger().sound


def _same(stored: snapshot.Stored, expected: snapshot.Stored) -> None:
    for name, rows in expected.items():
        differs = [(row, other) for row, other in zip(stored[name], rows, strict=True) if row != other]
        assert not differs, (name, len(differs), differs[0])


def _nearly(values: dict[str, float], expected: dict[str, float]) -> None:
    """Compare chances and money that age by the hour: within a day they move by less than this."""
    assert set(values) == set(expected)
    for name, value in expected.items():
        assert values[name] == pytest.approx(value, rel=2e-3, abs=10 if name.endswith("worth") else 1e-3), name


@contextmanager
def _in_zone(zone: str) -> Iterator[None]:
    """Let the whole process be in a time zone, as a machine there is."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = zone
    time.tzset()
    try:
        yield
    finally:
        os.environ.pop("TZ")
        if before is not None:
            os.environ["TZ"] = before
        time.tzset()


@contextmanager
def _served(service: Flask, url: str, moment: Moment, folder: Path) -> Iterator[dict[str, str]]:
    """Serve the bench at a moment; give the environment in which the guide's commands find it and their keys."""
    keys = folder / "keys"
    keys.mkdir()
    for name in ("ines", "odile", "visitor"):
        (keys / name).write_text(str(people.add_token(people.person_by_name(name).id, "guide").secret))
    before = dict(service.config)
    configure(service, load_settings({"BENCHPROOF_TIMEZONE": moment.zone}, data_dir=folder, database_url=url))

    def at_the_moment(environ: Any, start: Any) -> Iterable[bytes]:
        with clock.freeze_at(moment.utc):
            return service.wsgi_app(environ, start)

    server = make_server("127.0.0.1", 0, at_the_moment)
    running = threading.Thread(target=server.serve_forever)
    running.start()
    try:
        yield {**os.environ, "RUNS_AT": f"http://127.0.0.1:{server.port}", "KEYS": str(keys), "NO_PROXY": "127.0.0.1"}
    finally:
        server.shutdown()
        running.join()
        server.server_close()
        connection.database.close()
        service.config.clear()
        service.config.update(before)
