"""Sending stock back to its supplier, and noting what came of it."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.common.records import ActionResult
from inventory.domain.quality import sent_back as domain
from inventory.domain.quality.sent_back_records import RETURN_CAUSES, SentBackRecord
from inventory.pages import pages
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MoneyField
from inventory.pages.forms import Form, IdField, TextField, load_form
from inventory.pages.movements.adjustments import chosen_item
from inventory.pages.quality import sent_back_screen
from inventory.pages.quality.recalls import recall
from inventory.web.access import current_person, require_role


class SentBackForm(Form):
    """Why something goes back, to whom, and what is asked for it."""

    cause = TextField(needed="Say why it goes back.")
    supplier_id = IdField()
    expected_minor = MoneyField()
    reference = TextField()
    note = TextField()


class SendBackFromBinForm(Form):
    """What of a bin goes back."""

    what = TextField()
    amount = TextField()


class EditSentBackForm(Form):
    """What is corrected beside it."""

    expected_minor = MoneyField()
    reference = TextField()
    note = TextField()
    version = IdField()


class SettleForm(Form):
    """What the supplier answered."""

    got_minor = MoneyField(needed="Say what came, 0 if nothing did.")
    outcome = TextField()
    version = IdField()


@pages.get("/bins/<int:key>/send-back")
@require_role("tech")
def send_back_form(key: int) -> str:
    """Ask what of a bin goes back to its supplier, and why."""
    screen = sent_back_screen.send_back_screen(key)
    return render_template(
        "quality/send_back.html",
        screen=screen.shelf,
        chosen=chosen_item(),
        suppliers=screen.suppliers,
        causes=RETURN_CAUSES,
    )


@pages.post("/bins/<int:key>/send-back")
@form_action(send_back_form)
def send_back(key: int) -> Response:
    """Send something of a bin back."""
    data = load_form(SendBackFromBinForm)
    return _redirect_after_sending(*sent_back_screen.send_back_from_form(
        key, data["what"], data["amount"], load_form(SentBackForm), by=current_person().id
    ))  # fmt: skip


@pages.post("/lots/<int:key>/send-rest-back")
@form_action(recall)
def send_rest_back(key: int) -> Response:
    """Send what is left of a lot on hold back, which ends the hold."""
    return _redirect_after_sending(*domain.send_rest_back(key, **load_form(SentBackForm), by=current_person().id))


def _redirect_after_sending(record: SentBackRecord, result: ActionResult) -> Response:
    flash(domain.describe_sent_back(record), "good")
    return redirect_to("sent back", record.id, result.entry)


# ---- what was sent ---------------------------------------------------------------------------------------


@pages.get("/sent-back")
def sent_back_list() -> str:
    """List what went back, that which waits for an answer first."""
    return render_template("quality/sent_back_list.html", screen=sent_back_screen.sent_back_screen())


@pages.get("/sent-back/<int:key>")
def sent_back(key: int) -> str:
    """Show one that went back, and what came of it."""
    return render_template("quality/sent_back.html", sent=domain.sent_back(key))


@pages.post("/sent-back/<int:key>")
@form_action(sent_back)
def edit_sent_back(key: int) -> Response:
    """Correct what is noted beside it."""
    data = load_form(EditSentBackForm)
    domain.edit_sent_back(key, data.pop("version", None), **data)
    return redirect_to("sent back", key)


@pages.post("/sent-back/<int:key>/settle")
@form_action(sent_back)
def settle_sent_back(key: int) -> Response:
    """Note what came of it."""
    domain.settle_sent_back(key, **load_form(SettleForm), by=current_person().id)
    flash("What came of it is noted.", "good")
    return redirect_to("sent back", key)
