"""Answers a request whose body is larger than the server takes in, in the service's own words.

waitress gives up on such a request as soon as it knows its length, answers with a line of plain text, and hangs up on
a client that is still sending and so may never read it. Here the body is received to its end and thrown away as it
comes, taking neither memory nor disk. Then the service is handed the request without it, sees how long it was, and
says in its usual way, a sentence for people and a problem for programs, how much it takes.
"""

from __future__ import annotations

from typing import Any

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.task import ErrorTask, Task, WSGITask
from waitress.utilities import RequestEntityTooLarge

MOST_THROWN_AWAY = 1_000_000_000  # bytes; who sends more is hung up on


class _Nowhere:
    """Where a body goes that is not kept."""

    def append(self, data: bytes) -> None:
        """Keep nothing."""


class _Parser(HTTPRequestParser):  # type: ignore[misc]
    """A request that is complete only when its body, too large or not, has been received."""

    body_rcv: Any
    _rest: Any = None
    _thrown_away = 0

    def received(self, data: bytes) -> int:
        """Take what comes in next; return how many bytes of it belong to this request."""
        if self._rest is not None and not self.completed:
            return self._throw_away(data)
        used: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge) and self._rest is None:
            self._begin_to_throw_away()
        return used

    def _begin_to_throw_away(self) -> None:
        self._rest, self.body_rcv = self.body_rcv, None
        self._rest.buf.close()  # of a body sent in chunks some was kept until it was too much
        self._rest.buf = _Nowhere()
        self.completed = bool(self._rest.completed)

    def _throw_away(self, data: bytes) -> int:
        used: int = self._rest.received(data)
        self._thrown_away += used
        self.completed = bool(self._rest.completed or self._rest.error or self._thrown_away > MOST_THROWN_AWAY)
        return used


class _WithoutBody(WSGITask):  # type: ignore[misc]
    """A request of which the service sees all but the body."""

    def execute(self) -> None:
        """Let the service answer, then end the connection: what follows on it is no request."""
        self.set_close_on_finish()
        super().execute()

    def get_environment(self) -> dict[str, Any]:
        """Return what the service sees; a body sent in chunks is as long as what was too much of it."""
        seen: dict[str, Any] = super().get_environment()
        seen["CONTENT_LENGTH"] = str(self.request.content_length or self.channel.adj.max_request_body_size)
        return seen


def _error_task(channel: HTTPChannel, request: Any) -> Task:
    task = _WithoutBody if isinstance(request.error, RequestEntityTooLarge) else ErrorTask
    return task(channel, request)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection on which a body too large is answered by the service."""

    parser_class = _Parser
    error_task_class = staticmethod(_error_task)
