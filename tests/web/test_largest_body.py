"""A body larger than the server takes in: answered in the service's words on a real connection, and not kept."""

from __future__ import annotations

import http.client
import json
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import pytest
import waitress
from flask import Flask

from inventory.domain.jobs import people
from inventory.store import connection as binding
from inventory.web.largest_body import Channel
from tests.factories import a_person

TAKEN_IN = 2_000_000  # more than the 1 MB that the service takes, as in service


Ask = Callable[[Callable[[http.client.HTTPConnection], Any]], Any]


@pytest.fixture
def ask(app: Flask) -> Iterator[Ask]:
    """Let a client talk to the service on waitress, which takes in bodies of TAKEN_IN, until it has its answer."""
    server = waitress.create_server(app, host="127.0.0.1", port=0, threads=1, max_request_body_size=TAKEN_IN)
    server.channel_class = Channel

    def served(talk: Callable[[http.client.HTTPConnection], Any]) -> Any:
        with (
            ThreadPoolExecutor(1) as pool,
            closing(http.client.HTTPConnection("127.0.0.1", server.effective_port)) as to,
        ):
            to.timeout = 10
            future = pool.submit(talk, to)
            while not future.done():
                server.asyncore.loop(timeout=0.05, map=server._map, count=1)
            return future.result()

    yield served
    server.task_dispatcher.add_task(last := _LastTask())
    assert last.done.wait(5)
    server.task_dispatcher.shutdown()
    server.asyncore.close_all(server._map)


class _LastTask:
    """What the one thread of the server does last: let go of its database, which ends with the test."""

    def __init__(self) -> None:
        self.done = threading.Event()

    def service(self) -> None:
        binding.database.close()
        self.done.set()


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    body: bytes


def post(ask: Ask, path: str, body: object, **headers: str) -> Answer:
    def talk(connection: http.client.HTTPConnection) -> Answer:
        chunked = headers.get("Transfer-Encoding") == "chunked"
        connection.request("POST", path, body, headers, encode_chunked=chunked)  # type: ignore[arg-type]
        with connection.getresponse() as answer:
            return Answer(answer.status, dict(answer.headers), answer.read())

    answer: Answer = ask(talk)
    return answer


def chunks() -> Iterator[bytes]:
    yield from (b" " * 100_000 for _ in range(TAKEN_IN // 100_000 + 1))


@pytest.mark.parametrize("how", ["told its length", "in chunks"])
def test_a_program_gets_a_problem_that_says_how_much_is_taken(how: str, ask: Ask) -> None:
    token = people.add_token(a_person("tech").id, "test").secret
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    if how == "in chunks":
        answer = post(ask, "/api/v1/parts", chunks(), **headers, **{"Transfer-Encoding": "chunked"})
    else:
        answer = post(ask, "/api/v1/parts", b" " * (TAKEN_IN + 1), **headers)
    assert (answer.status, answer.headers["Content-Type"]) == (413, "application/problem+json")
    assert json.loads(answer.body)["detail"].startswith("That is larger than 1 MB, the most that is taken here")
    assert answer.headers["Connection"] == "close"


def test_a_person_gets_a_page(ask: Ask) -> None:
    answer = post(ask, "/sign-in", b"x" * (TAKEN_IN + 1))
    assert (answer.status, answer.headers["Content-Type"]) == (413, "text/html; charset=utf-8")
    assert b"That is larger than 1 MB" in answer.body


def test_a_stranger_is_asked_who_he_is_first(ask: Ask) -> None:
    answer = post(ask, "/api/v1/parts", b" " * (TAKEN_IN + 1), **{"Content-Type": "application/json"})
    assert (answer.status, answer.headers["Connection"]) == (401, "close")


def test_what_follows_on_the_connection_is_no_request(ask: Ask) -> None:
    """Else the rest of a body could be made to look like one."""
    head = f"POST /sign-in HTTP/1.1\r\nHost: bench.lan\r\nContent-Length: {TAKEN_IN + 1}\r\n\r\n"

    def talk(connection: http.client.HTTPConnection) -> bytes:
        connection.connect()
        pipe = connection.sock
        pipe.sendall(head.encode() + b"x" * (TAKEN_IN + 1) + b"GET /sign-in HTTP/1.1\r\nHost: bench.lan\r\n\r\n")
        return b"".join(iter(lambda: pipe.recv(65536), b""))

    text = ask(talk)
    assert text.count(b"HTTP/1.1 ") == 1
    assert text.startswith(b"HTTP/1.1 413 ")


def test_what_is_no_request_at_all_is_still_refused(ask: Ask) -> None:
    assert post(ask, "/sign-in", b"", **{"Content-Length": "many"}).status == 400
