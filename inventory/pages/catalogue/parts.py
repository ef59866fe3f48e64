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
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IdField,
    IntegerField,
    TextField,
    form_value,
    load_form,
    load_query,
)
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
    """What a new part starts from: its kind, the bin that waits for it, the job that caused it, its bag's code.

    ``name``: the words that found no part. ``origin``: it is being received, from there.
    """

    kind = TextField()
    bin = IdField()
    job = IdField()
    bag = TextField()
    name = TextField()
    origin = TextField()


class PartDetailsForm(Form):
    """A part as typed."""

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


class PartLessonForm(Form):
    """A sentence worth seeing again."""

    text = TextField()
    model = TextField()


@pages.get("/parts")
def parts() -> str:
    """List parts, narrowed by words, kind and unit model."""
    query = load_query(PartFilter)
    page = part_list.part_list(
        find=query["q"],
        kind=query["kind"],
        fits=query["fits"],
        retired=query["retired"],
        after=query["after"] or None,
    )
    return render_template("catalogue/part_list.html", part_list=page, query=query)


@pages.get("/parts/<int:key>")
def part(key: int) -> str:
    """Show a part: how many there are and where, what it fits, what may stand in for it."""
    screen = part_screen.part_screen(key)
    part = screen.overview.part
    chart = reorder_chart(screen.reckoning, screen.over_time, screen.now)
    return render_template("catalogue/part.html", screen=screen, overview=screen.overview, part=part, chart=chart)


@pages.get("/parts/new")
@require_role("tech")
def new_part() -> str:
    """Ask what kind of part it is, then for the part."""
    query = load_query(NewPartQuery)
    form = part_screen.load_part_form(
        request.form.get("kind") or query["kind"], bin_id=query["bin"], bag_text=query["bag"]
    )
    return render_template(
        "catalogue/part_form.html", form=form, query=query, units=list(UNIT_FACTORS), hazards=HAZARDS
    )


@pages.post("/parts/new")
@form_action(new_part)
def add_part() -> Response:
    """Add a part."""
    data = load_form(NewPartForm)
    bin_id, job_id, bag, origin = (data.pop(name) for name in ("bin", "job", "bag", "origin"))
    record = part_screen.add_part_from_form(data, _attribute_values(), bin_id=bin_id, job_id=job_id)
    if bag or origin:
        flash(
            f"Part {record.number} is added: now put in {'what is in the bag' if bag else 'what there is'}.", "good"
        )
        more = {"bag": bag or None, "bin": bin_id, "job": job_id, "origin": origin or None}
        return redirect(url_for("pages.receive", part=record.id, **more), 303)
    flash(f"Part {record.number} is added: put some in, or print the label of its bin.", "good")
    return redirect_to("part", record.id)


def _attribute_values() -> dict[str, str]:
    return {
        name.removeprefix(ATTRIBUTE_PREFIX): value.strip()
        for name, value in request.form.items()
        if name.startswith(ATTRIBUTE_PREFIX) and value.strip()
    }


@pages.get("/parts/<int:key>/edit")
@require_role("tech")
def edit_part(key: int) -> str:
    """Ask what is to be changed about a part."""
    form = part_screen.load_part_form(request.form.get("kind", ""), part_id=key)
    return render_template("catalogue/part_form.html", form=form, query={}, units=list(UNIT_FACTORS), hazards=HAZARDS)


@pages.post("/parts/<int:key>/edit")
@form_action(edit_part)
def change_part(key: int) -> Response:
    """Change a part."""
    data: dict[str, Any] = {**load_form(EditPartForm), "hazards": request.form.getlist("hazards")}
    changed = part_screen.edit_part_from_form(key, data.pop("version"), data, _attribute_values())
    flash(f"Part {changed.number} is changed.", "good")
    return redirect_to("part", key)


@pages.post("/parts/<int:key>/substitutes")
@form_action(part)
def add_substitute(key: int) -> Response:
    """Note what may be used instead."""
    data = load_form(SubstituteForm)
    instead = part_screen.add_substitute(key, data["part"], data["differs"], both_ways=data["both"])
    flash(f"{instead.name} may stand in.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="substitutes"), 303)


@pages.post("/parts/<int:key>/remove-substitute")
@form_action(part)
def remove_substitute(key: int) -> Response:
    """Remove a substitute."""
    domain.drop_substitute(key, form_value("instead", IdField(required=True, allow_none=False)))
    flash("That part does not stand in any more.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="substitutes"), 303)


@pages.post("/parts/<int:key>/not-this-number")
@form_action(part)
def remove_pairing(key: int) -> Response:
    """Forget that a number on bags means a part."""
    bag_pairings.delete_pairing(form_value("pairing", IdField(required=True, allow_none=False)))
    flash("That number means nothing now: the next bag that carries it is asked about.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="bag-numbers"), 303)


@pages.post("/parts/<int:key>/lessons")
@form_action(part)
def add_part_lesson(key: int) -> Response:
    """Keep a sentence to be seen again with the part."""
    data = load_form(PartLessonForm)
    part_screen.add_part_lesson(key, data["text"], by=current_person().id, model=data["model"])
    flash("Noted: it shows at the bin and here from now on.", "good")
    return redirect(url_for("pages.part", key=key, _anchor="lessons"), 303)
