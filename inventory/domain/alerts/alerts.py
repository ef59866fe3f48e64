"""Alerts: what needs doing, remembered, so that it can be seen, put off, and told to people just once.

An alert lasts as long as its cause. When the cause comes back after a while, it is told anew; so it is when a time
that somebody put it off for is over. Whoever has seen one hears no more of it while it lasts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from peewee import JOIN

from inventory.domain.alerts.alert_records import ALERT_KINDS, ALERT_STATES, AlertRecord
from inventory.domain.alerts.alert_sources import AlertCandidate, alert_candidates
from inventory.domain.alerts.today import Today, gather_today
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import get_row, update_versioned, validated_choice
from inventory.store.connection import batches, database, execute, transaction
from inventory.store.fields import to_micros
from inventory.store.tables import Alert, AlertDelivery, Person

SAME_ALERT_WITHIN = timedelta(hours=24)  # gone for less than this, it is the same alert going on
MAX_POSTPONEMENT = timedelta(days=366)
RETENTION = timedelta(days=366)
MAX_TITLE, MAX_DETAIL = 300, 2000  # characters


def refresh_alerts(day: Today | None = None) -> list[AlertRecord]:
    """Bring the alerts up to what needs doing now (*day*, if gathered already); return all that last."""
    candidates = {candidate.key: candidate for candidate in alert_candidates(day or gather_today())}
    rows = _known_alerts(candidates)
    if _needs_update(rows, candidates):
        with transaction():
            _update_alerts(_known_alerts(candidates), candidates)
        rows = _known_alerts(candidates)
    order = {key: place for place, key in enumerate(candidates)}
    lasting = [row for row in rows.values() if row.gone is None]
    return [_record(row) for row in sorted(lasting, key=lambda row: (not row.urgent, order.get(row.key, 0), row.id))]


def _known_alerts(candidates: dict[str, AlertCandidate]) -> dict[str, Any]:
    """Return the rows of alerts that last, and of those found, by key."""
    known = {row.key: row for row in _with_names().where(Alert.gone.is_null())}
    for batch in batches([key for key in candidates if key not in known]):
        known |= {row.key: row for row in _with_names().where(Alert.key << batch)}
    return known


def _needs_update(rows: dict[str, Any], candidates: dict[str, AlertCandidate]) -> bool:
    lasting = {key for key, row in rows.items() if row.gone is None}
    return lasting != set(candidates) or any(_changed_columns(rows[key], row) for key, row in candidates.items())


def _update_alerts(rows: dict[str, Any], candidates: dict[str, AlertCandidate]) -> None:
    now = clock.now()
    for key, row in rows.items():
        if key not in candidates and row.gone is None:
            _update_alert(row, {"gone": now, "changed": now})
    for key, candidate in candidates.items():
        if key not in rows:
            Alert.insert(
                **_text_columns(candidate),
                key=key,
                kind=candidate.kind,
                what=candidate.what,
                what_id=candidate.what_id,
                raised=now,
                changed=now,
            ).on_conflict_ignore().execute()
        elif changes := _changed_columns(rows[key], candidate):
            _update_alert(rows[key], changes)


def _update_alert(row: Any, changes: dict[str, Any]) -> None:
    """Change an alert, whoever else is bringing it up at this moment: they note the same."""
    Alert.update(**changes, version=Alert.version + 1).where(Alert.id == row.id).execute()


def _text_columns(candidate: AlertCandidate) -> dict[str, Any]:
    return {"title": candidate.title[:MAX_TITLE], "detail": candidate.detail[:MAX_DETAIL], "urgent": candidate.urgent}


def _changed_columns(row: Any, candidate: AlertCandidate) -> dict[str, Any]:
    """Return what is to be noted of a known alert: other words, that it is back, that its time put off is over."""
    now = clock.now()
    changes = {name: value for name, value in _text_columns(candidate).items() if getattr(row, name) != value}
    if row.gone is not None:
        changes |= {"gone": None, "changed": now}
        if now - row.gone > SAME_ALERT_WITHIN:
            changes |= {"raised": now, "telling": row.telling + 1, "done": None, "done_by": None}
            changes |= {"postponed_until": None}
    elif row.postponed_until is not None and row.postponed_until <= clock.today():
        changes |= {"postponed_until": None, "telling": row.telling + 1, "changed": now}
    return changes


# ---- what people do with them ----------------------------------------------------------------------------


def mark_alert_done(alert_id: int, version: int | None = None, *, by: int | None = None) -> AlertRecord:
    """Mark an alert as done: nothing more is sent about it while its cause lasts."""
    with transaction():
        found = _require_lasting(alert_id)
        if found.done is None:
            changes = {"done": clock.now(), "done_by": by, "postponed_until": None}
            update_versioned(found, "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def postpone_alert(alert_id: int, until: date, version: int | None = None) -> AlertRecord:
    """Postpone an alert until a day, on which it is sent again if its cause still lasts."""
    with transaction():
        row = _require_lasting(alert_id)
        if not clock.today() < until <= clock.today() + MAX_POSTPONEMENT:
            sentence = "Put it off until a day after today, a year at most."
            raise Invalid(sentence, errors={"until": [sentence]})
        changes = {"postponed_until": until, "done": None, "done_by": None}
        update_versioned(row, "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def reopen_alert(alert_id: int, version: int | None = None) -> AlertRecord:
    """Reopen an alert that was marked as done or postponed."""
    with transaction():
        changes = {"postponed_until": None, "done": None, "done_by": None}
        update_versioned(_require_lasting(alert_id), "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def _require_lasting(alert_id: int) -> Any:
    row = get_row(Alert, alert_id, "alert")
    if row.gone is not None:
        raise Conflict("That is over already: there is nothing to put off.", reason="alert_gone")
    return row


# ---- reading ---------------------------------------------------------------------------------------------


def alert(alert_id: int) -> AlertRecord:
    """Return one alert."""
    get_row(Alert, alert_id, "alert")
    return _record(_with_names().where(Alert.id == alert_id).get())


def alerts(
    *, state: str | None = None, kind: str | None = None, after: str | None = None, limit: int = 50
) -> ResultPage:  # fmt: skip
    """Return alerts as ``refresh_alerts`` left them, newest first; *state* None: all that last."""
    query = _with_names()
    if state is None:
        query = query.where(Alert.gone.is_null())
    else:
        query = query.where(_STATE_FILTERS[validated_choice(state, "state", ALERT_STATES)]())
    if kind is not None:
        query = query.where(Alert.kind == validated_choice(kind, "kind", tuple(ALERT_KINDS)))
    return paginate(query, Alert.id, after, limit, _record, descending=True)


def current_alerts(
    *, state: str | None = None, kind: str | None = None, after: str | None = None, limit: int = 50
) -> ResultPage:  # fmt: skip
    """Bring the alerts up to what needs doing now, then return them as ``alerts`` does."""
    if not database.in_transaction():
        refresh_alerts()
    return alerts(state=state, kind=kind, after=after, limit=limit)


def _is_open() -> Any:
    return Alert.gone.is_null() & Alert.done.is_null() & Alert.postponed_until.is_null()


_STATE_FILTERS: dict[str, Callable[[], Any]] = {
    "open": _is_open,
    "postponed": lambda: Alert.gone.is_null() & Alert.postponed_until.is_null(False),
    "done": lambda: Alert.gone.is_null() & Alert.done.is_null(False),
    "gone": lambda: Alert.gone.is_null(False),
}


def unsent_alerts(channel: str) -> list[AlertRecord]:
    """Return the open alerts that were not told on a channel yet, the urgent first, then by kind."""
    sent = AlertDelivery.select(AlertDelivery.alert).where(
        AlertDelivery.alert == Alert.id, AlertDelivery.telling == Alert.telling, AlertDelivery.channel == channel
    )
    rows: Sequence[Any] = list(_with_names().where(_is_open(), Alert.id.not_in(sent)))
    return sorted(
        map(_record, rows), key=lambda alert: (not alert.urgent, list(ALERT_KINDS).index(alert.kind), alert.id)
    )


def delete_old_alerts() -> int:
    """Drop alerts that went more than a year ago; return how many."""
    last = to_micros(clock.now() - RETENTION)
    with transaction():
        execute("DELETE FROM alerts_told WHERE alert_id IN (SELECT id FROM alerts WHERE gone < ?)", last)
        return int(execute("DELETE FROM alerts WHERE gone < ?", last).rowcount)


def _with_names() -> Any:
    return Alert.select(Alert, Person).join(Person, JOIN.LEFT_OUTER)


def _record(found: Any) -> AlertRecord:
    who = found.done_by.shown_as if found.done_by_id else ""
    return from_row(AlertRecord, found, done_by=who)


def alerts_by_heading(alert_records: Iterable[AlertRecord]) -> dict[str, list[AlertRecord]]:
    """Return alerts under the heading of their kind, in the order of a digest."""
    kinds: dict[str, list[AlertRecord]] = {kind: [] for kind in ALERT_KINDS}
    for alert in alert_records:
        kinds[alert.kind].append(alert)
    return {ALERT_KINDS[kind]: listed for kind, listed in kinds.items() if listed}
