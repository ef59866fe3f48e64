"""Moving what is in a bin, scrapping it, counting it, giving one unit its own label; and the walk past all bins."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins as domain
from inventory.domain.common.validation import parse_id
from inventory.pages import pages
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.forms import CheckboxField, Form, IntegerField, TextField, fields_by_id, load_form, load_query
from inventory.pages.movements import adjustments_screen
from inventory.web.access import current_person, require_role

COUNTED_PREFIX, BOOKED_PREFIX = (
    "lot-",
    "seen-",
)  # the fields of a count: lot-3 is what was counted, seen-3 what the book said


class MoveForm(Form):
    """What goes where."""

    what = TextField()
    amount = TextField()
    to = TextField(needed="Scan the bin it should go to, or type its name.")
    reason = TextField()


class ScrapForm(Form):
    """What is thrown away, and why."""

    what = TextField()
    amount = TextField()
    reason = TextField(needed="Say why it is thrown away, such as bent pins.")


class SingleOutForm(Form):
    """The unit that gets its own label."""

    what = TextField()
    name = TextField()
    serial = TextField()
    spare = CheckboxField()
    note = TextField()


class CountReasonForm(Form):
    """What to note beside a count."""

    reason = TextField()


class NewBinForm(Form):
    """A bin to be added."""

    name = TextField(needed="Give the bin a name, such as A-14.")
    walk = IntegerField()
    mixed = CheckboxField()


class BinFilter(Form):
    """In which order bins are listed, which of them, and after how many."""

    by = TextField()
    find = TextField()
    skip = IntegerField()


def chosen_item() -> str:
    """Return what in the bin is meant when the page is opened from a lot or a piece."""
    for what in ("lot", "piece"):
        if parse_id(request.args.get(what, "")) is not None:
            return f"{what} {request.args[what]}"
    return ""


def _render_move(key: int) -> str:
    return render_template("movements/move.html", at=adjustments_screen.shelf_screen(key), chosen=chosen_item())


@pages.get("/bins/<int:key>/move")
@require_role("tech")
def move_form(key: int) -> str:
    """Ask what of a bin goes where."""
    return _render_move(key)


@pages.post("/bins/<int:key>/move")
@form_action(_render_move)
def move_stock(key: int) -> Response:
    """Move something from a bin into another."""
    typed = load_form(MoveForm)
    done = adjustments_screen.move_from_form(
        key, typed["what"], typed["amount"], typed["to"], by=current_person().id, reason=typed["reason"]
    )  # fmt: skip
    return redirect_to("bin", done.bin_id or key, done.entry)


def _render_scrap(key: int) -> str:
    return render_template("movements/scrap.html", at=adjustments_screen.shelf_screen(key), chosen=chosen_item())


@pages.get("/bins/<int:key>/scrap")
@require_role("tech")
def scrap_form(key: int) -> str:
    """Ask what of a bin is thrown away, and why."""
    return _render_scrap(key)


@pages.post("/bins/<int:key>/scrap")
@form_action(_render_scrap)
def scrap_stock(key: int) -> Response:
    """Throw something away."""
    typed = load_form(ScrapForm)
    done = adjustments_screen.scrap_from_form(
        key, typed["what"], typed["amount"], typed["reason"], by=current_person().id
    )
    return redirect_to("bin", key, done.entry)


def _render_single_out(key: int) -> str:
    return render_template(
        "movements/single_out.html", at=adjustments_screen.shelf_screen(key, pieces=False), chosen=chosen_item()
    )


@pages.get("/bins/<int:key>/single-out")
@require_role("tech")
def single_out_form(key: int) -> str:
    """Ask which unit gets a label of its own."""
    return _render_single_out(key)


@pages.post("/bins/<int:key>/single-out")
@form_action(_render_single_out)
def single_out(key: int) -> Response:
    """Make one unit a piece with its own label."""
    typed = load_form(SingleOutForm)
    done = adjustments_screen.single_out_from_form(
        key, typed["what"], by=current_person().id, name=typed["name"], serial=typed["serial"], spare=typed["spare"],
        note=typed["note"],
    )  # fmt: skip
    flash("It is a piece of its own now: print its label and stick it on.", "good")
    return redirect(url_for("pages.labels", piece=done.piece_ids[0], done=done.entry), 303)


def _render_count(key: int) -> str:
    return render_template("movements/count.html", at=adjustments_screen.bin_count_screen(key))


@pages.get("/bins/<int:key>/count")
@require_role("tech")
def count_form(key: int) -> str:
    """Ask how many are in a bin."""
    return _render_count(key)


@pages.post("/bins/<int:key>/count")
@form_action(_render_count)
def record_count(key: int) -> Response:
    """Note what was counted."""
    done = adjustments_screen.count_from_form(
        key, _counts_by_lot(), by=current_person().id, reason=load_form(CountReasonForm)["reason"]
    )
    for one in done:
        flash(one.sentence, "warn" if one.quantity else "good")
    onward = parse_id(request.form.get("onward", ""))
    return redirect_to("bin", key) if onward is None else redirect(url_for("pages.count_form", key=onward), 303)


def _counts_by_lot() -> dict[int, tuple[str, int | None]]:
    """Return by lot what was typed, and what the book said when the page was made."""
    booked = fields_by_id(BOOKED_PREFIX)
    return {lot: (text, parse_id(booked.get(lot, ""))) for lot, text in fields_by_id(COUNTED_PREFIX).items()}


def _render_bins() -> str:
    asked = load_query(BinFilter)
    found = adjustments_screen.bin_list(
        longest_uncounted_first=asked["by"] == "count", find=asked["find"], skip=asked["skip"] or 0
    )
    return render_template("catalogue/bin_list.html", found=found, by=asked["by"], find=asked["find"])


@pages.get("/bins")
def bins() -> str:
    """List bins in the order of the walk, or those whose count is oldest first."""
    return _render_bins()


@pages.post("/bins")
@form_action(_render_bins)
def add_bin() -> Response:
    """Add a bin."""
    typed = load_form(NewBinForm)
    made = domain.add_bin(typed["name"], walk=typed["walk"] or 0, mixed=typed["mixed"])
    flash(f"Bin {made.name} is added: print its label.", "good")
    return redirect_to("bin", made.id)
