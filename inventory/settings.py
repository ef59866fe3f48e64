"""Every setting of the service: its name, its default, and the check it must pass.

Each is read from the environment as ``BENCHPROOF_<NAME>``; ``PORT`` and ``DATA_DIR`` work without the prefix,
because those two are what people change first.
"""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from shared.quantities import CURRENCY_EXPONENTS

LOOPBACK = ("127.0.0.1", "::1", "localhost")


class BadSetting(ValueError):
    """A setting has a value the service cannot work with; the text says which one and what it takes."""


def setting_field(default: Any, about: str) -> Any:
    """Declare one setting with its default and the sentence the docs show for it."""
    return field(default=default, metadata={"about": about})


@dataclass(frozen=True)
class Settings:
    """All settings of one running service."""

    data_dir: Path = setting_field(Path("data"), "Folder of the embedded database, the secret key and attachments.")
    database_url: str = setting_field("", "PostgreSQL address (postgresql://user@host/name); empty: embedded SQLite.")
    host: str = setting_field("127.0.0.1", "Address to listen on. 0.0.0.0 opens the service to the bench network.")
    port: int = setting_field(8017, "Port to listen on.")
    threads: int = setting_field(8, "Threads that answer requests.")
    https: bool = setting_field(False, "The service is reached over https: cookies are sent over https only.")
    trusted_proxies: int = setting_field(0, "How many reverse proxies in front may name the client's address.")
    label_url: str = setting_field("HTTPS://BENCH.LAN", "Upper-case address that scannable symbols start with.")
    bench_name: str = setting_field("Our bench", "Name of the shop, shown on pages and labels.")
    currency: str = setting_field("EUR", "Currency code (ISO 4217) of every amount.")
    timezone: str = setting_field("UTC", "Time zone in which pages show times. Stored times are always UTC.")
    session_hours: int = setting_field(14, "Hours a sign-in lasts without use.")
    undo_seconds: int = setting_field(60, "Seconds for which an undo is offered right after an action.")
    loan_hours: int = setting_field(48, "Hours after which a piece that is out counts as overdue.")
    max_body: int = setting_field(1_000_000, "Largest request body in bytes.")
    max_photo: int = setting_field(20_000_000, "Largest photo of a label or a bag in bytes, form included.")
    secret_key: str = setting_field("", "Key that signs sessions; empty: made once and kept in the data folder.")
    public_url: str = setting_field(
        "", "Address of the service, for links in mails, feeds and webhooks: https://bench.example."
    )
    alert_minutes: int = setting_field(0, "Minutes between the service's own looks for alerts to send; 0: none.")
    mail_to: str = setting_field("", "Who gets the digest of alerts, with commas between; empty: nobody.")
    mail_from: str = setting_field("", "Sender of the digest.")
    mail_hour: int = setting_field(7, "Hour of the bench's day from which the service sends that day's digest.")
    smtp_host: str = setting_field("", "Mail server that takes the digest.")
    smtp_port: int = setting_field(587, "Port of the mail server.")
    smtp_security: str = setting_field("starttls", "How to speak to the mail server: starttls, tls or none.")
    smtp_user: str = setting_field("", "User at the mail server; empty: no sign-in.")
    smtp_password: str = setting_field("", "Password at the mail server.")
    webhook_url: str = setting_field("", "Address that each alert is posted to; empty: none.")
    webhook_secret: str = setting_field("", "Secret that posts are signed with, 16 characters or more.")
    backup_dir: str = setting_field(
        "", "Folder into which the service backs itself up once a day; empty: it does not."
    )
    backup_hour: int = setting_field(2, "Hour of the bench's day from which that day's backup is made.")
    backup_keep: int = setting_field(14, "How many of these backups are kept.")
    printers: str = setting_field(
        "", "CUPS queues that labels are printed to, with commas between; all: whatever lpstat lists; empty: none."
    )
    demo: bool = setting_field(False, "The demo bench is loaded: the sign-in page says who may sign in.")

    @property
    def resolved_database_url(self) -> str:
        """Return the database address in use, the embedded file when none is set."""
        return self.database_url or f"sqlite:///{self.data_dir / 'benchproof.db'}"

    @property
    def open_to_network(self) -> bool:
        """Tell whether other machines can reach the service."""
        return self.host not in LOOPBACK

    def signing_key(self) -> str:
        """Return the key that signs sessions, making it on first use (file mode 0600)."""
        if self.secret_key:
            return self.secret_key
        path = self.data_dir / "secret.key"
        if not path.exists():
            self.data_dir.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "w") as file:
                file.write(secrets.token_hex(32))
        return path.read_text().strip()


