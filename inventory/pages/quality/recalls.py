"""Recalls: the jobs that a lot on hold reached, to be worked through; lots that may be no better."""

from __future__ import annotations

from flask import Response as Answer
from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.quality import recall as domain
from inventory.domain.quality.sent_back_records import RETURN_CAUSES
from inventory.pages import pages
from inventory.pages.catalogue import lot_screen
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.forms import CheckboxField, Form, IdField, IdListField, TextField, form_value, load_form
from inventory.web.access import current_person
from inventory.web.downloads import csv_response


class RecallJobDoneForm(Form):
    """A job that is ticked off, or put back on the list."""

    job = IdField(required=True, allow_none=False)
    note = TextField()
    undo = CheckboxField()


@pages.get("/lots/<int:key>/recall")
def recall(key: int) -> str:
    """Show the jobs that a lot reached, those still at the bench first."""
    screen = lot_screen.recall_screen(key)
    recalled = screen.recall
    return render_template(
        "quality/recall.html", screen=screen, recall=recalled, lot=recalled.lot, part=recalled.part,
        causes=RETURN_CAUSES,
    )  # fmt: skip


@pages.post("/lots/<int:key>/recall")
@form_action(recall)
def mark_recall_job_done(key: int) -> Response:
    """Tick a job off the list, or put it back on."""
    data = load_form(RecallJobDoneForm)
    domain.tick_job(key, data["job"], note=data["note"], done=not data["undo"], by=current_person().id)
    return redirect(url_for("pages.recall", key=key, _anchor=f"job-{data['job']}"), 303)


@pages.post("/lots/<int:key>/scrap-rest")
@form_action(recall)
def scrap_rest_of_lot(key: int) -> Response:
    """Scrap what is left of a lot on hold, which ends the hold."""
    result = domain.scrap_rest(
        key,
        form_value(
            "outcome", TextField(needed="Say what became of it, such as: all scrapped, supplier credits 12.50.")
        ),
        by=current_person().id,
    )
    flash("The hold is ended. What comes back of this lot stays on hold by itself.", "good")
    return redirect_to("lot", key, None if result is None else result.entry)


@pages.post("/lots/<int:key>/hold-alike")
@form_action(recall)
def hold_similar_lots(key: int) -> Response:
    """Put lots with the same marks on hold as well."""
    holds = domain.hold_similar_lots(key, form_value("lots", IdListField()), by=current_person().id)
    flash(f"{len(holds)} more {'lot is' if len(holds) == 1 else 'lots are'} on hold.", "warn")
    return redirect(url_for("pages.recall", key=key, _anchor="alike"), 303)


@pages.get("/lots/<int:key>/recall.csv")
def recall_csv(key: int) -> Answer:
    """Send the list of a recall for a spreadsheet."""
    return csv_response(domain.recall_csv(key), f"recall-lot-{domain.recall(key).lot.code}")
