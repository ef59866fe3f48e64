"""Bins: what is in one, taking from it in one tap, and putting a blank label to use."""

from __future__ import annotations

from typing import Any

from flask import flash, g, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins
from inventory.domain.common.validation import parse_id
from inventory.pages import pages
from inventory.pages.catalogue import bin_screen
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.forms import CheckboxField, Form, IdField, IntegerField, JobOrBenchField, TextField, load_form
from inventory.web.access import current_person


class TakeFromBinForm(Form):
    """What the button of a bin sends."""

    amount = TextField(needed="Say how many to take.")
    part = IdField()
    lot = IdField()
    job = JobOrBenchField()
    in_hand = CheckboxField()
    reason = TextField()
    one_off = CheckboxField()
    past_date = CheckboxField()


class BlankBinForm(Form):
    """What a blank label is to be."""

    name = TextField(needed="Give the bin a name, such as A-14.")
    what = TextField()
    part = TextField()
    note = TextField()
    version = IdField()


class BinForm(Form):
    """What is noted of a bin."""

    name = TextField(needed="Give the bin a name, such as A-14.")
    note = TextField()
    walk = IntegerField()
    mixed = CheckboxField()
    retired = CheckboxField()
    version = IdField()


class BinNeedForm(Form):
    """What a job should get, when the bin has too little."""

    job = IdField(required=True)
    part = IdField(required=True)
    amount = IntegerField(load_default=1)


def _render_bin(key: int) -> str:
    desk = bin_screen.bin_screen(key, _short_part_id())
    if desk.look.bin.name is None:
        return render_template("catalogue/bin_blank.html", desk=desk, bin=desk.look.bin)
    return render_template("catalogue/bin.html", desk=desk, look=desk.look, bin=desk.look.bin)


def _short_part_id() -> int | None:
    """Return the part that a refused take wanted more of than there is (0: the only one here)."""
    if getattr(g.get("refused"), "reason", "") != "not_enough":
        return None
    return parse_id(request.form.get("part", "")) or 0


@pages.get("/bins/<int:key>")
def bin(key: int) -> str:  # noqa: A001 - one word runs along the chain
    """Show a bin, or ask what goes in when its label is blank."""
    return _render_bin(key)


@pages.post("/bins/<int:key>/take")
@form_action(_render_bin)
def take_from_bin(key: int) -> Response:
    """Take some of what is in a bin for a job, or for the bench itself."""
    done = bin_screen.take_from_bin(key, by=current_person().id, **_take_arguments(load_form(TakeFromBinForm)))
    for warning in done.warnings:
        flash(warning, "warn")
    return redirect_to("bin", key, done.entry)


def _take_arguments(typed: dict[str, Any]) -> dict[str, Any]:
    return {
        "amount": typed["amount"], "part_id": typed["part"], "lot_id": typed["lot"], "job_id": typed["job"],
        "take_in_hand": typed["in_hand"], "reason": typed["reason"], "one_off": typed["one_off"],
        "past_date_ok": typed["past_date"],
    }  # fmt: skip


@pages.post("/bins/<int:key>/want")
@form_action(_render_bin)
def add_need_from_bin(key: int) -> Response:
    """Note that a job wants what the bin did not have."""
    typed = load_form(BinNeedForm)
    need = bin_screen.raise_need(typed["job"], typed["part"], typed["amount"])
    flash(f"Noted: the job still wants {need.missing} of {need.part.name}.", "good")
    return redirect_to("job", typed["job"])


@pages.post("/bins/<int:key>/use")
@form_action(_render_bin)
def set_up_blank_bin(key: int) -> Response:
    """Give a blank label its name and say what goes in."""
    typed = load_form(BlankBinForm)
    made = bin_screen.assign_blank_bin(
        key, typed["name"], part=typed["part"] if typed["what"] == "part" else None, mixed=typed["what"] == "mixed",
        note=typed["note"], version=typed["version"],
    )  # fmt: skip
    flash(f"Bin {made.name} is in use.", "good")
    return redirect_to("bin", key)


@pages.post("/bins/<int:key>/edit")
@form_action(_render_bin)
def edit_bin(key: int) -> Response:
    """Change what is noted of a bin."""
    typed = load_form(BinForm)
    changed = bins.edit_bin(
        key, typed["version"], name=typed["name"], note=typed["note"], walk=typed["walk"] or 0,
        retired=typed["retired"], **({"mixed": True, "part_id": None} if typed["mixed"] else {"mixed": False}),
    )  # fmt: skip
    flash(f"Bin {changed.name} is changed.", "good")
    return redirect_to("bin", key)