def load_settings(environment: Mapping[str, str] | None = None, **overrides: Any) -> Settings:
    """Read the settings from *environment* (default: the process's), then apply *given* over them.

    Raises BadSetting with a sentence that names the setting.
    """
    env = os.environ if environment is None else environment
    values: dict[str, Any] = {}
    for setting in fields(Settings):
        raw = env.get(f"BENCHPROOF_{setting.name.upper()}")
        if raw is None and setting.name in ("port", "data_dir"):
            raw = env.get(setting.name.upper())
        if raw is not None:
            values[setting.name] = _parse(setting.name, raw, setting.default)
    settings = Settings(**{**values, **overrides})
    _validate(settings)
    return settings


def _parse(name: str, raw: str, default: Any) -> Any:
    if isinstance(default, bool):
        if raw.strip().lower() in ("1", "true", "yes", "on"):
            return True
        if raw.strip().lower() in ("0", "false", "no", "off", ""):
            return False
        raise BadSetting(f"BENCHPROOF_{name.upper()} is {raw!r}: write yes or no.")
    if isinstance(default, int):
        try:
            return int(raw)
        except ValueError:
            raise BadSetting(f"{name.upper()} is {raw!r}: write a whole number.") from None
    return Path(raw) if isinstance(default, Path) else raw


def _validate(settings: Settings) -> None:
    if not 0 <= settings.port <= 65535:
        raise BadSetting(f"PORT is {settings.port}: write a number from 0 to 65535.")
    if settings.currency not in CURRENCY_EXPONENTS:
        raise BadSetting(
            f"BENCHPROOF_CURRENCY is {settings.currency!r}: write one of {', '.join(CURRENCY_EXPONENTS)}."
        )
    for name in ("threads", "session_hours", "loan_hours", "max_body", "max_photo", "backup_keep"):
        if getattr(settings, name) < 1:
            raise BadSetting(f"BENCHPROOF_{name.upper()} must be 1 or more.")
    if settings.database_url and not settings.database_url.startswith(("postgresql://", "sqlite:///")):
        raise BadSetting("BENCHPROOF_DATABASE_URL must start with postgresql:// or sqlite:///.")
    _validate_alerts(settings)
    if not settings.label_url.upper().startswith(("HTTPS://", "HTTP://")):
        raise BadSetting("BENCHPROOF_LABEL_URL must start with HTTPS:// or HTTP://.")
    try:
        ZoneInfo(settings.timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadSetting(
            f"BENCHPROOF_TIMEZONE is {settings.timezone!r}: write a zone such as Europe/Lisbon."
        ) from None


def _validate_alerts(settings: Settings) -> None:
    """Refuse settings by which alerts could never reach anybody."""
    if not 0 <= settings.alert_minutes <= 1440:
        raise BadSetting("BENCHPROOF_ALERT_MINUTES must be from 0 to 1440.")
    for name in ("mail_hour", "backup_hour"):
        if not 0 <= getattr(settings, name) <= 23:
            raise BadSetting(f"BENCHPROOF_{name.upper()} must be from 0 to 23.")
    if not 1 <= settings.smtp_port <= 65535:
        raise BadSetting(f"BENCHPROOF_SMTP_PORT is {settings.smtp_port}: write a number from 1 to 65535.")
    if settings.smtp_security not in ("starttls", "tls", "none"):
        raise BadSetting(f"BENCHPROOF_SMTP_SECURITY is {settings.smtp_security!r}: write starttls, tls or none.")
    if settings.mail_to and not (settings.smtp_host and "@" in settings.mail_from):
        raise BadSetting("BENCHPROOF_MAIL_TO needs BENCHPROOF_SMTP_HOST and BENCHPROOF_MAIL_FROM too: set them.")
    for name in ("public_url", "webhook_url"):
        if (url := getattr(settings, name)) and not url.lower().startswith(("https://", "http://")):
            raise BadSetting(f"BENCHPROOF_{name.upper()} must start with https:// or http://.")
    if settings.webhook_url and len(settings.webhook_secret) < 16:
        raise BadSetting("BENCHPROOF_WEBHOOK_SECRET must have 16 characters or more: draw a long random one.")
