"""Sends alerts by the settings: the channels that they name, and the thread that checks for new alerts."""

from __future__ import annotations

import threading
from collections.abc import Callable
from zoneinfo import ZoneInfo

from inventory import background
from inventory.domain.alerts import alert_messages, alerts
from inventory.domain.alerts.alert_mail import MailSettings
from inventory.domain.alerts.alert_messages import MAIL, AlertChannels, SendResult, send_alerts
from inventory.domain.alerts.alert_webhook import WebhookSettings
from inventory.domain.common import clock
from inventory.domain.reorder import forecasts
from inventory.domain.reorder.forecast_scores import score_forecasts
from inventory.settings import Settings


def alert_channels(settings: Settings) -> AlertChannels:
    """Return the channels on which *settings* let alerts be sent."""
    recipients = tuple(address.strip() for address in settings.mail_to.split(",") if address.strip())
    mail = MailSettings(
        settings.smtp_host, settings.smtp_port, settings.smtp_security, settings.smtp_user, settings.smtp_password,
        settings.mail_from, recipients,
    )  # fmt: skip
    webhook = WebhookSettings(settings.webhook_url, settings.webhook_secret) if settings.webhook_url else None
    return AlertChannels(settings.bench_name, settings.public_url.rstrip("/"), mail if recipients else None, webhook)


def check_alerts(settings: Settings) -> SendResult:
    """Send what is new as the service does by itself: posts at once, the digest once a day from ``mail_hour`` on."""
    score_forecasts()
    return send_alerts(alert_channels(settings), digest_now=_is_time_for_digest(settings))


def _is_time_for_digest(settings: Settings) -> bool:
    zone = ZoneInfo(settings.timezone)
    local_time, last = clock.now().astimezone(zone), alert_messages.last_message_at(MAIL)
    return local_time.hour >= settings.mail_hour and (
        last is None or last.astimezone(zone).date() < local_time.date()
    )


def start_thread(
    settings: Settings, check: Callable[[Settings], object] = check_alerts, stop: threading.Event | None = None
) -> threading.Thread | None:  # fmt: skip
    """Start the thread that calls *check* every ``alert_minutes`` until *stop* is set; None: the setting is 0."""
    if not settings.alert_minutes:
        return None
    return background.start_thread("alerts", settings.alert_minutes * 60, lambda: check(settings), stop)


def delete_old_alert_data() -> None:
    """Delete alerts, messages and forecasts that are older than they are kept."""
    alert_messages.delete_old_messages()
    alerts.delete_old_alerts()
    forecasts.delete_old_forecasts()
