"""Measures speed: each figure beside a floor measured in the same run, because machines differ and ratios less so.

Run it with `make bench`. A line a figure: name, measured, bar, ok or short. Exit status 1 if any falls short.
"""

from __future__ import annotations

import http.client
import json
import os
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.domain.jobs import people
from inventory.store import connection, schema
from tests import factories
from tests.benchmarks.labels import LABEL_COUNT, label_figures
from tests.benchmarks.money import value_seconds
from tests.benchmarks.reorder import reorder_seconds
from tests.benchmarks.trace import trace_ratios

BARE_SERVER = """
import sys, waitress
from flask import Flask, jsonify
app = Flask("bare")
app.add_url_rule("/", view_func=lambda: jsonify(ok=True))
waitress.serve(app, host="127.0.0.1", port=int(sys.argv[1]), threads=8)
"""


@dataclass(frozen=True)
class Figure:
    """One measured figure and the bar it is held to; ``least`` turns the bar into a floor."""

    name: str
    measured: float
    bar: float
    unit: str
    least: bool = False

    @property
    def ok(self) -> bool:
        """Tell whether the figure meets its bar."""
        return self.measured >= self.bar if self.least else self.measured <= self.bar

    def __str__(self) -> str:
        sign = ">=" if self.least else "<="
        verdict = "ok" if self.ok else "short"
        return f"{self.name:58} {self.measured:10.3f} {self.unit:9} bar {sign} {self.bar:<8g} {verdict}"


def median_ms(act: Callable[[], None], times: int) -> float:
    """Return the median time of *act* in milliseconds, after a tenth as many runs to warm up."""
    for _ in range(times // 10):
        act()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken) * 1000


class _SingleWriteConnection(http.client.HTTPConnection):
    """Sends head and body together, as browsers do with a short form; apart, they cost the server two wake-ups."""

    def connect(self) -> None:
        super().connect()
        self.sock: socket.socket
        self.out = self.sock.makefile("wb", buffering=65536)

    def send(self, data: bytes) -> None:  # type: ignore[override]
        if self.sock is None:
            self.connect()
        self.out.write(data)

    def request(self, *args: Any, **kwargs: Any) -> None:
        super().request(*args, **kwargs)
        self.out.flush()


