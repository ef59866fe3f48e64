"""Unit models: what customers bring, which parts go into each, and what was learnt about it."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from inventory.domain.catalogue import parts as stock
from inventory.pages import pages
from inventory.pages.catalogue import unit_model_screen
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Form, Text, read_form, read_query
from inventory.web.access import caller


class Named(Form):
    """Words of a model's name."""

    q = Text()


class Lesson(Form):
    """A sentence worth seeing again."""

    text = Text(needed="Write the lesson in a sentence first.")


@pages.get("/unit-models")
def unit_models() -> str:
    """List unit models by name."""
    asked = read_query(Named)
    return render_template(
        "catalogue/unit_model_list.html", found=unit_model_screen.model_list(asked["q"]), asked=asked
    )


def _show(key: int) -> str:
    at = unit_model_screen.at_model(key)
    return render_template("catalogue/unit_model.html", at=at, model=at.model)


@pages.get("/unit-models/<int:key>")
def unit_model(key: int) -> str:
    """Show a unit model: its parts, lessons and past jobs."""
    return _show(key)


@pages.post("/unit-models/<int:key>/lessons")
@acts(_show)
def learn_about_model(key: int) -> Response:
    """Keep a sentence to be seen again with the next job of the model."""
    stock.add_lesson(read_form(Lesson)["text"], unit_model_id=key, by=caller().id)
    flash("Noted: it shows with the next job of this model.", "good")
    return to_thing("unit model", key)
