"""Lets alerts reach people by the settings: the channels they name, and the thread that looks for alerts."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from zoneinfo import ZoneInfo

from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_mail import MailSettings
from inventory.domain.alerts.alert_messages import MAIL, AlertChannels, SendResult, send_alerts
from inventory.domain.alerts.alert_webhook import WebhookSettings
from inventory.domain.common import clock
from inventory.domain.reorder import forecasts
from inventory.domain.reorder.forecast_scores import score_forecasts
from inventory.settings import Settings
from inventory.store import connection

log = logging.getLogger("benchproof")


def alert_channels(settings: Settings) -> AlertChannels:
    """Return how alerts reach people by the settings."""
    to = tuple(one.strip() for one in settings.mail_to.split(",") if one.strip())
    mail = MailSettings(
        settings.smtp_host, settings.smtp_port, settings.smtp_security, settings.smtp_user, settings.smtp_password,
        settings.mail_from, to,
    )  # fmt: skip
    webhook = WebhookSettings(settings.webhook_url, settings.webhook_secret) if settings.webhook_url else None
    return AlertChannels(settings.bench_name, settings.public_url.rstrip("/"), mail if to else None, webhook)


def check_alerts(settings: Settings) -> SendResult:
    """Look for alerts as the service does by itself: posts at once, the digest once a day from its hour on."""
    score_forecasts()
    return send_alerts(alert_channels(settings), digest_now=_is_time_for_digest(settings))


def _is_time_for_digest(settings: Settings) -> bool:
    zone = ZoneInfo(settings.timezone)
    here, last = clock.now().astimezone(zone), alert_messages.last_message_at(MAIL)
    return here.hour >= settings.mail_hour and (last is None or last.astimezone(zone).date() < here.date())


def start_thread(
    settings: Settings, check: Callable[[Settings], object] = check_alerts, stop: threading.Event | None = None
) -> threading.Thread | None:  # fmt: skip
    """Start the thread that looks for alerts every so many minutes until *stop*; None: none is wanted."""
    if not settings.alert_minutes:
        return None
    given = (settings, check, stop or threading.Event())
    thread = threading.Thread(target=_run_loop, args=given, name="alerts", daemon=True)
    thread.start()
    return thread


def _run_loop(settings: Settings, act: Callable[[Settings], object], stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            connection.connect()
            act(settings)
        except Exception:  # whatever it was, the next look may do better
            log.exception("looking for alerts failed; the next look is in %s minutes", settings.alert_minutes)
        stop.wait(settings.alert_minutes * 60)
    connection.database.close()


def delete_old_alert_data() -> None:
    """Drop alerts, messages and advice that are too old to matter."""
    alert_messages.delete_old_messages()
    alerts.delete_old_alerts()
    forecasts.delete_old_forecasts()
