"""What every page shares: filters for times, money and quantities, hidden form fields, the job in hand."""

from __future__ import annotations

import hashlib
import secrets
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, g, request
from flask_wtf.csrf import generate_csrf
from markupsafe import Markup

from inventory.domain.catalogue import attributes, entry_summary
from inventory.domain.common.records import JobRecord
from inventory.domain.common.validation import parse_id
from inventory.domain.jobs import jobs
from inventory.pages.forms import FORM_NAME_FIELD, form_state
from inventory.web.access import ROLE_RANK, current_settings
from inventory.web.idempotency import KEY_FIELD
from shared.codes import format_code
from shared.hazards import HAZARDS
from shared.quantities import format_money, format_quantity
from shared.urls import page_path

settings = current_settings  # the name that pages use
STATIC_FOLDER = Path(__file__).parent / "static"


def to_local_time(moment: datetime) -> datetime:
    """Return *moment* in the bench's time zone."""
    return moment.astimezone(ZoneInfo(settings().timezone))


def when(moment: datetime | None) -> str:
    """Format a moment: "today 14:05", "yesterday 09:30", "3 Nov 2026"."""
    if moment is None:
        return ""
    here, now = to_local_time(moment), to_local_time(datetime.now(UTC))
    days = (now.date() - here.date()).days
    if days == 0:
        return f"today {here:%H:%M}"
    if days == 1:
        return f"yesterday {here:%H:%M}"
    return day(here.date()) if abs(days) > 300 else f"{here.day} {here:%b} {here:%H:%M}"


def day(value: date | datetime | None) -> str:
    """Format a day: "3 Nov 2026"."""
    if value is None:
        return ""
    shown = to_local_time(value) if isinstance(value, datetime) else value
    return f"{shown.day} {shown:%b %Y}"


def money(minor: int | None) -> str:
    """Format minor units in the bench's currency; empty when unknown."""
    return "" if minor is None else format_money(minor, settings().currency)


def percent(share: float | None) -> str:
    """Format a probability, never rounded up to certainty: "98 %", "over 99 %"."""
    if share is None:
        return ""
    if 0.995 <= share < 1:
        return "over 99 %"
    if 0 < share < 0.005:
        return "under 1 %"
    return f"{share * 100:.0f} %"


def hidden(form: str = "") -> Markup:
    """Return the hidden fields of a form that writes: against forgery, and so that a double tap acts once.

    *form* names the form, where a page has several, so that a refusal finds the one it is about.
    """
    fields = Markup('<input type="hidden" name="{}" value="{}">')
    pairs = [("csrf_token", generate_csrf()), (KEY_FIELD, secrets.token_urlsafe(16)), (FORM_NAME_FIELD, form)]
    return Markup("").join(fields.format(name, value) for name, value in pairs if value)


def job_in_hand() -> JobRecord | None:
    """Return the job that the signed-in person works on."""
    person = g.get("person")
    return jobs.job(person.job_in_hand_id) if person and person.job_in_hand_id else None


def confirmed_entry() -> entry_summary.EntrySummary | None:
    """Return what the address says was done (``?done=ENTRY``), for the band that confirms it."""
    entry = parse_id(request.args.get("done", ""), max_digits=14) if g.get("person") else None
    return None if entry is None else entry_summary.summarize_entry(entry, settings().undo_seconds)


def may(role: str) -> bool:
    """Tell whether the signed-in person has *role* or more, to show or leave out a button."""
    person = g.get("person")
    return bool(person) and ROLE_RANK[person.role] >= ROLE_RANK[role]


def thing_url(what: str, key: int, **more: Any) -> str:
    """Return the address of a thing's page, with query parameters *more*: ``thing_url("bin", 3, done=7)``."""
    query = urlencode({name: value for name, value in more.items() if value is not None})
    return f"{request.script_root}{page_path(what, key)}{query and '?'}{query}"


def _set_cache_headers(response: Response) -> Response:
    """Keep pages out of caches: going back must show the stock of now, and a form that was not sent yet.

    Static files are named with their digest, so those stay in the phone until they change.
    """
    if request.endpoint != "pages.static":
        response.headers["Cache-Control"] = "no-store"
    elif request.args.get("v") == _static_digest(str((request.view_args or {}).get("filename", ""))):
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    return response


def _add_static_version(endpoint: str, values: dict[str, Any]) -> None:
    if endpoint == "pages.static" and "v" not in values:
        values["v"] = _static_digest(values["filename"])


@lru_cache(maxsize=100)
def _static_digest(filename: str) -> str:
    file = STATIC_FOLDER / filename
    return hashlib.sha256(file.read_bytes()).hexdigest()[:8] if file.is_file() else ""


def init_app(pages: Blueprint) -> None:
    """Give the templates these helpers."""
    pages.after_request(_set_cache_headers)
    pages.app_url_defaults(_add_static_version)
    for helper in (when, day, money, percent):
        pages.add_app_template_filter(helper)
    pages.add_app_template_filter(format_quantity, "amount")
    pages.add_app_template_filter(format_code, "code")
    pages.add_app_template_filter(lambda part: attributes.attributes_text(part.kind, part.attributes), "attributes")
    pages.add_app_template_global(hidden)
    pages.add_app_template_global(may)
    pages.add_app_template_global(form_state)
    pages.add_app_template_global(thing_url)
    pages.record_once(lambda state: state.app.jinja_env.globals.update(HAZARDS=HAZARDS))
    pages.app_context_processor(
        lambda: {
            "me": g.get("person"),
            "in_hand": job_in_hand(),
            "just_done": confirmed_entry(),
            "bench": settings(),
            "refused": g.get("refused"),
        }
    )
