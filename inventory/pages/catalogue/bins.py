"""Bins: what is in one, taking from it in one tap, and putting a blank label to use."""

from __future__ import annotations

from typing import Any

from flask import flash, g, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins
from inventory.domain.jobs import jobs
from inventory.pages import pages
from inventory.pages.catalogue import bin_screen
from inventory.pages.form_actions import flash_warnings, form_action, redirect_to
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


def _short_part_id() -> int | None:
    """Return the part that a refused take wanted more of than there is (0: the only one here)."""
    if getattr(g.get("refused"), "reason", "") != "not_enough":
        return None
    text = request.form.get("part", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


@pages.get("/bins/<int:key>")
def bin(key: int) -> str:  # noqa: A001 - one word runs along the chain
    """Show a bin, or ask what goes in when its label is blank."""
    screen = bin_screen.bin_screen(key, _short_part_id())
    if screen.overview.bin.name is None:
        return render_template("catalogue/bin_blank.html", screen=screen, bin=screen.overview.bin)
    return render_template("catalogue/bin.html", screen=screen, overview=screen.overview, bin=screen.overview.bin)


@pages.post("/bins/<int:key>/take")
@form_action(bin)
def take_from_bin(key: int) -> Response:
    """Take some of what is in a bin for a job, or for the bench itself."""
    result = bin_screen.take_from_bin(key, by=current_person().id, **_take_arguments(load_form(TakeFromBinForm)))
    flash_warnings(result.warnings)
    return redirect_to("bin", key, result.entry)


def _take_arguments(data: dict[str, Any]) -> dict[str, Any]:
    return {
        "amount": data["amount"], "part_id": data["part"], "lot_id": data["lot"], "job_id": data["job"],
        "take_in_hand": data["in_hand"], "reason": data["reason"], "one_off": data["one_off"],
        "past_date_ok": data["past_date"],
    }  # fmt: skip


@pages.post("/bins/<int:key>/want")
@form_action(bin)
def add_need_from_bin(key: int) -> Response:
    """Note that a job wants what the bin did not have."""
    data = load_form(BinNeedForm)
    need = jobs.raise_need(data["job"], data["part"], data["amount"])
    flash(f"Noted: the job still wants {need.missing} of {need.part.name}.", "good")
    return redirect_to("job", data["job"])


@pages.post("/bins/<int:key>/use")
@form_action(bin)
def set_up_blank_bin(key: int) -> Response:
    """Give a blank label its name and say what goes in."""
    data = load_form(BlankBinForm)
    record = bin_screen.assign_blank_bin(
        key, data["name"], part_text=data["part"] if data["what"] == "part" else None,
        mixed=data["what"] == "mixed", note=data["note"], version=data["version"],
    )  # fmt: skip
    flash(f"Bin {record.name} is in use.", "good")
    return redirect_to("bin", key)


@pages.post("/bins/<int:key>/edit")
@form_action(bin)
def edit_bin(key: int) -> Response:
    """Change what is noted of a bin."""
    data = load_form(BinForm)
    changed = bins.edit_bin(
        key, data["version"], name=data["name"], note=data["note"], walk=data["walk"] or 0,
        retired=data["retired"], **({"mixed": True, "part_id": None} if data["mixed"] else {"mixed": False}),
    )  # fmt: skip
    flash(f"Bin {changed.name} is changed.", "good")
    return redirect_to("bin", key)
