"""Recalls: the jobs that a lot on hold reached, to be worked through; lots that may be no better."""

from __future__ import annotations

from flask import Response as Answer
from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.quality import recall as stock
from inventory.domain.quality.sent_back import CAUSES
from inventory.pages import pages
from inventory.pages.catalogue import lot_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Form, Key, Keys, Text, Tick, read_form
from inventory.web.access import caller


class SeeTo(Form):
    """A job that is ticked off, or put back on the list."""

    job = Key(required=True, allow_none=False)
    note = Text()
    undo = Tick()


class ScrapRest(Form):
    """How a recall ended."""

    outcome = Text(needed="Say what became of it, such as: all scrapped, supplier credits 12.50.")


class Spread(Form):
    """Lots that are held as well."""

    lots = Keys()


def show_recall(key: int) -> str:
    """Render the list of a recall."""
    at = lot_screen.at_recall(key)
    return render_template(
        "quality/recall.html", at=at, recall=at.recall, lot=at.recall.lot, part=at.recall.part, causes=CAUSES
    )  # fmt: skip


@pages.get("/lots/<int:key>/recall")
def recall(key: int) -> str:
    """Show the jobs that a lot reached, those still at the bench first."""
    return show_recall(key)


@pages.post("/lots/<int:key>/recall")
@acts(show_recall)
def see_to(key: int) -> Response:
    """Tick a job off the list, or put it back on."""
    typed = read_form(SeeTo)
    stock.see_to(key, typed["job"], note=typed["note"], done=not typed["undo"], by=caller().id)
    return redirect(url_for("pages.recall", key=key, _anchor=f"job-{typed['job']}"), 303)


@pages.post("/lots/<int:key>/scrap-rest")
@acts(show_recall)
def scrap_rest(key: int) -> Response:
    """Scrap what is left of a lot on hold, which ends the hold."""
    done = stock.scrap_rest(key, read_form(ScrapRest)["outcome"], by=caller().id)
    flash("The hold is ended. What comes back of this lot stays on hold by itself.", "good")
    return to_thing("lot", key, None if done is None else done.entry)


@pages.post("/lots/<int:key>/hold-alike")
@acts(show_recall)
def hold_alike(key: int) -> Response:
    """Put lots with the same marks on hold as well."""
    made = stock.hold_alike(key, read_form(Spread)["lots"], by=caller().id)
    flash(f"{len(made)} more {'lot is' if len(made) == 1 else 'lots are'} on hold.", "warn")
    return redirect(url_for("pages.recall", key=key, _anchor="alike"), 303)


@pages.get("/lots/<int:key>/recall.csv")
def recall_csv(key: int) -> Answer:
    """Send the list of a recall for a spreadsheet."""
    name = f"recall-lot-{stock.recall(key).lot.code}.csv"
    return Answer(
        stock.recall_csv(key), content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip
