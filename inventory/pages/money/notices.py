"""Telling the customer: a notice to begin with, what went out, and what was answered."""

from __future__ import annotations

from typing import Any

from flask import Response as Answer
from flask import flash, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.money import notices as stock
from inventory.domain.money.notice_draft import draft
from inventory.domain.money.notice_records import NoticeLine
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Money
from inventory.pages.forms import Day, Form, Key, Text, Tick, read_form, read_plain
from inventory.web.access import caller, for_role

FREE_LINES = 2  # for what is not among the job's needs


class Told(Form):
    """What the customer is told."""

    found = Text(needed="Say what you found, in words that the customer understands.")
    work = Money()
    ready = Day()
    unsafe = Tick()
    wait = Tick()


class Line(Form):
    """One line of what it takes."""

    words = Text()
    price = Money()
    out = Tick()


class Answered(Form):
    """What the customer answered."""

    answer = Text(needed="Choose what the customer said.")
    remark = Text()
    drop_needs = Tick()
    version = Key()


def _begin(key: int) -> str:
    begun = draft(key)
    return render_template(
        "money/notice_new.html", begun=begun, job=begun.job, lines=_shown(len(begun.lines)), before=stock.notices(key)
    )


def _shown(drafted: int) -> range:
    """Return the places of the lines to show: those of the draft, or as many as were typed, and some free ones."""
    typed = sum(name.startswith("words-") for name in request.form)
    return range(min(stock.MOST_LINES, typed or drafted + FREE_LINES))


@pages.get("/jobs/<int:key>/notice")
@for_role("tech")
def new_notice(key: int) -> str:
    """Begin what a customer is told."""
    return _begin(key)


@pages.post("/jobs/<int:key>/notice")
@acts(_begin)
def give_notice(key: int) -> Response:
    """Keep what the customer is told, to be sent from its page."""
    typed = read_form(Told)
    made = stock.give(
        key, found=typed["found"], lines=_lines(), work_minor=typed["work"] or 0, ready=typed["ready"],
        unsafe=typed["unsafe"], wait=typed["wait"], bench=settings().bench_name, currency=settings().currency,
        by=caller().id,
    )  # fmt: skip
    return to_thing("notice", made.id)


def _lines() -> list[NoticeLine]:
    """Return the lines as typed, without those left out or blank; raise Invalid naming what is off."""
    found: list[NoticeLine] = []
    errors: dict[str, Any] = {}
    for place in range(stock.MOST_LINES):
        given = {name: request.form.get(f"{name}-{place}", "") for name in ("words", "price")}
        if f"out-{place}" in request.form or not any(given.values()):
            continue
        try:
            typed = read_plain(Line, given, f"-{place}")
        except Invalid as bad:
            errors |= bad.errors
            continue
        if not typed["words"]:
            errors[f"words-{place}"] = ["Say what this sum is for."]
        found.append(NoticeLine(typed["words"], typed["price"]))
    if errors:
        raise Invalid(next(iter(errors.values()))[0], errors=errors)
    return found


def _show(key: int) -> str:
    one = stock.notice(key)
    return render_template("money/notice.html", one=one, waits=stock.WAITS)


@pages.get("/notices/<int:key>")
def notice(key: int) -> str:
    """Show what a customer was told, and what came back."""
    return _show(key)


@pages.get("/notices/<int:key>.txt")
def notice_text(key: int) -> Answer:
    """Give a notice word for word, to be sent."""
    return Answer(stock.notice(key).text, content_type="text/plain; charset=utf-8")


@pages.post("/notices/<int:key>/answer")
@acts(_show)
def answer_notice(key: int) -> Response:
    """Note what the customer answered."""
    typed = read_form(Answered)
    told = stock.take_answer(
        key, typed["answer"], remark=typed["remark"], drop_needs=typed["drop_needs"], version=typed["version"],
        by=caller().id,
    )  # fmt: skip
    flash(f"The customer {told.answer}: job {told.job_number} goes on.", "good")
    return to_thing("job", told.job_id)
