"""A real mail server and a real web server that tests let messages arrive at."""

from __future__ import annotations

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

from tests import DATA


@dataclass
class MailServer:
    """What a mail server took; ``answer`` is what it says to the next mails, ``refused`` whom it takes none for."""

    port: int = 0
    mails: list[EmailMessage] = field(default_factory=list)
    answer: str = "250 OK"
    refused: tuple[str, ...] = ()

    async def handle_RCPT(self, _server: Any, _session: Any, envelope: Any, to: str, _options: Any) -> str:  # noqa: N802
        """Take or refuse an addressee."""
        if to in self.refused:
            return "550 nobody of that name"
        envelope.rcpt_tos.append(to)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802
        """Take or refuse a mail."""
        if self.answer.startswith("250"):
            self.mails.append(message_from_bytes(envelope.content, policy=default))  # type: ignore[arg-type]
        return self.answer


CERTIFICATE = DATA / "mail_server.pem"
"""A certificate for 127.0.0.1 that signs itself, with its key: made for these tests, and good for nothing else."""


@contextmanager
def run_mail_server(user: str = "", password: str = "", starttls: bool = False) -> Iterator[MailServer]:
    """Run a mail server on this machine; with a *user*, it wants a sign-in; *starttls*: it offers TLS."""
    box = MailServer()

    def let_in(_server: Any, _session: Any, _envelope: Any, _how: str, login: Any) -> AuthResult:
        known = isinstance(login, LoginPassword) and (login.login, login.password) == (
            user.encode(),
            password.encode(),
        )
        return AuthResult(success=known, handled=False)

    options: dict[str, Any] = {}
    if user:
        options = {"authenticator": let_in, "auth_required": True, "auth_require_tls": starttls}
    if starttls:
        options["tls_context"] = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        options["tls_context"].load_cert_chain(CERTIFICATE)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        box.port = probe.getsockname()[1]
    controller = Controller(box, hostname="127.0.0.1", port=box.port, **options)
    controller.start()
    try:
        yield box
    finally:
        controller.stop()


@dataclass
class WebhookServer:
    """What a web server was posted; ``answers`` are the statuses of the next posts, the last one going on."""

    url: str = ""
    posts: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    answers: list[int] = field(default_factory=lambda: [204])


@contextmanager
def run_webhook_server() -> Iterator[WebhookServer]:
    """Run a web server on this machine that keeps what is posted to it."""
    inbox = WebhookServer()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            text = self.rfile.read(int(self.headers["Content-Length"]))
            inbox.posts.append((dict(self.headers.items()), text))
            status = inbox.answers.pop(0) if len(inbox.answers) > 1 else inbox.answers[0]
            self.send_response(status)
            if 300 <= status < 400:
                self.send_header("Location", "/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    inbox.url = f"http://127.0.0.1:{server.server_address[1]}/alerts"
    thread = threading.Thread(target=server.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    try:
        yield inbox
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
