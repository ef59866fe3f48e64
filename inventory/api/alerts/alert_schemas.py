"""Alerts, the messages about them, and promises held against what happened."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.pagination import PageQuery
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.alerts.alert_messages import MESSAGE_STATES as MESSAGE_STATES
from inventory.domain.alerts.alert_records import ALERT_STATES
from inventory.domain.alerts.alert_sources import ALERT_KINDS
from inventory.domain.common.validation import PROMISES
from inventory.domain.reorder.forecast_report import VERDICTS


class AlertOut(ResponseSchema):
    """One thing to act on."""

    id = fields.Id("Its id.")
    key = fields.Text("What it is about, always written alike.", example="late:7")
    kind = fields.Text("What kind of thing it is.", choices=tuple(ALERT_KINDS))
    title = fields.Text("What needs doing, in a few words.")
    detail = fields.Text("More about it.")
    what = fields.Text("What kind of thing to open.", example="order")
    what_id = fields.Id("The id of that thing.")
    urgent = fields.Boolean("It comes first.")
    state = fields.Text("What became of it.", choices=ALERT_STATES)
    raised = fields.DateTime("When it was raised.")
    changed = fields.DateTime("When something about it changed.")
    telling = fields.Integer("Counts up when it is told anew.", maximum=None)
    gone = fields.DateTime("When its cause was over; null: it lasts.", nullable=True)
    done = fields.DateTime("When somebody marked it as done.", nullable=True)
    done_by = fields.Text("Who did.")
    postponed_until = fields.Date("The day until which it is postponed.", nullable=True)
    version = fields.Integer("Counts its changes.", maximum=None)


class AlertsQuery(PageQuery):
    """Which alerts to list."""

    state = fields.Text("In this state; left out: all that last.", choices=ALERT_STATES)
    kind = fields.Text("Of this kind.", choices=tuple(ALERT_KINDS))


class PostponeIn(BodySchema):
    """Until when an alert is postponed."""

    until = fields.Date("The day on which it is told again, a year ahead at most.", required=True)


class AlertMessageOut(ResponseSchema):
    """What went out about alerts, or is to go out."""

    id = fields.Id("Its id.")
    code = fields.Text("By which the receiver knows a repetition.")
    channel = fields.Text("How it goes.", choices=("mail", "webhook"))
    state = fields.Text("What became of it.", choices=MESSAGE_STATES)
    made = fields.DateTime("When it was written.")
    attempts = fields.Integer("How often it was tried.", maximum=None)
    next_try = fields.DateTime("When it is, or was, tried next.")
    finished = fields.DateTime("When it was sent, given up or dropped.", nullable=True)
    error = fields.Text("Why the last try failed.")
    alerts = fields.List(ma.String(), "Titles of the alerts in it.")


class AlertMessagesQuery(PageQuery):
    """Which messages to list."""

    state = fields.Text("In this state.", choices=MESSAGE_STATES)


# ---- promises --------------------------------------------------------------------------------------------


class ForecastTallyOut(ResponseSchema):
    """Statements held against what came."""

    statements = fields.Integer("How many were scored.", maximum=None)
    expected = fields.Number("Misses that the stated chances led to expect.")
    came = fields.Integer("Misses that came.", maximum=None)
    low = fields.Integer("With every stated chance right, no fewer come 39 times in 40.", maximum=None)
    high = fields.Integer("Nor more than these.", maximum=None)
    verdict = fields.Text("What that says.", choices=VERDICTS)
    enough = fields.Integer("So many it takes until something can be said.", maximum=None)


class LevelScoreOut(ResponseSchema):
    """How the levels of one promise and target fared."""

    promise = fields.Text("What was promised.", choices=PROMISES)
    target = fields.BoundedNumber("How often it was to hold.")
    achieved = fields.BoundedNumber("The share of levels that lasted.")
    tally = fields.Nested(ForecastTallyOut, "A miss is a level that did not last.")


class RiskBandOut(ResponseSchema):
    """How often the promise broke where a risk between two bounds had been named."""

    low = fields.BoundedNumber("From this risk.")
    high = fields.BoundedNumber("To this risk.")
    tally = fields.Nested(ForecastTallyOut, "A miss is a part that ran dry.")


class ForecastOut(ResponseSchema):
    """One remembered advice."""

    id = fields.Id("Its id.")
    part = fields.Nested(PartOut, "The part.")
    given = fields.DateTime("When it was given.")
    until = fields.DateTime("When its time ends.")
    promise = fields.Text("What was promised.", choices=PROMISES)
    target = fields.BoundedNumber("How often it was to hold.")
    position = fields.Integer("The position then, in base units.", minimum=None, maximum=None)
    level = fields.Integer("The level then.", maximum=None)
    level_kept = fields.BoundedNumber("The chance stated for the level; null: the owner had fixed it.", nullable=True)
    risk = fields.BoundedNumber("The chance stated that the promise breaks at that position.")
    counts = fields.Boolean("It counts: no other one of the part was open.")
    scored = fields.DateTime("When it was held against what happened.", nullable=True)
    wanted = fields.Integer("How many were wanted until then; null: not known.", maximum=None, nullable=True)
    level_lasted = fields.Boolean("The level would have lasted.", nullable=True)
    kept = fields.Boolean("The promise held at the position there was.", nullable=True)


class ForecastsQuery(PageQuery):
    """Which remembered advice to list."""

    part_id = fields.QueryId("Of this part.")
    scored = fields.QueryBoolean("Held against what happened, or not yet.")


class ForecastReportOut(ResponseSchema):
    """Promised against achieved."""

    since = fields.DateTime("The first advice remembered.", nullable=True)
    remembered = fields.Integer("How many are remembered.", maximum=None)
    judged = fields.Integer("How many were scored and count.", maximum=None)
    waiting = fields.Integer("How many wait for their time to pass.", maximum=None)
    levels = fields.Nested(LevelScoreOut, "Levels, by promise and target.", many=True)
    risks = fields.Nested(RiskBandOut, "Risks, by bands.", many=True)
    missed = fields.Nested(ForecastOut, "The newest levels that did not last.", many=True)
