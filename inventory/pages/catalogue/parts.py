"""Parts: finding one, describing one, and everything about it on one page."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import bag_pairings
from inventory.domain.catalogue import part_list
from inventory.domain.catalogue import parts as domain
from inventory.domain.common.validation import MAX_TARGET, MIN_TARGET
from inventory.pages import pages
from inventory.pages.catalogue import part_screen
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import LinesField, PercentField
from inventory.pages.forms import CheckboxField, Form, IdField, IntegerField, TextField, load_form, load_query
from inventory.pages.reorder.reorder_chart import reorder_chart
from inventory.web.access import current_person, require_role
from shared.hazards import HAZARDS
from shared.quantities import UNIT_FACTORS

ATTRIBUTE_PREFIX = "a-"  # the fields of a form that hold trade attributes: a-pitch_mm, a-ways ...


class PartFilter(Form):
    """What the list of parts is narrowed by."""

    q = TextField()
    kind = TextField()
    fits = IdField()
    retired = CheckboxField()
    after = TextField()


class NewPartQuery(Form):
    """What a new part is begun with: its kind, the bin that waits for it, the job that caused it, its bag's code.

    ``name``: the words that found no part. ``origin``: it is being received, from there.
    """

    kind = TextField()
    bin = IdField()
    job = IdField()
    bag = TextField()
    name = TextField()
    origin = TextField()


class PartDetailsForm(Form):
    """A part as somebody describes it."""

    number = TextField(needed="Give the part a number, such as C-2004.")
    name = TextField(needed="Give the part a name, such as 4-way wire-to-board header.")
    maker = TextField()
    maker_number = TextField()
    caution = TextField()
    note = TextField()
    level = TextField()
    target = PercentField(MIN_TARGET, MAX_TARGET)
    rated_matings = IntegerField()
    fits = LinesField()


class NewPartForm(PartDetailsForm):
    """A new part, with what cannot be changed once it has moved."""

    kind = TextField(needed="Choose what kind of part it is.")
    kept = TextField(needed="Choose how it is kept.")
    unit = TextField(needed="Choose its unit.")
    bin = IdField()
    job = IdField()
    bag = TextField()
    origin = TextField()


class EditPartForm(PartDetailsForm):
    """A part that is changed."""

    kind = TextField(needed="Choose what kind of part it is.")
    retired = CheckboxField()
    version = IdField()


class SubstituteForm(Form):
    """What may be used instead, and how it differs."""

    part = TextField(needed="Say which part may be used instead.")
    differs = TextField(needed="Say how it differs: what fits, and what does not.")
    both = CheckboxField()


class RemoveSubstituteForm(Form):
    """A stand-in that is none."""

    instead = IdField(required=True, allow_none=False)


class RemovePairingForm(Form):
    """A number on bags that does not mean the part."""

    pairing = IdField(required=True, allow_none=False)


class PartLessonForm(Form):
    """A sentence worth seeing again."""

    text = TextField()
    model = TextField()


@pages.get("/parts")
def parts() -> str:
    """List parts, narrowed by words, kind and unit model."""
    asked = load_query(PartFilter)
    found = part_list.part_list(
        find=asked["q"],
        kind=asked["kind"],
        fits=asked["fits"],
        retired=asked["retired"],
        after=asked["after"] or None,
    )
    return render_template("catalogue/part_list.html", found=found, asked=asked)


def render_part(key: int) -> str:
    """Render the page of a part."""
    at = part_screen.part_screen(key)
    part = at.look.part
    chart = reorder_chart(at.reckoning, at.over_time, at.now)
    return render_template("catalogue/part.html", at=at, look=at.look, part=part, chart=chart)


@pages.get("/parts/<int:key>")
def part(key: int) -> str:
    """Show a part: how many there are and where, what it fits, what may stand in for it."""
    return render_part(key)


def _render_new_part() -> str:
    asked = load_query(NewPartQuery)
    form = part_screen.load_part_form(
        request.form.get("kind") or asked["kind"], bin_id=asked["bin"], bag_text=asked["bag"]
    )
    return render_template(
        "catalogue/part_form.html", form=form, asked=asked, units=list(UNIT_FACTORS), hazards=HAZARDS
    )


@pages.get("/parts/new")
@require_role("tech")
def new_part() -> str:
    """Ask what kind of part it is, then for the part."""
    return _render_new_part()


@pages.post("/parts/new")
@form_action(_render_new_part)
def add_part() -> Response:
    """Add a part."""
    typed = load_form(NewPartForm)
    bin_id, job_id, bag, origin = (typed.pop(name) for name in ("bin", "job", "bag", "origin"))
    made = part_screen.add_part_from_form(typed, _attribute_values(), bin_id=bin_id, job_id=job_id)
    if bag or origin:
        flash(f"Part {made.number} is added: now put in {'what is in the bag' if bag else 'what there is'}.", "good")
        more = {"bag": bag or None, "bin": bin_id, "job": job_id, "origin": origin or None}
        return redirect(url_for("pages.receive", part=made.id, **more), 303)
    flash(f"Part {made.number} is added: put some in, or print the label of its bin.", "good")
    return redirect_to("part", made.id)


def _attribute_values() -> dict[str, str]:
    return {
        name.removeprefix(ATTRIBUTE_PREFIX): value.strip()
        for name, value in request.form.items()
        if name.startswith(ATTRIBUTE_PREFIX) and value.strip()
    }


def _render_edit_part(key: int) -> str:
    form = part_screen.load_part_form(request.form.get("kind", ""), part_id=key)
    return render_template("catalogue/part_form.html", form=form, asked={}, units=list(UNIT_FACTORS), hazards=HAZARDS)


@pages.get("/parts/<int:key>/edit")
@require_role("tech")
def edit_part(key: int) -> str:
    """Ask what is to be changed about a part."""
    return _render_edit_part(key)


@pages.post("/parts/<int:key>/edit")
@form_action(_render_edit_part)
def change_part(key: int) -> Response:
    """Change a part."""
    typed: dict[str, Any] = {**load_form(EditPartForm), "hazards": request.form.getlist("hazards")}
    changed = part_screen.edit_part_from_form(key, typed.pop("version"), typed, _attribute_values())
    flash(f"Part {changed.number} is changed.", "good")
    return redirect_to("part", key)


@pages.post("/parts/<int:key>/stand-ins")
@form_action(render_part)
def add_substitute(key: int) -> Response:
    """Note what may be used instead."""
    typed = load_form(SubstituteForm)
    instead = part_screen.add_substitute(key, typed["part"], typed["differs"], both_ways=typed["both"])
    flash(f"{instead.name} may stand in.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="stand-ins"), 303)


@pages.post("/parts/<int:key>/no-stand-in")
@form_action(render_part)
def remove_substitute(key: int) -> Response:
    """Note that something may not be used instead after all."""
    domain.drop_substitute(key, load_form(RemoveSubstituteForm)["instead"])
    flash("That part does not stand in any more.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="stand-ins"), 303)


@pages.post("/parts/<int:key>/not-this-number")
@form_action(render_part)
def remove_pairing(key: int) -> Response:
    """Forget that a number on bags means a part."""
    bag_pairings.delete_pairing(load_form(RemovePairingForm)["pairing"])
    flash("That number means nothing now: the next bag that carries it is asked about.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="bag-numbers"), 303)


@pages.post("/parts/<int:key>/lessons")
@form_action(render_part)
def add_part_lesson(key: int) -> Response:
    """Keep a sentence to be seen again with the part."""
    typed = load_form(PartLessonForm)
    part_screen.add_part_lesson(key, typed["text"], by=current_person().id, model=typed["model"])
    flash("Noted: it shows at the bin and here from now on.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="lessons"), 303)
