"""Count walks: which bins to count first, one bin after the other on the phone, differences reviewed, then booked."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.stocktake import count_walks as domain
from inventory.domain.stocktake.count_review import book_bins, end_walk, request_recount
from inventory.pages import pages
from inventory.pages.form_actions import form_action
from inventory.pages.forms import Form, IdField, IdListField, TextField, fields_by_id, load_form
from inventory.pages.stocktake import counting_screen
from inventory.web.access import current_person, require_role


class StartWalkForm(Form):
    """The bins of a walk, and whether the book is shown."""

    bins = IdListField()
    show = TextField()


class WalkBinCountForm(Form):
    """The end of the ledger when the page was made, and the pieces that were asked for and seen."""

    line = IdField(required=True, allow_none=False)
    asked = IdListField()
    seen = IdListField()


class BookDifferencesForm(Form):
    """The bins whose differences are booked."""

    bins = IdListField()
    reason = TextField()


@pages.get("/counting")
def counting() -> str:
    """Show the walks under way, and which bins to count first."""
    return render_template("stocktake/counting.html", screen=counting_screen.counting_screen())


@pages.post("/counting")
@form_action(counting)
def start_walk() -> Response:
    """Begin a walk past the ticked bins, or past all."""
    data = load_form(StartWalkForm)
    everything = request.form.get("which") == "all"
    walk = domain.start_walk(
        None if everything else data["bins"], blind=data["show"] != "book", by=current_person().id
    )
    return redirect(url_for("pages.count_walk", key=walk.id), 303)


@pages.get("/counting/<int:key>")
def count_walk(key: int) -> str:
    """Show how far a walk is, and the differences to be reviewed."""
    return render_template("stocktake/count_walk.html", screen=counting_screen.walk_screen(key))


@pages.post("/counting/<int:key>/next")
@form_action(count_walk)
def next_walk_bin(key: int) -> Response:
    """Go on to the next bin."""
    return _redirect_to_next_bin(key)


def _redirect_to_next_bin(key: int) -> Response:
    walk_bin = domain.claim_next_bin(key, by=current_person().id)
    if walk_bin is None:
        return redirect(url_for("pages.count_walk", key=key), 303)
    return redirect(url_for("pages.count_walk_bin", key=key, place=walk_bin.bin.id), 303)


@pages.get("/counting/<int:key>/bins/<int:place>")
@require_role("tech")
def count_walk_bin(key: int, place: int) -> str:
    """Ask how many are in a bin of a walk."""
    return render_template("stocktake/count_bin.html", screen=domain.bin_to_count(key, place))


@pages.post("/counting/<int:key>/bins/<int:place>")
@form_action(count_walk_bin)
def enter_walk_count(key: int, place: int) -> Response:
    """Note what was counted, and go on to the next bin."""
    data = load_form(WalkBinCountForm)
    pieces = {piece: piece in data["seen"] for piece in data["asked"]}
    result = counting_screen.enter_count_from_form(
        key, place, fields_by_id("lot-"), pieces=pieces, line=data["line"], by=current_person().id
    )
    flash(f"Bin {result.bin.bin.shown_as}: {result.sentence}", "good" if result.bin.state == "booked" else "warn")
    return _redirect_to_next_bin(key)


@pages.post("/counting/<int:key>/bins/<int:place>/leave-out")
@form_action(lambda key, place: count_walk(key))
def leave_out_bin(key: int, place: int) -> Response:
    """Take a bin out of the walk."""
    walk_bin = domain.leave_out_bin(key, place)
    flash(f"Bin {walk_bin.bin.shown_as} is left out of this walk.", "warn")
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/bins/<int:place>/again")
@form_action(lambda key, place: count_walk(key))
def recount_bin(key: int, place: int) -> Response:
    """Send a bin back to be counted once more."""
    request_recount(key, place)
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/book")
@form_action(count_walk)
def book_differences(key: int) -> Response:
    """Book the differences of the ticked bins."""
    data = load_form(BookDifferencesForm)
    results = book_bins(key, data["bins"], reason=data["reason"], by=current_person().id)
    flash(
        " ".join(result.sentence for result in results) or "Tick the bins whose differences are to be booked.", "good"
    )
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/end")
@form_action(count_walk)
def finish_walk(key: int) -> Response:
    """End a walk."""
    walk = end_walk(key)
    flash(f"The walk is ended: {walk.bins} bins.", "good")
    return redirect(url_for("pages.counting"), 303)
