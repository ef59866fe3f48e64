"""What every test may use: an empty bench of its own, on a real database."""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path

import pytest
import time_machine
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient

from inventory.app import configure, create_app
from inventory.domain.common import clock
from inventory.domain.jobs import people
from inventory.settings import load_settings
from inventory.store import connection, schema
from tests import postgres_server
from tests.factories import a_person
from tests.frozen_days import MONDAY
from tests.http_clients import ApiClient, PageClient, make_api_client, make_page_client
from tests.local_servers import MailServer, WebhookServer, run_mail_server, run_webhook_server
from tests.temporary_folders import temporary_folder

_numbers = itertools.count(1)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the same tests run on either database."""
    parser.addoption(
        "--database", choices=("sqlite", "postgresql"), default="sqlite", help="which database to test on"
    )
    parser.addoption("--pictures", action="store_true", help="save the screenshots that the docs show")


def pytest_configure() -> None:
    """Run everything as on the day and hour of AS_OF, such as "2028-02-29 10:00:00", if it is set (local time)."""
    if moment := os.environ.get("AS_OF"):
        time_machine.travel(datetime.fromisoformat(moment).astimezone(), tick=True).start()


def skip_or_fail(why: str) -> None:
    """Skip a test whose outside program is missing; in CI, where it must be there, fail."""
    if os.environ.get("CI"):
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """The address of a PostgreSQL server of our own."""
    try:
        with postgres_server.server() as url:
            yield url
    except postgres_server.NoPostgres as missing:
        skip_or_fail(str(missing))


def _create_schema(url: str) -> None:
    schema.open_database(url)
    connection.database.close()


FreshDatabase = Callable[
    [], AbstractContextManager[str]
]  # lends the address of a new database, and drops that after use


@pytest.fixture(scope="session")
def fresh_sqlite() -> Iterator[FreshDatabase]:
    """Make new, empty, brought-up SQLite databases, quickly: by copying the first one."""
    with temporary_folder("bench-sqlite-") as folder:
        first = folder / "first.db"
        _create_schema(f"sqlite:///{first}")

        @contextmanager
        def fresh() -> Iterator[str]:
            path = folder / f"bench{next(_numbers)}" / "bench.db"
            path.parent.mkdir()
            shutil.copy(first, path)
            yield f"sqlite:///{path}"
            shutil.rmtree(path.parent, ignore_errors=True)

        yield fresh


@pytest.fixture(scope="session")
def fresh_postgres(request: pytest.FixtureRequest) -> Iterator[FreshDatabase]:
    """Make new, empty, brought-up PostgreSQL databases, quickly: from a template."""
    databases = postgres_server.Databases(request.getfixturevalue("postgres_url"))
    _create_schema(databases.make("first"))

    @contextmanager
    def fresh() -> Iterator[str]:
        name = f"bench{next(_numbers)}"
        yield databases.make(name, like="first")
        databases.drop(name)

    yield fresh
    databases.close()


@pytest.fixture
def database_url(request: pytest.FixtureRequest) -> Iterator[str]:
    """The address of an empty, brought-up database of this test's own."""
    kind = "sqlite" if request.config.getoption("--database") == "sqlite" else "postgres"
    fresh: FreshDatabase = request.getfixturevalue(f"fresh_{kind}")
    with fresh() as url:
        yield url


@pytest.fixture
def bench(database_url: str) -> Iterator[None]:
    """An empty bench: the database bound and open in this thread."""
    connection.bind_database(database_url)
    connection.connect()
    yield
    connection.database.close()


@pytest.fixture
def frozen_monday() -> Iterator[None]:
    """Let a test begin on the same morning."""
    with clock.freeze_at(MONDAY):
        yield


@pytest.fixture
def data_dir(tmp_path: Path) -> Path:
    """A data folder of this test's own."""
    return tmp_path / "data"


@pytest.fixture(scope="session", autouse=True)
def quick_passphrases() -> None:
    """Hash passphrases with the least work that Argon2 allows: the tests make many people."""
    people._hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    """The whole service, built once: its 370 addresses and its templates are the same for every bench."""
    built: Flask = create_app(load_settings({}, data_dir=tmp_path_factory.mktemp("service")))
    connection.database.close()
    return built


@pytest.fixture
def app(service: Flask, database_url: str, data_dir: Path) -> Iterator[Flask]:
    """The whole service on an empty bench of this test's own."""
    before = dict(service.config)
    configure(service, load_settings({}, data_dir=data_dir, database_url=database_url))
    yield service
    connection.database.close()
    service.config.clear()
    service.config.update(before)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """Somebody nobody knows: no session, no token."""
    return app.test_client()


@pytest.fixture
def as_owner(app: Flask) -> ApiClient:
    """A program that acts as an owner."""
    return make_api_client(app, a_person("owner"))


@pytest.fixture
def as_tech(app: Flask) -> ApiClient:
    """A program that acts as a tech."""
    return make_api_client(app, a_person("tech"))


@pytest.fixture
def as_viewer(app: Flask) -> ApiClient:
    """A program that acts as a viewer."""
    return make_api_client(app, a_person("viewer"))


@pytest.fixture
def owner_page(app: Flask) -> PageClient:
    """A browser in which an owner has signed in."""
    return make_page_client(app, a_person("owner"))


@pytest.fixture
def tech_page(app: Flask) -> PageClient:
    """A browser in which a tech has signed in."""
    return make_page_client(app, a_person("tech"))


@pytest.fixture
def box() -> Iterator[MailServer]:
    """A mail server of our own."""
    with run_mail_server() as mail_server:
        yield mail_server


@pytest.fixture
def inbox() -> Iterator[WebhookServer]:
    """A web server of our own."""
    with run_webhook_server() as web_server:
        yield web_server
