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
    """Return the feed as XML. *address*: of the service, for links; *own_address*: where the feed was asked for."""
    some = [alert for alert in refresh_alerts() if alert.state == "open"]
    some.sort(key=lambda one: (one.changed, one.id), reverse=True)
    return render_atom(some[:MAX_ENTRIES], bench, address, own_address)


def render_atom(some: Sequence[AlertRecord], bench: str, address: str, own_address: str) -> bytes:
    """Write alerts as an Atom feed. An entry's id changes when the alert is told anew, and never else."""
    ET.register_namespace("", ATOM_NAMESPACE)
    root = ET.Element(f"{{{ATOM_NAMESPACE}}}feed")
    _add_element(root, "id", _urn(f"{address}/alerts"))
    _add_element(root, "title", f"{bench}: what needs doing")
    _add_element(root, "updated", _rfc3339(max((one.changed for one in some), default=clock.now())))
    _add_element(_add_element(root, "author"), "name", bench)
    _add_element(root, "link", rel="self", href=own_address, type="application/atom+xml")
    _add_element(root, "link", rel="alternate", href=f"{address}/alerts", type="text/html")
    for one in some:
        _add_entry(root, one, address)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def _add_entry(root: ET.Element, one: AlertRecord, address: str) -> None:
    entry = _add_element(root, "entry")
    _add_element(entry, "id", _urn(f"{one.key}/{to_micros(one.raised)}/{one.telling}"))
    _add_element(entry, "title", one.title)
    _add_element(entry, "published", _rfc3339(one.raised))
    _add_element(entry, "updated", _rfc3339(one.changed))
    _add_element(entry, "link", rel="alternate", href=address + page_path(one.what, one.what_id), type="text/html")
    _add_element(entry, "category", term=one.kind, label=ALERT_KINDS[one.kind])
    _add_element(entry, "summary", one.detail or one.title)


def _add_element(parent: ET.Element, name: str, text: str | None = None, **attributes: str) -> ET.Element:
    made = ET.SubElement(parent, f"{{{ATOM_NAMESPACE}}}{name}", attributes)
    made.text = None if text is None else "".join(c for c in text if c.isprintable() or c == "\n")
    return made


def _urn(about: str) -> str:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"benchproof:{about}").urn


def _rfc3339(at: datetime) -> str:
    return at.isoformat().replace("+00:00", "Z")
