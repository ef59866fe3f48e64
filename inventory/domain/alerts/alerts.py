"""Alerts: what needs doing, remembered, so that it can be seen, put off, and told to people just once.

An alert lasts as long as its cause. When the cause comes back after a while, it is told anew; so it is when a time
that somebody put it off for is over. Whoever has seen one hears no more of it while it lasts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from peewee import JOIN

from inventory.domain.alerts.alert_records import ALERT_STATES, AlertRecord
from inventory.domain.alerts.alert_sources import ALERT_KINDS, AlertCandidate, alert_candidates
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
    found = {candidate.key: candidate for candidate in alert_candidates(day or gather_today())}
    known = _known_alerts(found)
    if _needs_update(known, found):
        with transaction():
            _update_alerts(_known_alerts(found), found)
        known = _known_alerts(found)
    order = {key: place for place, key in enumerate(found)}
    lasting = [one for one in known.values() if one.gone is None]
    return [_record(one) for one in sorted(lasting, key=lambda one: (not one.urgent, order.get(one.key, 0), one.id))]


def _known_alerts(found: dict[str, AlertCandidate]) -> dict[str, Any]:
    """Return the rows of alerts that last, and of those found, by key."""
    rows = list(_with_names().where(Alert.gone.is_null()))
    known = {row.key: row for row in rows}
    missing = [key for key in found if key not in known]
    for batch in batches(missing):
        known |= {row.key: row for row in _with_names().where(Alert.key << batch)}
    return known


def _needs_update(known: dict[str, Any], found: dict[str, AlertCandidate]) -> bool:
    lasting = {key for key, one in known.items() if one.gone is None}
    return lasting != set(found) or any(_changed_columns(known[key], one) for key, one in found.items())


def _update_alerts(known: dict[str, Any], found: dict[str, AlertCandidate]) -> None:
    now = clock.now()
    for key, one in known.items():
        if key not in found and one.gone is None:
            _update_alert(one, {"gone": now, "changed": now})
    for key, new in found.items():
        if key not in known:
            Alert.insert(
                **_text_columns(new),
                key=key,
                kind=new.kind,
                what=new.what,
                what_id=new.what_id,
                raised=now,
                changed=now,
            ).on_conflict_ignore().execute()
        elif changes := _changed_columns(known[key], new):
            _update_alert(known[key], changes)


def _update_alert(known: Any, changes: dict[str, Any]) -> None:
    """Change an alert, whoever else is bringing it up at this moment: they note the same."""
    Alert.update(**changes, version=Alert.version + 1).where(Alert.id == known.id).execute()


def _text_columns(found: AlertCandidate) -> dict[str, Any]:
    return {"title": found.title[:MAX_TITLE], "detail": found.detail[:MAX_DETAIL], "urgent": found.urgent}


def _changed_columns(known: Any, found: AlertCandidate) -> dict[str, Any]:
    """Return what is to be noted of a known alert: other words, that it is back, that its time put off is over."""
    now = clock.now()
    changes = {name: value for name, value in _text_columns(found).items() if getattr(known, name) != value}
    if known.gone is not None:
        changes |= {"gone": None, "changed": now}
        if now - known.gone > SAME_ALERT_WITHIN:
            changes |= {"raised": now, "telling": known.telling + 1, "acknowledged": None, "acknowledged_by": None}
            changes |= {"snoozed_until": None}
    elif known.snoozed_until is not None and known.snoozed_until <= clock.today():
        changes |= {"snoozed_until": None, "telling": known.telling + 1, "changed": now}
    return changes


# ---- what people do with them ----------------------------------------------------------------------------


def mark_alert_done(alert_id: int, version: int | None = None, *, by: int | None = None) -> AlertRecord:
    """Note that somebody has seen an alert: no more is heard of it while it lasts."""
    with transaction():
        found = _require_lasting(alert_id)
        if found.acknowledged is None:
            changes = {"acknowledged": clock.now(), "acknowledged_by": by, "snoozed_until": None}
            update_versioned(found, "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def postpone_alert(alert_id: int, until: date, version: int | None = None) -> AlertRecord:
    """Put an alert off until a day, on which it is told again if it still lasts."""
    with transaction():
        found = _require_lasting(alert_id)
        if not clock.today() < until <= clock.today() + MAX_POSTPONEMENT:
            sentence = "Put it off until a day after today, a year at most."
            raise Invalid(sentence, errors={"until": [sentence]})
        changes = {"snoozed_until": until, "acknowledged": None, "acknowledged_by": None}
        update_versioned(found, "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def reopen_alert(alert_id: int, version: int | None = None) -> AlertRecord:
    """Take back that an alert was seen or put off."""
    with transaction():
        changes = {"snoozed_until": None, "acknowledged": None, "acknowledged_by": None}
        update_versioned(_require_lasting(alert_id), "alert", version, **changes, changed=clock.now())
        return alert(alert_id)


def _require_lasting(alert_id: int) -> Any:
    found = get_row(Alert, alert_id, "alert")
    if found.gone is not None:
        raise Conflict("That is over already: there is nothing to put off.", reason="alert_gone")
    return found


# ---- reading ---------------------------------------------------------------------------------------------


def alert(alert_id: int) -> AlertRecord:
    """Return one alert."""
    get_row(Alert, alert_id, "alert")
    return _record(_with_names().where(Alert.id == alert_id).get())


def alerts(
    *, state: str | None = None, kind: str | None = None, after: str | None = None, limit: int = 50
) -> ResultPage:  # fmt: skip
    """Return alerts as they were last brought up (see ``refresh``), newest first; *state* None: all that last."""
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
    return Alert.gone.is_null() & Alert.acknowledged.is_null() & Alert.snoozed_until.is_null()


_STATE_FILTERS: dict[str, Callable[[], Any]] = {
    "open": _is_open,
    "put off": lambda: Alert.gone.is_null() & Alert.snoozed_until.is_null(False),
    "seen": lambda: Alert.gone.is_null() & Alert.acknowledged.is_null(False),
    "gone": lambda: Alert.gone.is_null(False),
}


def unsent_alerts(channel: str) -> list[AlertRecord]:
    """Return the open alerts that were not told on a channel yet, the urgent first, then by kind."""
    told = AlertDelivery.select(AlertDelivery.alert).where(
        AlertDelivery.alert == Alert.id, AlertDelivery.telling == Alert.telling, AlertDelivery.channel == channel
    )
    rows: Sequence[Any] = list(_with_names().where(_is_open(), Alert.id.not_in(told)))
    return sorted(map(_record, rows), key=lambda one: (not one.urgent, list(ALERT_KINDS).index(one.kind), one.id))


def delete_old_alerts() -> int:
    """Drop alerts that went more than a year ago; return how many."""
    last = to_micros(clock.now() - RETENTION)
    with transaction():
        execute("DELETE FROM alerts_told WHERE alert_id IN (SELECT id FROM alerts WHERE gone < ?)", last)
        return int(execute("DELETE FROM alerts WHERE gone < ?", last).rowcount)


def _with_names() -> Any:
    return Alert.select(Alert, Person).join(Person, JOIN.LEFT_OUTER)


def _record(found: Any) -> AlertRecord:
    who = found.acknowledged_by.shown_as if found.acknowledged_by_id else ""
    return from_row(AlertRecord, found, acknowledged_by=who)


def alerts_by_heading(some: Iterable[AlertRecord]) -> dict[str, list[AlertRecord]]:
    """Return alerts under the heading of their kind, in the order of a digest."""
    kinds: dict[str, list[AlertRecord]] = {kind: [] for kind in ALERT_KINDS}
    for one in some:
        kinds[one.kind].append(one)
    return {ALERT_KINDS[kind]: found for kind, found in kinds.items() if found}
