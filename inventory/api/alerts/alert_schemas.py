"""Alerts, the messages about them, and promises held against what happened."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import Answer, Body
from inventory.domain.alerts.alert_messages import STATES as MESSAGE_STATES
from inventory.domain.alerts.alert_records import STATES
from inventory.domain.alerts.alert_sources import KINDS
from inventory.domain.common.validation import PROMISES
from inventory.domain.reorder.forecast_report import VERDICTS


class AlertOut(Answer):
    """One thing to act on."""

    id = fields.Ident("Its id.")
    key = fields.Text("What it is about, always written alike.", example="late:7")
    kind = fields.Text("What kind of thing it is.", words=tuple(KINDS))
    title = fields.Text("What needs doing, in a few words.")
    detail = fields.Text("More about it.")
    what = fields.Text("What kind of thing to open.", example="order")
    what_id = fields.Ident("The id of that thing.")
    urgent = fields.Flag("It comes first.")
    state = fields.Text("What became of it.", words=STATES)
    raised = fields.Moment("When it was raised.")
    changed = fields.Moment("When something about it changed.")
    telling = fields.Whole("Counts up when it is told anew.", most=None)
    gone = fields.Moment("When its cause was over; null: it lasts.", nullable=True)
    acknowledged = fields.Moment("When somebody ticked it off.", nullable=True)
    acknowledged_by = fields.Text("Who did.")
    snoozed_until = fields.Day("The day it is put off until.", nullable=True)
    version = fields.Whole("Counts its changes.", most=None)


class AlertsQuery(PageQuery):
    """Which alerts to list."""

    state = fields.Text("In this state; left out: all that last.", words=STATES)
    kind = fields.Text("Of this kind.", words=tuple(KINDS))


class SnoozeIn(Body):
    """Until when an alert is put off."""

    until = fields.Day("The day on which it is told again, a year ahead at most.", required=True)


class MessageOut(Answer):
    """What went out about alerts, or is to go out."""

    id = fields.Ident("Its id.")
    code = fields.Text("By which the receiver knows a repetition.")
    channel = fields.Text("How it goes.", words=("mail", "webhook"))
    state = fields.Text("What became of it.", words=MESSAGE_STATES)
    made = fields.Moment("When it was written.")
    attempts = fields.Whole("How often it was tried.", most=None)
    next_try = fields.Moment("When it is, or was, tried next.")
    finished = fields.Moment("When it was sent, given up or dropped.", nullable=True)
    error = fields.Text("Why the last try failed.")
    alerts = fields.Many(ma.String(), "Titles of the alerts in it.")


class MessagesQuery(PageQuery):
    """Which messages to list."""

    state = fields.Text("In this state.", words=MESSAGE_STATES)


# ---- promises --------------------------------------------------------------------------------------------


class TallyOut(Answer):
    """Statements held against what came."""

    statements = fields.Whole("How many were scored.", most=None)
    expected = fields.Number("Misses that the stated chances led to expect.")
    came = fields.Whole("Misses that came.", most=None)
    low = fields.Whole("With every stated chance right, no fewer come 39 times in 40.", most=None)
    high = fields.Whole("Nor more than these.", most=None)
    verdict = fields.Text("What that says.", words=VERDICTS)
    enough = fields.Whole("So many it takes until something can be said.", most=None)


class LevelsKeptOut(Answer):
    """How the levels of one promise and target fared."""

    promise = fields.Text("What was promised.", words=PROMISES)
    target = fields.Share("How often it was to hold.")
    achieved = fields.Share("The share of levels that lasted.")
    tally = fields.Inner(TallyOut, "A miss is a level that did not last.")


class RisksNamedOut(Answer):
    """How often the promise broke where a risk between two bounds had been named."""

    low = fields.Share("From this risk.")
    high = fields.Share("To this risk.")
    tally = fields.Inner(TallyOut, "A miss is a part that ran dry.")


class ForecastOut(Answer):
    """One remembered advice."""

    id = fields.Ident("Its id.")
    part = fields.Inner(PartOut, "The part.")
    given = fields.Moment("When it was given.")
    until = fields.Moment("When its time ends.")
    promise = fields.Text("What was promised.", words=PROMISES)
    target = fields.Share("How often it was to hold.")
    position = fields.Whole("The position then, in base units.", least=None, most=None)
    level = fields.Whole("The level then.", most=None)
    level_kept = fields.Share("The chance stated for the level; null: the owner had fixed it.", nullable=True)
    risk = fields.Share("The chance stated that the promise breaks at that position.")
    counts = fields.Flag("It counts: no other one of the part was open.")
    scored = fields.Moment("When it was held against what happened.", nullable=True)
    wanted = fields.Whole("How many were wanted until then; null: not known.", most=None, nullable=True)
    level_lasted = fields.Flag("The level would have lasted.", nullable=True)
    kept = fields.Flag("The promise held at the position there was.", nullable=True)


class ForecastsQuery(PageQuery):
    """Which remembered advice to list."""

    part_id = fields.AskedIdent("Of this part.")
    scored = fields.AskedFlag("Held against what happened, or not yet.")


class PromisesOut(Answer):
    """Promised against achieved."""

    since = fields.Moment("The first advice remembered.", nullable=True)
    remembered = fields.Whole("How many are remembered.", most=None)
    judged = fields.Whole("How many were scored and count.", most=None)
    waiting = fields.Whole("How many wait for their time to pass.", most=None)
    levels = fields.Inner(LevelsKeptOut, "Levels, by promise and target.", many=True)
    risks = fields.Inner(RisksNamedOut, "Risks, by bands.", many=True)
    missed = fields.Inner(ForecastOut, "The newest levels that did not last.", many=True)
