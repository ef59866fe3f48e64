"""Moving what is in a bin, scrapping it, counting it, giving one unit its own label; and the walk past all bins."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins as domain
from inventory.domain.common.validation import parse_id
from inventory.domain.movements import undo as undoing
from inventory.domain.movements.bin_list import bin_list
from inventory.pages import pages
from inventory.pages.form_actions import flash_warnings, form_action, redirect_to
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IntegerField,
    TextField,
    fields_by_id,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.movements import adjustments_screen
from inventory.web.access import current_person, require_role
from inventory.web.idempotency import idempotent

COUNTED_PREFIX, BOOKED_PREFIX = "lot-", "seen-"  # fields of a count: lot-3 is what was counted, seen-3 the book


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


@pages.get("/bins/<int:key>/move")
@require_role("tech")
def move_form(key: int) -> str:
    """Ask what of a bin goes where."""
    return render_template("movements/move.html", screen=adjustments_screen.shelf_screen(key), chosen=chosen_item())


@pages.post("/bins/<int:key>/move")
@form_action(move_form)
def move_stock(key: int) -> Response:
    """Move something from a bin into another."""
    data = load_form(MoveForm)
    result = adjustments_screen.move_from_form(
        key, data["what"], data["amount"], data["to"], by=current_person().id, reason=data["reason"]
    )  # fmt: skip
    return redirect_to("bin", result.bin_id or key, result.entry)


@pages.get("/bins/<int:key>/scrap")
@require_role("tech")
def scrap_form(key: int) -> str:
    """Ask what of a bin is thrown away, and why."""
    return render_template("movements/scrap.html", screen=adjustments_screen.shelf_screen(key), chosen=chosen_item())


@pages.post("/bins/<int:key>/scrap")
@form_action(scrap_form)
def scrap_stock(key: int) -> Response:
    """Throw something away."""
    data = load_form(ScrapForm)
    result = adjustments_screen.scrap_from_form(
        key, data["what"], data["amount"], data["reason"], by=current_person().id
    )
    return redirect_to("bin", key, result.entry)


@pages.get("/bins/<int:key>/single-out")
@require_role("tech")
def single_out_form(key: int) -> str:
    """Ask which unit gets a label of its own."""
    return render_template(
        "movements/single_out.html", screen=adjustments_screen.shelf_screen(key, pieces=False), chosen=chosen_item()
    )


@pages.post("/bins/<int:key>/single-out")
@form_action(single_out_form)
def single_out(key: int) -> Response:
    """Make one unit a piece with its own label."""
    data = load_form(SingleOutForm)
    result = adjustments_screen.single_out_from_form(
        key, data["what"], by=current_person().id, name=data["name"], serial=data["serial"], spare=data["spare"],
        note=data["note"],
    )  # fmt: skip
    flash("It is a piece of its own now: print its label and stick it on.", "good")
    return redirect(url_for("pages.labels", piece=result.piece_ids[0], done=result.entry), 303)


@pages.get("/bins/<int:key>/count")
@require_role("tech")
def count_form(key: int) -> str:
    """Ask how many are in a bin."""
    return render_template("movements/count.html", screen=adjustments_screen.bin_count_screen(key))


@pages.post("/bins/<int:key>/count")
@form_action(count_form)
def record_count(key: int) -> Response:
    """Note what was counted."""
    results = adjustments_screen.count_from_form(
        key, _counts_by_lot(), by=current_person().id, reason=form_value("reason", TextField())
    )
    for result in results:
        flash(result.sentence, "warn" if result.quantity else "good")
    onward = parse_id(request.form.get("onward", ""))
    return redirect_to("bin", key) if onward is None else redirect(url_for("pages.count_form", key=onward), 303)


def _counts_by_lot() -> dict[int, tuple[str, int | None]]:
    """Return by lot what was typed, and what the book said when the page was made."""
    booked = fields_by_id(BOOKED_PREFIX)
    return {lot: (text, parse_id(booked.get(lot, ""))) for lot, text in fields_by_id(COUNTED_PREFIX).items()}


@pages.get("/bins")
def bins() -> str:
    """List bins in the order of the walk, or those whose count is oldest first."""
    query = load_query(BinFilter)
    page = bin_list(longest_uncounted_first=query["by"] == "count", find=query["find"], skip=query["skip"] or 0)
    return render_template("catalogue/bin_list.html", bin_list=page, by=query["by"], find=query["find"])


@pages.post("/bins")
@form_action(bins)
def add_bin() -> Response:
    """Add a bin."""
    data = load_form(NewBinForm)
    record = domain.add_bin(data["name"], walk=data["walk"] or 0, mixed=data["mixed"])
    flash(f"Bin {record.name} is added: print its label.", "good")
    return redirect_to("bin", record.id)


@pages.post("/entries/<int:entry>/undo")
@idempotent
def undo(entry: int) -> Response:
    """Reverse an entry and go back to where it was shown."""
    result = undoing.undo(entry, by=current_person().id)
    flash(result.sentence, "good")
    flash_warnings(result.warnings)
    return redirect(_referring_page() or url_for("pages.bin", key=result.bin_id))


def _referring_page() -> str | None:
    """Return the page of ours that the request came from, without its confirmation."""
    referrer = request.referrer or ""
    return referrer.split("?")[0] if referrer.startswith(request.host_url) else None
