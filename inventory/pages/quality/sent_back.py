"""Sending stock back to its supplier, and noting what came of it."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.common.records import Done
from inventory.domain.quality import sent_back as stock
from inventory.domain.quality.sent_back_records import SentBackRecord
from inventory.pages import pages
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Money
from inventory.pages.forms import Form, Key, Text, read_form
from inventory.pages.movements.adjustments import chosen
from inventory.pages.quality import sent_back_screen
from inventory.pages.quality.recalls import show_recall
from inventory.web.access import caller, for_role


class GoesBack(Form):
    """Why something goes back, to whom, and what is asked for it."""

    cause = Text(needed="Say why it goes back.")
    supplier_id = Key()
    expected_minor = Money()
    reference = Text()
    note = Text()


class Send(Form):
    """What of a bin goes back."""

    what = Text()
    amount = Text()


class Noted(Form):
    """What is corrected beside it."""

    expected_minor = Money()
    reference = Text()
    note = Text()
    version = Key()


class Answer(Form):
    """What the supplier answered."""

    got_minor = Money(needed="Say what came, 0 if nothing did.")
    outcome = Text()
    version = Key()


def _choose(key: int) -> str:
    at = sent_back_screen.at_sending(key)
    return render_template(
        "quality/send_back.html", at=at.shelf, chosen=chosen(), to=at.suppliers, causes=stock.CAUSES
    )


@pages.get("/bins/<int:key>/send-back")
@for_role("tech")
def send_back_from(key: int) -> str:
    """Ask what of a bin goes back to its supplier, and why."""
    return _choose(key)


@pages.post("/bins/<int:key>/send-back")
@acts(_choose)
def send_back(key: int) -> Response:
    """Send something of a bin back."""
    typed = read_form(Send)
    return _sent(*sent_back_screen.send_back(
        key, typed["what"], typed["amount"], read_form(GoesBack), by=caller().id
    ))  # fmt: skip


@pages.post("/lots/<int:key>/send-rest-back")
@acts(show_recall)
def send_rest_back(key: int) -> Response:
    """Send what is left of a lot on hold back, which ends the hold."""
    return _sent(*stock.send_rest_back(key, **read_form(GoesBack), by=caller().id))


def _sent(found: SentBackRecord, done: Done) -> Response:
    flash(stock.said(found), "good")
    return to_thing("sent back", found.id, done.entry)


# ---- what was sent ---------------------------------------------------------------------------------------


@pages.get("/sent-back")
def all_sent_back() -> str:
    """List what went back, that which waits for an answer first."""
    return render_template("quality/sent_back_list.html", at=sent_back_screen.at_sent_back())


def _show(key: int) -> str:
    return render_template("quality/sent_back.html", one=stock.sent_back(key))


@pages.get("/sent-back/<int:key>")
def sent_back(key: int) -> str:
    """Show one that went back, and what came of it."""
    return _show(key)


@pages.post("/sent-back/<int:key>")
@acts(_show)
def edit_sent_back(key: int) -> Response:
    """Correct what is noted beside it."""
    typed = read_form(Noted)
    stock.edit_sent_back(key, typed.pop("version", None), **typed)
    return to_thing("sent back", key)


@pages.post("/sent-back/<int:key>/settle")
@acts(_show)
def settle(key: int) -> Response:
    """Note what came of it."""
    stock.settle(key, **read_form(Answer), by=caller().id)
    flash("What came of it is noted.", "good")
    return to_thing("sent back", key)
