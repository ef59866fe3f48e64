"""Bins: what is in one, taking from it in one tap, and putting a blank label to use."""

from __future__ import annotations

from typing import Any

from flask import flash, g, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.catalogue import bins
from inventory.pages import pages
from inventory.pages.catalogue import bin_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Form, JobOrBench, Key, Text, Tick, Whole, read_form
from inventory.web.access import caller


class Take(Form):
    """What the button of a bin sends."""

    amount = Text(needed="Say how many to take.")
    part = Key()
    lot = Key()
    job = JobOrBench()
    in_hand = Tick()
    reason = Text()
    one_off = Tick()
    past_date = Tick()


class PutToUse(Form):
    """What a blank label is to be."""

    name = Text(needed="Give the bin a name, such as A-14.")
    what = Text()
    part = Text()
    note = Text()
    version = Key()


class Edit(Form):
    """What is noted of a bin."""

    name = Text(needed="Give the bin a name, such as A-14.")
    note = Text()
    walk = Whole()
    mixed = Tick()
    retired = Tick()
    version = Key()


class Want(Form):
    """What a job should get, when the bin has too little."""

    job = Key(required=True)
    part = Key(required=True)
    amount = Whole(load_default=1)


def _show(key: int) -> str:
    desk = bin_screen.at_bin(key, _short_of())
    if desk.look.bin.name is None:
        return render_template("catalogue/bin_blank.html", desk=desk, bin=desk.look.bin)
    return render_template("catalogue/bin.html", desk=desk, look=desk.look, bin=desk.look.bin)


def _short_of() -> int | None:
    """Return the part that a refused take wanted more of than there is (0: the only one here)."""
    if getattr(g.get("refused"), "reason", "") != "not_enough":
        return None
    typed = request.form.get("part", "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else 0


@pages.get("/bins/<int:key>")
def bin(key: int) -> str:  # noqa: A001 - one word runs along the chain
    """Show a bin, or ask what goes in when its label is blank."""
    return _show(key)


@pages.post("/bins/<int:key>/take")
@acts(_show)
def take(key: int) -> Response:
    """Take some of what is in a bin for a job, or for the bench itself."""
    done = bin_screen.take(key, by=caller().id, **_taking(read_form(Take)))
    for warning in done.warnings:
        flash(warning, "warn")
    return to_thing("bin", key, done.entry)


def _taking(typed: dict[str, Any]) -> dict[str, Any]:
    return {
        "amount": typed["amount"], "part_id": typed["part"], "lot_id": typed["lot"], "job_id": typed["job"],
        "take_in_hand": typed["in_hand"], "reason": typed["reason"], "one_off": typed["one_off"],
        "past_date_ok": typed["past_date"],
    }  # fmt: skip


@pages.post("/bins/<int:key>/want")
@acts(_show)
def want(key: int) -> Response:
    """Note that a job wants what the bin did not have."""
    typed = read_form(Want)
    need = bin_screen.want_more(typed["job"], typed["part"], typed["amount"])
    flash(f"Noted: the job still wants {need.missing} of {need.part.name}.", "good")
    return to_thing("job", typed["job"])


@pages.post("/bins/<int:key>/use")
@acts(_show)
def put_to_use(key: int) -> Response:
    """Give a blank label its name and say what goes in."""
    typed = read_form(PutToUse)
    made = bin_screen.put_to_use(
        key, typed["name"], part=typed["part"] if typed["what"] == "part" else None, mixed=typed["what"] == "mixed",
        note=typed["note"], version=typed["version"],
    )  # fmt: skip
    flash(f"Bin {made.name} is in use.", "good")
    return to_thing("bin", key)


@pages.post("/bins/<int:key>/edit")
@acts(_show)
def edit_bin(key: int) -> Response:
    """Change what is noted of a bin."""
    typed = read_form(Edit)
    changed = bins.edit_bin(
        key, typed["version"], name=typed["name"], note=typed["note"], walk=typed["walk"] or 0,
        retired=typed["retired"], **({"mixed": True, "part_id": None} if typed["mixed"] else {"mixed": False}),
    )  # fmt: skip
    flash(f"Bin {changed.name} is changed.", "good")
    return to_thing("bin", key)
