"""Lets the service itself answer a request whose body is larger than the server accepts.

waitress answers such a request with a line of plain text as soon as it knows the length, and closes the connection on
a client that is still sending and so may never read it. Here the body is received to its end and discarded, using
neither memory nor disk. The service then gets the request without its body, and answers 413 in its usual form.
"""

from __future__ import annotations

from typing import Any

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.task import ErrorTask, Task, WSGITask
from waitress.utilities import RequestEntityTooLarge

MAX_DISCARDED_BYTES = 1_000_000_000  # bytes; beyond it the connection is closed


class _DiscardBuffer:
    """Discards a body."""

    def append(self, data: bytes) -> None:
        """Discard *data*."""


class _DiscardingParser(HTTPRequestParser):  # type: ignore[misc]
    """A request that is complete only when its whole body has been received, even if it is too large."""

    body_rcv: Any
    _body: Any = None
    _discarded_bytes = 0

    def received(self, data: bytes) -> int:
        """Process received bytes; return how many of them belong to this request."""
        if self._body is not None and not self.completed:
            return self._discard(data)
        used: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge) and self._body is None:
            self._start_discarding()
        return used

    def _start_discarding(self) -> None:
        self._body, self.body_rcv = self.body_rcv, None
        self._body.buf.close()  # a chunked body is buffered until it exceeds the limit
        self._body.buf = _DiscardBuffer()
        self.completed = bool(self._body.completed)

    def _discard(self, data: bytes) -> int:
        used: int = self._body.received(data)
        self._discarded_bytes += used
        self.completed = bool(self._body.completed or self._body.error or self._discarded_bytes > MAX_DISCARDED_BYTES)
        return used


class _TooLargeTask(WSGITask):  # type: ignore[misc]
    """A request that the service sees without its body."""

    def execute(self) -> None:
        """Let the service answer, then close the connection: what follows on it is no request."""
        self.set_close_on_finish()
        super().execute()

    def get_environment(self) -> dict[str, Any]:
        """Return the WSGI environment; the length of a chunked body is given as the limit that it exceeded."""
        environ: dict[str, Any] = super().get_environment()
        environ["CONTENT_LENGTH"] = str(self.request.content_length or self.channel.adj.max_request_body_size)
        return environ


def _error_task(channel: HTTPChannel, request: Any) -> Task:
    task = _TooLargeTask if isinstance(request.error, RequestEntityTooLarge) else ErrorTask
    return task(channel, request)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection on which the service answers too large bodies."""

    parser_class = _DiscardingParser
    error_task_class = staticmethod(_error_task)
