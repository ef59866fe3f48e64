"""Count walks: which bins to count first, one bin after the other on the phone, differences reviewed, then booked."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.stocktake import count_walks as stock
from inventory.domain.stocktake.count_review import book, count_again, end_walk
from inventory.pages import pages
from inventory.pages.form_actions import acts
from inventory.pages.forms import Form, Key, Keys, Text, read_form
from inventory.pages.stocktake import counting_screen
from inventory.web.access import caller, for_role

LOT = "lot-"  # the fields of a count: lot-3 is what was counted of lot 3


class Start(Form):
    """The bins of a walk, and whether the book is shown."""

    bins = Keys()
    show = Text()


class Line(Form):
    """The end of the ledger when the page was made, and the pieces that were asked for and seen."""

    line = Key(required=True, allow_none=False)
    asked = Keys()
    seen = Keys()


class Book(Form):
    """The bins whose differences are booked."""

    bins = Keys()
    reason = Text()


def _front() -> str:
    return render_template("stocktake/counting.html", at=counting_screen.at_counting())


@pages.get("/counting")
def counting() -> str:
    """Show the walks under way, and which bins to count first."""
    return _front()


@pages.post("/counting")
@acts(_front)
def start_walk() -> Response:
    """Begin a walk past the ticked bins, or past all."""
    typed = read_form(Start)
    everything = request.form.get("which") == "all"
    made = stock.start_walk(None if everything else typed["bins"], blind=typed["show"] != "book", by=caller().id)
    return redirect(url_for("pages.count_walk", key=made.id), 303)


def _walk(key: int) -> str:
    return render_template("stocktake/count_walk.html", at=counting_screen.at_walk(key))


@pages.get("/counting/<int:key>")
def count_walk(key: int) -> str:
    """Show how far a walk is, and the differences to be reviewed."""
    return _walk(key)


@pages.post("/counting/<int:key>/next")
@acts(_walk)
def next_bin(key: int) -> Response:
    """Go on to the next bin."""
    return _onward(key)


def _onward(key: int) -> Response:
    found = stock.next_bin(key, by=caller().id)
    if found is None:
        return redirect(url_for("pages.count_walk", key=key), 303)
    return redirect(url_for("pages.count_in_walk", key=key, place=found.bin.id), 303)


def _bin(key: int, place: int) -> str:
    return render_template("stocktake/count_bin.html", at=stock.to_count(key, place))


@pages.get("/counting/<int:key>/bins/<int:place>")
@for_role("tech")
def count_in_walk(key: int, place: int) -> str:
    """Ask how many are in a bin of a walk."""
    return _bin(key, place)


@pages.post("/counting/<int:key>/bins/<int:place>")
@acts(_bin)
def tally(key: int, place: int) -> Response:
    """Note what was counted, and go on to the next bin."""
    typed = read_form(Line)
    seen = {piece: piece in typed["seen"] for piece in typed["asked"]}
    done = counting_screen.tally_as_typed(key, place, _typed(), pieces=seen, line=typed["line"], by=caller().id)
    flash(f"Bin {done.bin.bin.shown_as}: {done.sentence}", "good" if done.bin.state == "booked" else "warn")
    return _onward(key)


def _typed() -> dict[int, str]:
    """Return by lot what was typed."""
    found = {}
    for name, text in request.form.items():
        number = name.removeprefix(LOT)
        if name.startswith(LOT) and number.isascii() and number.isdigit() and len(number) < 10:
            found[int(number)] = text
    return found


@pages.post("/counting/<int:key>/bins/<int:place>/leave-out")
@acts(lambda key, place: _walk(key))
def leave_out(key: int, place: int) -> Response:
    """Take a bin out of the walk."""
    gone = stock.leave_out(key, place)
    flash(f"Bin {gone.bin.shown_as} is left out of this walk.", "warn")
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/bins/<int:place>/again")
@acts(lambda key, place: _walk(key))
def again(key: int, place: int) -> Response:
    """Send a bin back to be counted once more."""
    count_again(key, place)
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/book")
@acts(_walk)
def book_differences(key: int) -> Response:
    """Book the differences of the ticked bins."""
    typed = read_form(Book)
    done = book(key, typed["bins"], reason=typed["reason"], by=caller().id)
    flash(" ".join(one.sentence for one in done) or "Tick the bins whose differences are to be booked.", "good")
    return redirect(url_for("pages.count_walk", key=key), 303)


@pages.post("/counting/<int:key>/end")
@acts(_walk)
def end_count(key: int) -> Response:
    """End a walk."""
    done = end_walk(key)
    flash(f"The walk is ended: {done.bins} bins.", "good")
    return redirect(url_for("pages.counting"), 303)
