"""The digest of alerts as an e-mail: its text, and sending it by a mail server (SMTP)."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime, parseaddr

from inventory.domain.alerts.alert_records import AlertRecord
from inventory.domain.alerts.alerts import alerts_by_heading
from shared.urls import page_path

TIMEOUT_SECONDS = 20  # to wait for the mail server
SECURITY_MODES = ("starttls", "tls", "none")


@dataclass(frozen=True)
class MailSettings:
    """Where digests go, and by which server."""

    host: str
    port: int
    security: str  # starttls, tls, none
    user: str
    password: str
    sender: str
    to: tuple[str, ...]


class DeliveryError(Exception):
    """A message could not be delivered; the text says why. ``final``: it is not tried again."""

    def __init__(self, why: str, final: bool = False) -> None:
        super().__init__(why[:500])
        self.final = final


def digest_text(alerts: Sequence[AlertRecord], bench: str, address: str) -> str:
    """Return the text of a mail about alerts, by kind; *address* of the service, for links (may be empty)."""
    number = len(alerts)
    head = f"{bench}: {number} new {'thing needs' if number == 1 else 'things need'} doing."
    tail = f"All of them, to tick off or put off: {address}/alerts" if address else "See the page Alerts."
    return "\n".join([head, *_digest_lines(alerts, address), "", tail, ""])


def _digest_lines(alerts: Sequence[AlertRecord], address: str) -> Iterator[str]:
    for heading, group in alerts_by_heading(alerts).items():
        yield ""
        yield f"{heading} ({len(group)})"
        for alert in group:
            yield f"- {'! ' if alert.urgent else ''}{alert.title}"
            if alert.detail:
                yield f"  {alert.detail}"
            if address:
                yield f"  {address}{page_path(alert.what, alert.what_id)}"


def digest_subject(alerts: Sequence[AlertRecord], bench: str) -> str:
    """Return the subject of a mail about alerts."""
    urgent = sum(alert.urgent for alert in alerts)
    things = f"{len(alerts)} to see to"
    subject = f"{bench}: {things}, {urgent} urgent" if urgent else f"{bench}: {things}"
    return " ".join(subject.split())


def build_mail(mail: MailSettings, code: str, subject: str, text: str, time: datetime) -> EmailMessage:
    """Return the mail; its Message-ID comes from *code*, so that a repetition is recognised."""
    message = EmailMessage()
    message["From"] = mail.sender
    message["To"] = ", ".join(mail.to)
    message["Subject"] = subject
    message["Date"] = format_datetime(time)
    domain = parseaddr(mail.sender)[1].partition("@")[2] or "localhost"
    message["Message-ID"] = f"<{code}@{domain}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no holiday notes in return
    message.set_content(text)
    return message


def send_mail(mail: MailSettings, message: EmailMessage) -> None:
    """Send a mail; raise DeliveryError when the server does not take it for every recipient."""
    try:
        with _connect(mail) as server:
            if mail.user:
                server.login(mail.user, mail.password)
            refused = server.send_message(message)
    except (smtplib.SMTPException, OSError, ValueError) as error:
        raise DeliveryError(f"{mail.host}:{mail.port} did not take the mail: {_error_text(error)}") from None
    if refused:
        raise DeliveryError(f"{mail.host} did not take it for {', '.join(refused)}.", final=True)


def _connect(mail: MailSettings) -> smtplib.SMTP:
    if mail.security == "tls":
        return smtplib.SMTP_SSL(mail.host, mail.port, timeout=TIMEOUT_SECONDS, context=ssl.create_default_context())
    server = smtplib.SMTP(mail.host, mail.port, timeout=TIMEOUT_SECONDS)
    if mail.security == "starttls":
        try:
            server.starttls(context=ssl.create_default_context())
        except BaseException:
            server.close()
            raise
    return server


def _error_text(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        text = error.smtp_error
        return f"{error.smtp_code} {text.decode(errors='replace') if isinstance(text, bytes) else text}"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return "; ".join(f"{who}: {code} {_decoded_text(text)}" for who, (code, text) in error.recipients.items())
    return str(error) or type(error).__name__


def _decoded_text(text: bytes | str) -> str:
    return text.decode(errors="replace") if isinstance(text, bytes) else text
