"""The open alerts as an Atom feed (RFC 4287)."""

from __future__ import annotations

import uuid
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from datetime import datetime

from inventory.domain.alerts.alert_records import ALERT_KINDS, AlertRecord
from inventory.domain.alerts.alerts import refresh_alerts
from inventory.domain.common import clock
from inventory.store.fields import to_micros
from shared.urls import page_path

ATOM_NAMESPACE = "http://www.w3.org/2005/Atom"
MAX_ENTRIES = 200


def open_alerts_feed(bench: str, address: str, own_address: str) -> bytes:
    """Return the feed as XML. *address*: of the service, for links; *own_address*: of the feed itself."""
    alerts = [alert for alert in refresh_alerts() if alert.state == "open"]
    alerts.sort(key=lambda alert: (alert.changed, alert.id), reverse=True)
    return render_atom(alerts[:MAX_ENTRIES], bench, address, own_address)


def render_atom(alerts: Sequence[AlertRecord], bench: str, address: str, own_address: str) -> bytes:
    """Return alerts as an Atom feed. An entry's id changes when the alert is raised again, and only then."""
    ET.register_namespace("", ATOM_NAMESPACE)
    root = ET.Element(f"{{{ATOM_NAMESPACE}}}feed")
    _add_element(root, "id", _urn(f"{address}/alerts"))
    _add_element(root, "title", f"{bench}: what needs doing")
    _add_element(root, "updated", _rfc3339(max((alert.changed for alert in alerts), default=clock.now())))
    _add_element(_add_element(root, "author"), "name", bench)
    _add_element(root, "link", rel="self", href=own_address, type="application/atom+xml")
    _add_element(root, "link", rel="alternate", href=f"{address}/alerts", type="text/html")
    for alert in alerts:
        _add_entry(root, alert, address)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def _add_entry(root: ET.Element, alert: AlertRecord, address: str) -> None:
    entry = _add_element(root, "entry")
    _add_element(entry, "id", _urn(f"{alert.key}/{to_micros(alert.raised)}/{alert.telling}"))
    _add_element(entry, "title", alert.title)
    _add_element(entry, "published", _rfc3339(alert.raised))
    _add_element(entry, "updated", _rfc3339(alert.changed))
    page = address + page_path(alert.what, alert.what_id)
    _add_element(entry, "link", rel="alternate", href=page, type="text/html")
    _add_element(entry, "category", term=alert.kind, label=ALERT_KINDS[alert.kind])
    _add_element(entry, "summary", alert.detail or alert.title)


def _add_element(parent: ET.Element, name: str, text: str | None = None, **attributes: str) -> ET.Element:
    element = ET.SubElement(parent, f"{{{ATOM_NAMESPACE}}}{name}", attributes)
    element.text = None if text is None else "".join(c for c in text if c.isprintable() or c == "\n")
    return element


def _urn(name: str) -> str:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"benchproof:{name}").urn


def _rfc3339(time: datetime) -> str:
    return time.isoformat().replace("+00:00", "Z")
