"""Unit models: what customers bring, which parts go into each, and what was learnt about it."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.catalogue import parts as domain
from inventory.pages import pages
from inventory.pages.catalogue import unit_model_screen
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.forms import Form, TextField, form_value, load_query
from inventory.web.access import current_person


class UnitModelFilter(Form):
    """Words of a model's name."""

    q = TextField()


@pages.get("/unit-models")
def unit_models() -> str:
    """List unit models by name."""
    query = load_query(UnitModelFilter)
    return render_template(
        "catalogue/unit_model_list.html", models=unit_model_screen.unit_model_list(query["q"]), query=query
    )


@pages.get("/unit-models/<int:key>")
def unit_model(key: int) -> str:
    """Show a unit model: its parts, lessons and past jobs."""
    screen = unit_model_screen.unit_model_screen(key)
    return render_template("catalogue/unit_model.html", screen=screen, model=screen.model)


@pages.post("/unit-models/<int:key>/lessons")
@form_action(unit_model)
def add_model_lesson(key: int) -> Response:
    """Keep a sentence to be seen again with the next job of the model."""
    domain.add_lesson(
        form_value("text", TextField(needed="Write the lesson in a sentence first.")),
        unit_model_id=key,
        by=current_person().id,
    )
    flash("Noted: it shows with the next job of this model.", "good")
    return redirect_to("unit model", key)
