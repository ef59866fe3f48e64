"""Taking what fits: in place of a part that is out, and at a job's page what such units usually get."""

from __future__ import annotations

from werkzeug.wrappers import Response

from inventory.domain.common.records import ActionResult
from inventory.domain.movements.pull import pull
from inventory.domain.movements.suggested_substitutes import pull_substitute
from inventory.pages import pages
from inventory.pages.catalogue.parts import part
from inventory.pages.form_actions import flash_warnings, form_action, redirect_to
from inventory.pages.forms import Form, IdField, IntegerField, load_form
from inventory.pages.jobs.jobs import job
from inventory.web.access import current_person


class TakeSubstituteForm(Form):
    """Which part is taken in place of the one asked for, and for which job."""

    instead = IdField(required=True, allow_none=False)
    job = IdField(required=True, allow_none=False)
    piece = IdField()
    bin = IdField()
    amount = IntegerField(load_default=1)


class TakeForJobForm(Form):
    """Which part a job gets."""

    part = IdField(required=True, allow_none=False)
    amount = IntegerField(load_default=1)


@pages.post("/parts/<int:key>/take-substitute")
@form_action(part)
def take_substitute(key: int) -> Response:
    """Take a part that fits in place of this one, and note what for."""
    data = load_form(TakeSubstituteForm)
    result = pull_substitute(
        key, data["instead"], data["job"], quantity=data["amount"] or 1, piece_id=data["piece"],
        bin_id=data["bin"], by=current_person().id,
    )  # fmt: skip
    return _redirect_to_job(result, data["job"])


@pages.post("/jobs/<int:key>/take")
@form_action(job)
def take_for_job(key: int) -> Response:
    """Take what units of this model usually get."""
    data = load_form(TakeForJobForm)
    return _redirect_to_job(pull(data["amount"] or 1, part_id=data["part"], job_id=key, by=current_person().id), key)


def _redirect_to_job(result: ActionResult, job_id: int) -> Response:
    flash_warnings(result.warnings)
    return redirect_to("job", job_id, result.entry)
