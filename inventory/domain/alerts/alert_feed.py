"""The open alerts as an Atom feed (RFC 4287)."""

from __future__ import annotations

import uuid
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from datetime import datetime

from inventory.domain.alerts.alert_records import AlertRecord
from inventory.domain.alerts.alert_sources import KINDS
from inventory.domain.alerts.alerts import refresh
from inventory.domain.common import clock
from inventory.store.fields import to_micros
from shared.urls import page_path

ATOM = "http://www.w3.org/2005/Atom"
MOST = 200


def feed(bench: str, address: str, own_address: str) -> bytes:
    """Return the feed as XML. *address*: of the service, for links; *own_address*: where the feed was asked for."""
    some = [one for one in refresh() if one.state == "open"]
    some.sort(key=lambda one: (one.changed, one.id), reverse=True)
    return as_atom(some[:MOST], bench, address, own_address)


def as_atom(some: Sequence[AlertRecord], bench: str, address: str, own_address: str) -> bytes:
    """Write alerts as an Atom feed. An entry's id changes when the alert is told anew, and never else."""
    ET.register_namespace("", ATOM)
    root = ET.Element(f"{{{ATOM}}}feed")
    _put(root, "id", _urn(f"{address}/alerts"))
    _put(root, "title", f"{bench}: what needs doing")
    _put(root, "updated", _moment(max((one.changed for one in some), default=clock.now())))
    _put(_put(root, "author"), "name", bench)
    _put(root, "link", rel="self", href=own_address, type="application/atom+xml")
    _put(root, "link", rel="alternate", href=f"{address}/alerts", type="text/html")
    for one in some:
        _entry(root, one, address)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))


def _entry(root: ET.Element, one: AlertRecord, address: str) -> None:
    entry = _put(root, "entry")
    _put(entry, "id", _urn(f"{one.key}/{to_micros(one.raised)}/{one.telling}"))
    _put(entry, "title", one.title)
    _put(entry, "published", _moment(one.raised))
    _put(entry, "updated", _moment(one.changed))
    _put(entry, "link", rel="alternate", href=address + page_path(one.what, one.what_id), type="text/html")
    _put(entry, "category", term=one.kind, label=KINDS[one.kind])
    _put(entry, "summary", one.detail or one.title)


def _put(parent: ET.Element, name: str, text: str | None = None, **attributes: str) -> ET.Element:
    made = ET.SubElement(parent, f"{{{ATOM}}}{name}", attributes)
    made.text = None if text is None else "".join(c for c in text if c.isprintable() or c == "\n")
    return made


def _urn(about: str) -> str:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"benchproof:{about}").urn


def _moment(at: datetime) -> str:
    return at.isoformat().replace("+00:00", "Z")
