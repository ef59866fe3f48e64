"""Moving what is in a bin, scrapping it, counting it, giving one unit its own label; and the walk past all bins."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins as stock
from inventory.pages import pages
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Form, Text, Tick, Whole, read_form, read_query
from inventory.pages.movements import adjustments_screen
from inventory.web.access import caller, for_role

COUNTED, SEEN = "lot-", "seen-"  # the fields of a count: lot-3 is what was counted, seen-3 what the book said


class Move(Form):
    """What goes where."""

    what = Text()
    amount = Text()
    to = Text(needed="Scan the bin it should go to, or type its name.")
    reason = Text()


class Scrap(Form):
    """What is thrown away, and why."""

    what = Text()
    amount = Text()
    reason = Text(needed="Say why it is thrown away, such as bent pins.")


class SingleOut(Form):
    """The unit that gets its own label."""

    what = Text()
    name = Text()
    serial = Text()
    spare = Tick()
    note = Text()


class Counted(Form):
    """What to note beside a count."""

    reason = Text()


class NewBin(Form):
    """A bin to be added."""

    name = Text(needed="Give the bin a name, such as A-14.")
    walk = Whole()
    mixed = Tick()


class Sorted(Form):
    """In which order bins are listed, which of them, and after how many."""

    by = Text()
    find = Text()
    skip = Whole()


def chosen() -> str:
    """Return what in the bin is meant when the page is opened from a lot or a piece."""
    for what in ("lot", "piece"):
        if request.args.get(what, "").isdigit():
            return f"{what} {request.args[what]}"
    return ""


def _move(key: int) -> str:
    return render_template("movements/move.html", at=adjustments_screen.at_shelf(key), chosen=chosen())


@pages.get("/bins/<int:key>/move")
@for_role("tech")
def move_from(key: int) -> str:
    """Ask what of a bin goes where."""
    return _move(key)


@pages.post("/bins/<int:key>/move")
@acts(_move)
def move_out(key: int) -> Response:
    """Move something from a bin into another."""
    typed = read_form(Move)
    done = adjustments_screen.move(
        key, typed["what"], typed["amount"], typed["to"], by=caller().id, reason=typed["reason"]
    )  # fmt: skip
    return to_thing("bin", done.bin_id or key, done.entry)


def _scrap(key: int) -> str:
    return render_template("movements/scrap.html", at=adjustments_screen.at_shelf(key), chosen=chosen())


@pages.get("/bins/<int:key>/scrap")
@for_role("tech")
def scrap_from(key: int) -> str:
    """Ask what of a bin is thrown away, and why."""
    return _scrap(key)


@pages.post("/bins/<int:key>/scrap")
@acts(_scrap)
def scrap_out(key: int) -> Response:
    """Throw something away."""
    typed = read_form(Scrap)
    done = adjustments_screen.scrap(key, typed["what"], typed["amount"], typed["reason"], by=caller().id)
    return to_thing("bin", key, done.entry)


def _single(key: int) -> str:
    return render_template(
        "movements/single_out.html", at=adjustments_screen.at_shelf(key, pieces=False), chosen=chosen()
    )


@pages.get("/bins/<int:key>/single-out")
@for_role("tech")
def single_out_from(key: int) -> str:
    """Ask which unit gets a label of its own."""
    return _single(key)


@pages.post("/bins/<int:key>/single-out")
@acts(_single)
def single_out(key: int) -> Response:
    """Make one unit a piece with its own label."""
    typed = read_form(SingleOut)
    done = adjustments_screen.single_out(
        key, typed["what"], by=caller().id, name=typed["name"], serial=typed["serial"], spare=typed["spare"],
        note=typed["note"],
    )  # fmt: skip
    flash("It is a piece of its own now: print its label and stick it on.", "good")
    return redirect(url_for("pages.labels", piece=done.piece_ids[0], done=done.entry), 303)


def _count(key: int) -> str:
    return render_template("movements/count.html", at=adjustments_screen.at_count(key))


@pages.get("/bins/<int:key>/count")
@for_role("tech")
def count_bin(key: int) -> str:
    """Ask how many are in a bin."""
    return _count(key)


@pages.post("/bins/<int:key>/count")
@acts(_count)
def count_now(key: int) -> Response:
    """Note what was counted."""
    done = adjustments_screen.count(key, _typed_counts(), by=caller().id, reason=read_form(Counted)["reason"])
    for one in done:
        flash(one.sentence, "warn" if one.quantity else "good")
    if request.form.get("onward", "").isdigit():
        return redirect(url_for("pages.count_bin", key=int(request.form["onward"])), 303)
    return to_thing("bin", key)


def _typed_counts() -> dict[int, tuple[str, int | None]]:
    """Return by lot what was typed, and what the book said when the page was made."""
    found: dict[int, tuple[str, int | None]] = {}
    for name, text in request.form.items():
        number = name.removeprefix(COUNTED)
        if name.startswith(COUNTED) and number.isascii() and number.isdigit() and len(number) < 10:
            seen = request.form.get(f"{SEEN}{number}", "")
            found[int(number)] = (text, int(seen) if seen.isascii() and seen.isdigit() else None)
    return found


def _bins() -> str:
    asked = read_query(Sorted)
    found = adjustments_screen.bin_list(
        longest_uncounted_first=asked["by"] == "count", find=asked["find"], skip=asked["skip"] or 0
    )
    return render_template("catalogue/bin_list.html", found=found, by=asked["by"], find=asked["find"])


@pages.get("/bins")
def bins() -> str:
    """List bins in the order of the walk, or those whose count is oldest first."""
    return _bins()


@pages.post("/bins")
@acts(_bins)
def add_bin() -> Response:
    """Add a bin."""
    typed = read_form(NewBin)
    made = stock.add_bin(typed["name"], walk=typed["walk"] or 0, mixed=typed["mixed"])
    flash(f"Bin {made.name} is added: print its label.", "good")
    return to_thing("bin", made.id)
