"""Procedures: how pieces are proved, with what limits. The owner adds them; a change makes a new edition."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import KINDS
from inventory.domain.proof import procedures as stock
from inventory.pages import pages
from inventory.pages.form_actions import acts
from inventory.pages.forms import Form, Text, read_form
from inventory.web.access import for_role

MOST_CHECKS = 12
COLUMNS = ("name", "unit", "low", "high", "times_rated")


class Written(Form):
    """A procedure as the form writes it; its checks are read row by row."""

    name = Text()
    kind = Text()
    steps = Text()
    source = Text()
    sensitivity = Text()
    specificity = Text()


@pages.get("/procedures")
def procedures() -> str:
    """List the procedures in use."""
    return render_template("proof/procedure_list.html", found=stock.procedures())


def _show(key: int) -> str:
    return render_template("proof/procedure.html", one=stock.procedure(key), editions=stock.editions(key))


@pages.get("/procedures/<int:key>")
def procedure(key: int) -> str:
    """Show a procedure: what to do, its limits, where they come from."""
    return _show(key)


def _form(key: int | None = None) -> str:
    one = stock.procedure(key) if key is not None else None
    return render_template("proof/procedure_form.html", one=one, kinds=KINDS, rows=range(MOST_CHECKS))


@pages.get("/procedures/new")
@for_role("owner")
def new_procedure() -> str:
    """Ask for a new procedure."""
    return _form()


@pages.post("/procedures/new")
@for_role("owner")
@acts(_form)
def add_procedure() -> Response:
    """Add a procedure."""
    given = _written()
    made = stock.add_procedure(given.pop("name"), given.pop("checks"), **given)
    return redirect(url_for("pages.procedure", key=made.id), 303)


@pages.get("/procedures/<int:key>/edit")
@for_role("owner")
def edit_procedure(key: int) -> str:
    """Ask what the next edition says."""
    return _form(key)


@pages.post("/procedures/<int:key>/edit")
@for_role("owner")
@acts(_form)
def change_procedure(key: int) -> Response:
    """Make the next edition of a procedure; proofs made before keep theirs."""
    given = _written()
    made = stock.edit_procedure(key, **given)
    flash(f"Edition {made.edition} is in use; proofs made before keep the edition they were made by.", "good")
    return redirect(url_for("pages.procedure", key=made.id), 303)


@pages.post("/procedures/<int:key>/retire")
@for_role("owner")
@acts(_show)
def retire_procedure(key: int) -> Response:
    """Take a procedure out of use, or back into it."""
    made = stock.retire_procedure(key, retired=request.form.get("back") != "1")
    return redirect(url_for("pages.procedure", key=made.id), 303)


def _written() -> dict[str, Any]:
    given: dict[str, Any] = read_form(Written)
    for name, words in (("sensitivity", "a bad piece fails"), ("specificity", "a good piece passes")):
        given[name] = _share(given[name], name, words)
    return {**given, "checks": _checks()}


def _share(text: str, name: str, words: str) -> float:
    try:
        return float(text.replace(",", ".").rstrip("% ")) / 100
    except ValueError:
        sentence = f"Type how often {words}, in per cent, such as 90."
        raise Invalid(sentence, errors={name: [sentence]}) from None


def _checks() -> list[dict[str, str]]:
    """Return the rows of the form that were filled in."""
    columns = {name: request.form.getlist(f"check_{name}")[:MOST_CHECKS] for name in COLUMNS}
    number = min(len(values) for values in columns.values())
    rows = [{name: columns[name][row].strip() for name in COLUMNS} for row in range(number)]
    return [{key: value for key, value in row.items() if value} for row in rows if any(row.values())]
