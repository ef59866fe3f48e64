"""`benchproof alerts`: what needs doing, on the command line, and sending it to people (for cron)."""

from __future__ import annotations

import sys

import click

from inventory.background.alerts import alert_channels
from inventory.cli.common import CommandError, open_database, show_errors_as_sentences
from inventory.domain.alerts.alert_messages import send_alerts
from inventory.domain.alerts.alerts import alerts_by_heading, refresh_alerts
from inventory.domain.reorder.forecast_scores import score_forecasts


@click.group("alerts")
def alerts() -> None:
    """What needs doing, and telling people of it."""


@alerts.command("list")
@show_errors_as_sentences
def alerts_list() -> None:
    """List what needs doing now, by kind."""
    open_database()
    open_alerts = [alert for alert in refresh_alerts() if alert.state == "open"]
    for heading, group in alerts_by_heading(open_alerts).items():
        click.echo(f"{heading} ({len(group)})")
        for alert in group:
            click.echo(f"  {'!' if alert.urgent else ' '} {alert.title}")
    if not open_alerts:
        click.echo("Nothing needs doing.")


@alerts.command("send")
@show_errors_as_sentences
def alerts_send() -> None:
    """Send what was not sent yet, by mail and webhook as set. Exit 1 if something could not be sent."""
    settings = open_database()
    channels = alert_channels(settings)
    if channels.mail is None and channels.webhook is None:
        raise CommandError(
            "Nobody is to be told: set BENCHPROOF_MAIL_TO or BENCHPROOF_WEBHOOK_URL first (docs/running.md)."
        )
    score_forecasts()
    outcome = send_alerts(channels)
    for error in outcome.errors:
        click.echo(error, err=True)
    click.echo(f"{outcome.sent} sent, {outcome.later} to be tried again, {outcome.failed} given up.")
    sys.exit(1 if outcome.errors else 0)
