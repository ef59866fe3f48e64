"""Lets alerts reach people by the settings: the channels they name, and the thread that looks for alerts."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from zoneinfo import ZoneInfo

from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_mail import Mail
from inventory.domain.alerts.alert_messages import MAIL, Channels, Sent, send_alerts
from inventory.domain.alerts.alert_webhook import Webhook
from inventory.domain.common import clock
from inventory.domain.reorder import forecasts
from inventory.domain.reorder.forecast_scores import score
from inventory.settings import Settings
from inventory.store import connection

log = logging.getLogger("benchproof")


def channels(settings: Settings) -> Channels:
    """Return how alerts reach people by the settings."""
    to = tuple(one.strip() for one in settings.mail_to.split(",") if one.strip())
    mail = Mail(
        settings.smtp_host, settings.smtp_port, settings.smtp_security, settings.smtp_user, settings.smtp_password,
        settings.mail_from, to,
    )  # fmt: skip
    webhook = Webhook(settings.webhook_url, settings.webhook_secret) if settings.webhook_url else None
    return Channels(settings.bench_name, settings.public_url.rstrip("/"), mail if to else None, webhook)


def look(settings: Settings) -> Sent:
    """Look for alerts as the service does by itself: posts at once, the digest once a day from its hour on."""
    score()
    return send_alerts(channels(settings), digest_now=_is_time_for_digest(settings))


def _is_time_for_digest(settings: Settings) -> bool:
    zone = ZoneInfo(settings.timezone)
    here, last = clock.now().astimezone(zone), alert_messages.last_written(MAIL)
    return here.hour >= settings.mail_hour and (last is None or last.astimezone(zone).date() < here.date())


def start(
    settings: Settings, act: Callable[[Settings], object] = look, stop: threading.Event | None = None
) -> threading.Thread | None:  # fmt: skip
    """Start the thread that looks for alerts every so many minutes until *stop*; None: none is wanted."""
    if not settings.alert_minutes:
        return None
    given = (settings, act, stop or threading.Event())
    thread = threading.Thread(target=_go_on, args=given, name="alerts", daemon=True)
    thread.start()
    return thread


def _go_on(settings: Settings, act: Callable[[Settings], object], stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            connection.ready()
            act(settings)
        except Exception:  # whatever it was, the next look may do better
            log.exception("looking for alerts failed; the next look is in %s minutes", settings.alert_minutes)
        stop.wait(settings.alert_minutes * 60)
    connection.database.close()


def forget_old() -> None:
    """Drop alerts, messages and advice that are too old to matter."""
    alert_messages.forget_old_messages()
    alerts.forget_old()
    forecasts.forget_old()
