"""Alerts, the messages about them, and promises held against what happened."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.pagination import PageQuery
from inventory.api.record_schemas import response_schema
from inventory.api.schema import BodySchema, ResponseSchema
from inventory.domain.alerts.alert_records import (
    ALERT_KINDS,
    ALERT_STATES,
    MESSAGE_STATES,
    AlertMessageRecord,
    AlertRecord,
)
from inventory.domain.reorder.forecast_report import (
    VERDICTS,
    ForecastRecord,
    ForecastReport,
    LevelCalibration,
    RiskCalibration,
)

AlertOut = response_schema(AlertRecord, "state")


class AlertsQuery(PageQuery):
    """Which alerts to list."""

    state = fields.Text("In this state; left out: all that last.", choices=ALERT_STATES)
    kind = fields.Text("Of this kind.", choices=tuple(ALERT_KINDS))


class PostponeIn(BodySchema):
    """Until when an alert is postponed."""

    until = fields.Date("The day on which it is told again, a year ahead at most.", required=True)


AlertMessageOut = response_schema(AlertMessageRecord)


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


LevelScoreOut = response_schema(
    LevelCalibration,
    "achieved",
    name="LevelScoreOut",
    tally=fields.Nested(ForecastTallyOut, "A miss is a level that did not last."),
)
RiskBandOut = response_schema(
    RiskCalibration, name="RiskBandOut", tally=fields.Nested(ForecastTallyOut, "A miss is a part that ran dry.")
)
ForecastOut = response_schema(ForecastRecord, "level_lasted", "kept")


class ForecastsQuery(PageQuery):
    """Which remembered advice to list."""

    part_id = fields.QueryId("Of this part.")
    scored = fields.QueryBoolean("Held against what happened, or not yet.")


ForecastReportOut = response_schema(ForecastReport)
