"""Taking what fits: in place of a part that is out, and at a job's page what such units usually get."""

from __future__ import annotations

from flask import flash
from werkzeug.wrappers import Response

from inventory.domain.common.records import Done
from inventory.domain.movements.pull import pull
from inventory.domain.movements.suggested_substitutes import take_instead
from inventory.pages import pages
from inventory.pages.catalogue.parts import show_part
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Form, Key, Whole, read_form
from inventory.pages.jobs.jobs import show_job
from inventory.web.access import caller


class Instead(Form):
    """Which part is taken in place of the one asked for, and for which job."""

    instead = Key(required=True, allow_none=False)
    job = Key(required=True, allow_none=False)
    piece = Key()
    bin = Key()
    amount = Whole(load_default=1)


class Take(Form):
    """Which part a job gets."""

    part = Key(required=True, allow_none=False)
    amount = Whole(load_default=1)


@pages.post("/parts/<int:key>/instead")
@acts(show_part)
def use_instead(key: int) -> Response:
    """Take a part that fits in place of this one, and note what for."""
    typed = read_form(Instead)
    done = take_instead(
        key, typed["instead"], typed["job"], quantity=typed["amount"] or 1, piece_id=typed["piece"],
        bin_id=typed["bin"], by=caller().id,
    )  # fmt: skip
    return _to_job(done, typed["job"])


@pages.post("/jobs/<int:key>/take")
@acts(show_job)
def take_for_job(key: int) -> Response:
    """Take what units of this model usually get."""
    typed = read_form(Take)
    return _to_job(pull(typed["amount"] or 1, part_id=typed["part"], job_id=key, by=caller().id), key)


def _to_job(done: Done, job_id: int) -> Response:
    for warning in done.warnings:
        flash(warning, "warn")
    return to_thing("job", job_id, done.entry)