class HttpClient:
    """One connection kept open, as a browser keeps it."""

    def __init__(self, port: int, headers: dict[str, str] | None = None) -> None:
        self.connection = _SingleWriteConnection("127.0.0.1", port, timeout=30)
        self.headers = headers or {}

    def send(self, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[int, bytes]:
        """Send a request; return status and body."""
        self.connection.request(method, path, body, {**self.headers, **headers})
        response = self.connection.getresponse()
        return response.status, response.read()


def free_port() -> int:
    """Return a port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def server(arguments: list[str], port: int, env: dict[str, str] | None = None) -> Iterator[None]:
    """Run a server in a process of its own until it answers; stop it afterwards."""
    process = subprocess.Popen(
        arguments, env={**os.environ, **(env or {})}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        for _ in range(200):
            try:
                HttpClient(port).send("GET", "/health")
                break
            except OSError:
                time.sleep(0.05)
        yield
    finally:
        process.terminate()
        process.wait(timeout=10)


def durable_commit(folder: Path) -> Callable[[], None]:
    """Return what makes a durable SQLite commit with the writes of a pull and its key."""
    db = sqlite3.connect(folder / "floor.db", isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    db.execute("CREATE TABLE balance (id INTEGER PRIMARY KEY, quantity INTEGER CHECK (quantity >= 0))")
    db.execute("CREATE TABLE line (id INTEGER PRIMARY KEY, at INTEGER, kind TEXT, quantity INTEGER, digest TEXT)")
    db.execute("CREATE TABLE head (id INTEGER PRIMARY KEY, digest TEXT)")
    db.execute("CREATE TABLE once (key TEXT UNIQUE, body TEXT)")
    db.execute("INSERT INTO balance VALUES (1, 100000000)")
    db.execute("INSERT INTO head VALUES (1, '')")

    def commit() -> None:
        digest = uuid.uuid4().hex * 2
        db.execute("BEGIN IMMEDIATE")
        db.execute("UPDATE balance SET quantity = quantity - 1 WHERE id = 1 AND quantity >= 1")
        db.execute(
            "INSERT INTO line (at, kind, quantity, digest) VALUES (?, 'pull', -1, ?)", (time.time_ns(), digest)
        )
        db.execute("UPDATE head SET digest = ? WHERE id = 1", (digest,))
        db.execute("INSERT INTO once VALUES (?, ?)", (digest, digest * 6))
        db.execute("COMMIT")

    return commit


@dataclass(frozen=True)
class SpeedBench:
    """A small bench to measure on."""

    token: str
    name: str
    bin_id: int
    bin_code: str
    job_id: int


def make_speed_bench(folder: Path) -> SpeedBench:
    """Make a database with one stocked bin, one job in hand, and some neighbours."""
    connection.bind_database(f"sqlite:///{folder / 'benchproof.db'}")
    connection.connect()
    schema.migrate()
    person = factories.a_person("owner")
    for _ in range(60):
        factories.a_stocked_part(20)
    _, bin_, _ = factories.a_stocked_part(1_000_000)
    job = factories.a_job()
    people.set_job_in_hand(person.id, job.id)
    secret = people.add_token(person.id, "speed").secret
    connection.database.close()
    return SpeedBench(str(secret), person.name, bin_.id, bin_.code, job.id)


def pull_one(client: HttpClient, bench: SpeedBench) -> int:
    """Pull one over HTTP, under a key of its own; return the status."""
    body = json.dumps({"bin_id": bench.bin_id, "job_id": bench.job_id, "quantity": 1}).encode()
    return client.send(
        "POST", "/api/v1/pulls", body, **{"Content-Type": "application/json", "Idempotency-Key": uuid.uuid4().hex}
    )[0]


def pull_concurrently(port: int, bench: SpeedBench, each: int) -> tuple[int, float, float]:
    """Let eight clients pull *each* times at once; return errors, pulls a second and the 99th percentile in ms."""
    errors: list[int] = []
    taken: list[float] = []

    def run() -> None:
        client = HttpClient(port, {"Authorization": f"Bearer {bench.token}"})
        for _ in range(each):
            start = time.perf_counter()
            status = pull_one(client, bench)
            taken.append(time.perf_counter() - start)
            if status != 201:
                errors.append(status)

    threads = [threading.Thread(target=run) for _ in range(8)]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    spent = time.perf_counter() - start
    return len(errors), 8 * each / spent, statistics.quantiles(taken, n=100)[98] * 1000


def signed_in_client(port: int, name: str) -> HttpClient:
    """Return a client with the session cookie of somebody who signed in."""
    client = HttpClient(port)
    client.connection.request("GET", "/sign-in")
    response = client.connection.getresponse()
    page, cookie = response.read().decode(), response.headers["Set-Cookie"].split(";")[0]
    forged_guard = page.split('name="csrf_token" value="')[1].split('"')[0]
    form = f"csrf_token={forged_guard}&name={name}&passphrase={factories.PASSPHRASE.replace(' ', '+')}"
    client.connection.request(
        "POST", "/sign-in", form, {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    )
    response = client.connection.getresponse()
    response.read()
    client.headers["Cookie"] = response.headers["Set-Cookie"].split(";")[0]
    return client


@dataclass(frozen=True)
class RoundTimes:
    """Median times in ms, taken one after the other: a machine that slows down slows floor and figure alike."""

    bare: float
    commit: float
    pull: float
    scan: float


def web_figures(folder: Path) -> list[Figure]:
    """Measure pulls and pages over HTTP against a bare Flask answer and a durable commit."""
    bench = make_speed_bench(folder)
    bare_port, port = free_port(), free_port()
    command = [sys.executable, "-m", "inventory", "serve"]
    env = {"DATA_DIR": str(folder), "PORT": str(port)}
    with server([sys.executable, "-c", BARE_SERVER, str(bare_port)], bare_port), server(command, port, env):
        bare_client, program = HttpClient(bare_port), HttpClient(port, {"Authorization": f"Bearer {bench.token}"})
        browser, commit = signed_in_client(port, bench.name), durable_commit(folder)
        rounds = [
            RoundTimes(
                bare=median_ms(lambda: require_status(bare_client.send("GET", "/")[0], 200), 400),
                commit=median_ms(commit, 300),
                pull=median_ms(lambda: require_status(pull_one(program, bench), 201), 300),
                scan=median_ms(lambda: require_status(browser.send("GET", "/scan")[0], 200), 200),
            )
            for _ in range(7)
        ]
        bin_page = median_ms(lambda: require_status(browser.send("GET", f"/bins/{bench.bin_id}")[0], 200), 400)
        errors, rate, slowest = pull_concurrently(port, bench, 150)
    bare, commit_ = (statistics.median(getattr(round_, name) for round_ in rounds) for name in ("bare", "commit"))
    print(f"floors: bare Flask answer {bare:.3f} ms, durable commit {commit_:.3f} ms")
    print(f"beside: eight clients {rate:.0f} pulls/s, 99th percentile {slowest:.1f} ms; bin page {bin_page:.2f} ms")
    pulled = statistics.median(round_.pull / (round_.bare + round_.commit) for round_ in rounds)
    scanned = statistics.median(round_.scan / round_.bare for round_ in rounds)
    return [
        Figure("pull over HTTP / (bare answer + durable commit)", pulled, 2.5, "x"),
        Figure("scan page / bare answer", scanned, 6, "x"),
        Figure("errors of eight clients pulling at once", errors, 0, "errors"),
    ]


def trace_figures(folder: Path) -> list[Figure]:
    """Measure the traces of a recall over a million lines against a look-up by primary key."""
    by_key, of_lot, of_job = trace_ratios(folder)
    print(f"floor: look-up of a ledger line by its key {by_key:.4f} ms, in a ledger of a million lines")
    return [
        Figure("jobs that got some of a lot / key look-up", of_lot, 6, "x"),
        Figure("lots that a job has some of / key look-up", of_job, 6, "x"),
    ]


def reorder_figures(folder: Path) -> list[Figure]:
    """Measure the advice for 10,000 parts with three years of history against reading the same rows by plain SQL."""
    seconds = reorder_seconds(folder)
    print(
        f"reorder: {seconds['lines']:,.0f} lines read by plain SQL in {seconds['floor']:.3f} s; list of the day's "
        f"first look {seconds['first of the day']:.3f} s, of a later one {seconds['again']:.3f} s"
    )
    return [
        Figure("10,000 parts advised from the database", seconds["from nothing"], 2, "s"),
        Figure("the same / reading its rows by plain SQL", seconds["from nothing"] / seconds["floor"], 12, "x"),
        Figure("one part advised after a pull, none else summed up", seconds["after one pull"], 0.1, "s"),
    ]


def money_figures(folder: Path) -> list[Figure]:
    """Measure what the stock is worth on a day, told from 100,000 lines, against reading those by plain SQL."""
    read, on_a_day, over_months = value_seconds(folder)
    print(f"money: 100,000 lines read by plain SQL in {read:.3f} s; worth at each month's end {over_months:.3f} s")
    return [Figure("worth of the stock on a past day, from 100,000 lines", on_a_day, 0.9, "s")]


def drawing_figures() -> list[Figure]:
    """Measure drawing labels, each symbol read back, beside a general library that makes the symbols alone."""
    figures = label_figures()
    print(
        f"labels: {LABEL_COUNT:,} symbols alone by segno {figures.floor:.2f} s; "
        f"{LABEL_COUNT:,} labels as the dots of a roll of"
        f" 62 x 29 mm {figures.roll:.2f} s, {figures.roll_bytes / 1e6:.2f} MB"
    )
    return [
        Figure("labels drawn as PNG and read back", LABEL_COUNT / figures.drawn, 350, "a second", least=True),
        Figure("the same / their symbols alone by segno", figures.drawn / figures.floor, 2, "x"),
        Figure(f"{LABEL_COUNT:,} labels to PDF", figures.pdf, 4, "s"),
        Figure(f"{LABEL_COUNT:,} labels to PDF, size", figures.pdf_bytes / 1e6, 3, "MB"),
        Figure(f"{LABEL_COUNT:,} labels as dots of a roll, size", figures.roll_bytes / 1e6, 3, "MB"),
    ]


def require_status(status: int, expected: int) -> None:
    """Stop the measurement when an answer is not what it should be: failing servers look fast."""
    if status != expected:
        raise SystemExit(f"An answer was {status}, not {expected}: nothing measured.")


def main() -> int:
    """Measure everything and print a line a figure."""
    with tempfile.TemporaryDirectory() as folder:
        figures = web_figures(Path(folder))
        figures += trace_figures(Path(folder))
        figures += reorder_figures(Path(folder))
        figures += money_figures(Path(folder))
    figures += drawing_figures()
    for figure in figures:
        print(figure)
    return 0 if all(figure.ok for figure in figures) else 1


if __name__ == "__main__":
    sys.exit(main())
