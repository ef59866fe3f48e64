"""Telling the customer: a notice to begin with, what went out, and what was answered."""

from __future__ import annotations

from typing import Any

from flask import Response as Answer
from flask import flash, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.money import notices as domain
from inventory.domain.money.notice_draft import draft_notice
from inventory.domain.money.notice_records import NoticeLine
from inventory.pages import pages
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MoneyField
from inventory.pages.forms import CheckboxField, DateField, Form, IdField, TextField, load_form, load_texts
from inventory.web.access import current_person, require_role

FREE_LINES = 2  # for what is not among the job's needs


class NoticeForm(Form):
    """What the customer is told."""

    found = TextField(needed="Say what you found, in words that the customer understands.")
    work = MoneyField()
    ready = DateField()
    unsafe = CheckboxField()
    wait = CheckboxField()


class NoticeLineForm(Form):
    """One line of what it takes."""

    words = TextField()
    price = MoneyField()
    out = CheckboxField()


class NoticeAnswerForm(Form):
    """What the customer answered."""

    answer = TextField(needed="Choose what the customer said.")
    remark = TextField()
    drop_needs = CheckboxField()
    version = IdField()


def _line_numbers(drafted: int) -> range:
    """Return the places of the lines to show: those of the draft, or as many as were typed, and some free ones."""
    filled = sum(name.startswith("words-") for name in request.form)
    return range(min(domain.MAX_LINES, filled or drafted + FREE_LINES))


@pages.get("/jobs/<int:key>/notice")
@require_role("tech")
def new_notice(key: int) -> str:
    """Begin what a customer is told."""
    draft = draft_notice(key)
    return render_template(
        "money/notice_new.html",
        draft=draft,
        job=draft.job,
        lines=_line_numbers(len(draft.lines)),
        before=domain.notices(key),
    )


@pages.post("/jobs/<int:key>/notice")
@form_action(new_notice)
def add_notice(key: int) -> Response:
    """Keep what the customer is told, to be sent from its page."""
    data = load_form(NoticeForm)
    record = domain.record_notice(
        key, found=data["found"], lines=_notice_lines(), work_minor=data["work"] or 0, ready=data["ready"],
        unsafe=data["unsafe"], wait=data["wait"], bench=settings().bench_name, currency=settings().currency,
        by=current_person().id,
    )  # fmt: skip
    return redirect_to("notice", record.id)


def _notice_lines() -> list[NoticeLine]:
    """Return the lines as typed, without those left out or blank; raise Invalid naming what is off."""
    lines: list[NoticeLine] = []
    errors: dict[str, Any] = {}
    for place in range(domain.MAX_LINES):
        texts = {name: request.form.get(f"{name}-{place}", "") for name in ("words", "price")}
        if f"out-{place}" in request.form or not any(texts.values()):
            continue
        try:
            data = load_texts(NoticeLineForm, texts, f"-{place}")
        except Invalid as bad:
            errors |= bad.errors
            continue
        if not data["words"]:
            errors[f"words-{place}"] = ["Say what this sum is for."]
        lines.append(NoticeLine(data["words"], data["price"]))
    if errors:
        raise Invalid(next(iter(errors.values()))[0], errors=errors)
    return lines


@pages.get("/notices/<int:key>")
def notice(key: int) -> str:
    """Show what a customer was told, and what came back."""
    notice_record = domain.notice(key)
    return render_template("money/notice.html", notice=notice_record, waits=domain.WAITING_FOR_ANSWER)


@pages.get("/notices/<int:key>.txt")
def notice_text(key: int) -> Answer:
    """Give a notice word for word, to be sent."""
    return Answer(domain.notice(key).text, content_type="text/plain; charset=utf-8")


@pages.post("/notices/<int:key>/answer")
@form_action(notice)
def answer_notice(key: int) -> Response:
    """Note what the customer answered."""
    data = load_form(NoticeAnswerForm)
    record = domain.record_answer(
        key, data["answer"], remark=data["remark"], drop_needs=data["drop_needs"], version=data["version"],
        by=current_person().id,
    )  # fmt: skip
    flash(f"The customer {record.answer}: job {record.job_number} goes on.", "good")
    return redirect_to("job", record.job_id)
