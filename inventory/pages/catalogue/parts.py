"""Parts: finding one, describing one, and everything about it on one page."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import bag_pairings
from inventory.domain.catalogue import part_list
from inventory.domain.catalogue import parts as stock
from inventory.domain.common.shop import HIGHEST_TARGET, LEAST_TARGET
from inventory.pages import pages
from inventory.pages.catalogue import part_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Lines, Percent
from inventory.pages.forms import Form, Key, Text, Tick, Whole, read_form, read_query
from inventory.pages.reorder.reorder_chart import why_chart
from inventory.web.access import caller, for_role
from shared.hazards import HAZARDS
from shared.quantities import UNITS

ATTRIBUTE = "a-"  # the fields of a form that hold trade attributes: a-pitch_mm, a-ways ...


class Narrowed(Form):
    """What the list of parts is narrowed by."""

    q = Text()
    kind = Text()
    fits = Key()
    retired = Tick()
    after = Text()


class NewFor(Form):
    """What a new part is begun with: its kind, the bin that waits for it, the job that caused it, its bag's code.

    ``name``: the words that found no part. ``origin``: it is being received, from there.
    """

    kind = Text()
    bin = Key()
    job = Key()
    bag = Text()
    name = Text()
    origin = Text()


class Describe(Form):
    """A part as somebody describes it."""

    number = Text(needed="Give the part a number, such as C-2004.")
    name = Text(needed="Give the part a name, such as 4-way wire-to-board header.")
    maker = Text()
    maker_number = Text()
    caution = Text()
    note = Text()
    level = Text()
    target = Percent(LEAST_TARGET, HIGHEST_TARGET)
    rated_matings = Whole()
    fits = Lines()


class DescribeNew(Describe):
    """A new part, with what cannot be changed once it has moved."""

    kind = Text(needed="Choose what kind of part it is.")
    kept = Text(needed="Choose how it is kept.")
    unit = Text(needed="Choose its unit.")
    bin = Key()
    job = Key()
    bag = Text()
    origin = Text()


class DescribeAgain(Describe):
    """A part that is changed."""

    kind = Text(needed="Choose what kind of part it is.")
    retired = Tick()
    version = Key()


class StandIn(Form):
    """What may be used instead, and how it differs."""

    part = Text(needed="Say which part may be used instead.")
    differs = Text(needed="Say how it differs: what fits, and what does not.")
    both = Tick()


class NotAfterAll(Form):
    """A stand-in that is none."""

    instead = Key(required=True, allow_none=False)


class Unpair(Form):
    """A number on bags that does not mean the part."""

    pairing = Key(required=True, allow_none=False)


class Lesson(Form):
    """A sentence worth seeing again."""

    text = Text()
    model = Text()


@pages.get("/parts")
def parts() -> str:
    """List parts, narrowed by words, kind and unit model."""
    asked = read_query(Narrowed)
    found = part_list.part_list(
        find=asked["q"],
        kind=asked["kind"],
        fits=asked["fits"],
        retired=asked["retired"],
        after=asked["after"] or None,
    )
    return render_template("catalogue/part_list.html", found=found, asked=asked)


def show_part(key: int) -> str:
    """Render the page of a part."""
    at = part_screen.at_part(key)
    part = at.look.part
    chart = why_chart(at.reckoning, at.over_time, at.now)
    return render_template("catalogue/part.html", at=at, look=at.look, part=part, chart=chart)


@pages.get("/parts/<int:key>")
def part(key: int) -> str:
    """Show a part: how many there are and where, what it fits, what may stand in for it."""
    return show_part(key)


def _new() -> str:
    asked = read_query(NewFor)
    form = part_screen.part_form(
        request.form.get("kind") or asked["kind"], bin_id=asked["bin"], bag_text=asked["bag"]
    )
    return render_template("catalogue/part_form.html", form=form, asked=asked, units=list(UNITS), hazards=HAZARDS)


@pages.get("/parts/new")
@for_role("tech")
def new_part() -> str:
    """Ask what kind of part it is, then for the part."""
    return _new()


@pages.post("/parts/new")
@acts(_new)
def add_part() -> Response:
    """Add a part."""
    typed = read_form(DescribeNew)
    bin_id, job_id, bag, origin = (typed.pop(name) for name in ("bin", "job", "bag", "origin"))
    made = part_screen.describe_new(typed, _attributes(), bin_id=bin_id, job_id=job_id)
    if bag or origin:
        flash(f"Part {made.number} is added: now put in {'what is in the bag' if bag else 'what there is'}.", "good")
        more = {"bag": bag or None, "bin": bin_id, "job": job_id, "origin": origin or None}
        return redirect(url_for("pages.receive", part=made.id, **more), 303)
    flash(f"Part {made.number} is added: put some in, or print the label of its bin.", "good")
    return to_thing("part", made.id)


def _attributes() -> dict[str, str]:
    return {
        name.removeprefix(ATTRIBUTE): value.strip()
        for name, value in request.form.items()
        if name.startswith(ATTRIBUTE) and value.strip()
    }


def _again(key: int) -> str:
    form = part_screen.part_form(request.form.get("kind", ""), part_id=key)
    return render_template("catalogue/part_form.html", form=form, asked={}, units=list(UNITS), hazards=HAZARDS)


@pages.get("/parts/<int:key>/edit")
@for_role("tech")
def edit_part(key: int) -> str:
    """Ask what is to be changed about a part."""
    return _again(key)


@pages.post("/parts/<int:key>/edit")
@acts(_again)
def change_part(key: int) -> Response:
    """Change a part."""
    typed: dict[str, Any] = {**read_form(DescribeAgain), "hazards": request.form.getlist("hazards")}
    changed = part_screen.describe_again(key, typed.pop("version"), typed, _attributes())
    flash(f"Part {changed.number} is changed.", "good")
    return to_thing("part", key)


@pages.post("/parts/<int:key>/stand-ins")
@acts(show_part)
def stand_in(key: int) -> Response:
    """Note what may be used instead."""
    typed = read_form(StandIn)
    instead = part_screen.stand_in(key, typed["part"], typed["differs"], both_ways=typed["both"])
    flash(f"{instead.name} may stand in.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="stand-ins"), 303)


@pages.post("/parts/<int:key>/no-stand-in")
@acts(show_part)
def no_stand_in(key: int) -> Response:
    """Note that something may not be used instead after all."""
    stock.drop_substitute(key, read_form(NotAfterAll)["instead"])
    flash("That part does not stand in any more.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="stand-ins"), 303)


@pages.post("/parts/<int:key>/not-this-number")
@acts(show_part)
def not_this_number(key: int) -> Response:
    """Forget that a number on bags means a part."""
    bag_pairings.forget(read_form(Unpair)["pairing"])
    flash("That number means nothing now: the next bag that carries it is asked about.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="bag-numbers"), 303)


@pages.post("/parts/<int:key>/lessons")
@acts(show_part)
def learn_about_part(key: int) -> Response:
    """Keep a sentence to be seen again with the part."""
    typed = read_form(Lesson)
    part_screen.learn(key, typed["text"], by=caller().id, model=typed["model"])
    flash("Noted: it shows at the bin and here from now on.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="lessons"), 303)
