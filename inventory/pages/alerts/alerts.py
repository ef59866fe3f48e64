"""Today, and alerts: marking done, postponing, the Atom feed, and the messages sent."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from flask import Response, flash, redirect, render_template, request, session, url_for
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.wrappers import Response as AnyResponse

from inventory.background.alerts import alert_channels
from inventory.domain.alerts import alert_feed, alert_messages, alerts, alerts_overview
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.jobs import people
from inventory.pages import pages
from inventory.pages.context import day, settings, when
from inventory.pages.form_actions import form_action
from inventory.pages.forms import DateField, Form, IntegerField, TextField, load_form, query_value
from inventory.web.access import NotSignedIn, allow_anonymous, bearer_token, current_person, require_role

FEED_SALT = "alert feed"


class ReturnForm(Form):
    """Which page the button was on."""

    back = TextField()


class PostponeForm(ReturnForm):
    """Until when an alert is postponed: a number of days, or a date."""

    days = IntegerField()
    until = DateField()


def _render_alerts(key: int | None = None) -> str:
    return render_template(
        "alerts/alerts.html",
        screen=alerts_overview.alerts_screen(),
        all_of=query_value("all", TextField()),
        channels=alert_channels(settings()),
        feed=_feed_url(),
        tomorrow=clock.today() + timedelta(days=1),
    )


@pages.get("/alerts")
def alert_list() -> str:
    """Show open, done and postponed alerts, and the messages sent."""
    return _render_alerts()


@pages.post("/alerts/<int:key>/seen")
@form_action(_render_alerts)
def mark_alert_done(key: int) -> AnyResponse:
    """Mark an alert done."""
    alerts.mark_alert_done(key, by=current_person().id)
    flash("Ticked off: no more is heard of it while it lasts.", "good")
    return _redirect_back()


@pages.post("/alerts/<int:key>/later")
@form_action(_render_alerts)
def postpone_alert(key: int) -> AnyResponse:
    """Postpone an alert."""
    data = load_form(PostponeForm)
    until = data["until"] or (clock.today() + timedelta(days=data["days"]) if data["days"] else None)
    if until is None:
        raise Invalid("Say until when.", errors={"until": ["Choose a day."]})
    postponed = alerts.postpone_alert(key, until)
    flash(f"Put off until {day(postponed.postponed_until)}.", "good")
    return _redirect_back()


@pages.post("/alerts/<int:key>/again")
@form_action(_render_alerts)
def reopen_alert(key: int) -> AnyResponse:
    """Open a done or postponed alert again."""
    alerts.reopen_alert(key)
    return _redirect_back()


def _redirect_back() -> AnyResponse:
    """Go back to the page that the button was on."""
    return redirect(url_for("pages.today" if load_form(ReturnForm)["back"] == "today" else "pages.alert_list"), 303)


@pages.post("/alerts/send")
@require_role("owner")
def send_alerts() -> AnyResponse:
    """Send what was not sent yet, now. Sent twice, it sends nothing twice, and must not be one transaction."""
    outcome = alert_messages.send_alerts(alert_channels(settings()))
    for error in dict.fromkeys(outcome.errors):
        flash(error, "warn")
    for sentence in _send_summary(outcome):
        flash(sentence, "good")
    return redirect(url_for("pages.alert_list", _anchor="sent"), 303)


def _send_summary(outcome: alert_messages.SendResult) -> Iterator[str]:
    """Say what was sent, and what is tried again later."""
    waiting, first = alert_messages.pending_retries()
    if outcome.sent:
        number = f"{outcome.sent} {'message' if outcome.sent == 1 else 'messages'}"
        yield f"{number} sent." if outcome.errors or waiting else f"Everything is sent: {number}."
    elif not outcome.errors and not waiting:
        yield "There was nothing to send."
    if waiting:
        number = f"{waiting} that failed {'is' if waiting == 1 else 'are'}"
        yield f"{number} to be tried again from {when(first)} on: nothing is lost, and nothing is sent twice."


@pages.post("/alerts/messages/<int:key>/again")
@require_role("owner")
@form_action(_render_alerts)
def retry_message(key: int) -> AnyResponse:
    """Let a message that failed be tried again."""
    alert_messages.retry_message(key)
    flash("It is tried again at the next sending.", "good")
    return redirect(url_for("pages.alert_list", _anchor="sent"), 303)


# ---- the feed --------------------------------------------------------------------------------------------


def _signer() -> URLSafeSerializer:
    return URLSafeSerializer(settings().signing_key(), salt=FEED_SALT)


def _feed_url() -> str:
    """Return the address of the caller's own feed. It ends with their sessions, and opens nothing else."""
    key = _signer().dumps([current_person().id, session.get("mark", -1)])
    return url_for("pages.atom_feed", key=key, _external=True)


@pages.get("/alerts.atom")
@allow_anonymous
def atom_feed() -> Response:
    """Give the open alerts as an Atom feed, to whoever has its address or a token."""
    if not _may_read_feed():
        raise NotSignedIn(
            "This feed's address has ended: copy the new one from the page Alerts.", reason="feed_ended"
        )
    address = settings().public_url.rstrip("/") or request.host_url.rstrip("/")
    response = Response(
        alert_feed.open_alerts_feed(settings().bench_name, address, request.url),
        content_type="application/atom+xml; charset=utf-8",
    )
    response.add_etag()
    response.make_conditional(request)
    return response


def _may_read_feed() -> bool:
    if token := bearer_token(request):
        return people.token_person(token) is not None
    try:
        person_id, mark = _signer().loads(request.args.get("key", ""))
    except (BadSignature, ValueError, TypeError):
        return False
    return people.session_person(person_id, mark) is not None


@pages.get("/")
def today() -> str:
    """Show what needs doing, each with a way to act."""
    screen = alerts_overview.today_screen()
    return render_template("alerts/today.html", screen=screen, today=screen.today, now=clock.now())
