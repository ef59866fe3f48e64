"""Procedures: how pieces are proved, with what limits. The owner adds them; a change makes a new edition."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.common.validation import PART_KINDS
from inventory.domain.proof import procedures as domain
from inventory.pages import pages
from inventory.pages.form_actions import form_action
from inventory.pages.forms import Form, TextField, load_form
from inventory.web.access import require_role

MAX_CHECKS = 12
CHECK_FIELDS = ("name", "unit", "low", "high", "times_rated")


class ProcedureForm(Form):
    """A procedure as the form writes it; its checks are read row by row."""

    name = TextField()
    kind = TextField()
    steps = TextField()
    source = TextField()
    sensitivity = TextField()
    specificity = TextField()


@pages.get("/procedures")
def procedures() -> str:
    """List the procedures in use."""
    return render_template("proof/procedure_list.html", procedures=domain.procedures())


@pages.get("/procedures/<int:key>")
def procedure(key: int) -> str:
    """Show a procedure: what to do, its limits, where they come from."""
    return render_template("proof/procedure.html", procedure=domain.procedure(key), editions=domain.editions(key))


def _render_procedure_form(key: int | None = None) -> str:
    current = domain.procedure(key) if key is not None else None
    return render_template("proof/procedure_form.html", procedure=current, kinds=PART_KINDS, rows=range(MAX_CHECKS))


@pages.get("/procedures/new")
@require_role("owner")
def new_procedure() -> str:
    """Ask for a new procedure."""
    return _render_procedure_form()


@pages.post("/procedures/new")
@require_role("owner")
@form_action(_render_procedure_form)
def add_procedure() -> Response:
    """Add a procedure."""
    data = _procedure_data()
    record = domain.add_procedure(data.pop("name"), data.pop("checks"), **data)
    return redirect(url_for("pages.procedure", key=record.id), 303)


@pages.get("/procedures/<int:key>/edit")
@require_role("owner")
def edit_procedure(key: int) -> str:
    """Ask what the next edition says."""
    return _render_procedure_form(key)


@pages.post("/procedures/<int:key>/edit")
@require_role("owner")
@form_action(_render_procedure_form)
def change_procedure(key: int) -> Response:
    """Make the next edition of a procedure; proofs made before keep theirs."""
    data = _procedure_data()
    record = domain.edit_procedure(key, **data)
    flash(f"Edition {record.edition} is in use; proofs made before keep the edition they were made by.", "good")
    return redirect(url_for("pages.procedure", key=record.id), 303)


@pages.post("/procedures/<int:key>/retire")
@require_role("owner")
@form_action(procedure)
def retire_procedure(key: int) -> Response:
    """Take a procedure out of use, or back into it."""
    record = domain.retire_procedure(key, retired=request.form.get("back") != "1")
    return redirect(url_for("pages.procedure", key=record.id), 303)


def _procedure_data() -> dict[str, Any]:
    data: dict[str, Any] = load_form(ProcedureForm)
    for name, words in (("sensitivity", "a bad piece fails"), ("specificity", "a good piece passes")):
        data[name] = _parse_share(data[name], name, words)
    return {**data, "checks": _check_rows()}


def _parse_share(text: str, name: str, words: str) -> float:
    try:
        return float(text.replace(",", ".").rstrip("% ")) / 100
    except ValueError:
        sentence = f"Type how often {words}, in per cent, such as 90."
        raise Invalid(sentence, errors={name: [sentence]}) from None


def _check_rows() -> list[dict[str, str]]:
    """Return the rows of the form that were filled in."""
    columns = {name: request.form.getlist(f"check_{name}")[:MAX_CHECKS] for name in CHECK_FIELDS}
    number = min(len(values) for values in columns.values())
    rows = [{name: columns[name][row].strip() for name in CHECK_FIELDS} for row in range(number)]
    return [{key: value for key, value in row.items() if value} for row in rows if any(row.values())]
