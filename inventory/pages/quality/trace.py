"""Provenance: what a job was made of, all that happened to a lot, and the papers and photos kept with it."""

from __future__ import annotations

from flask import Response as Answer
from flask import flash, redirect, render_template, request, url_for
from werkzeug.http import dump_options_header
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Invalid
from inventory.domain.quality import attachments as domain
from inventory.domain.stocktake import level_usage
from inventory.pages import pages
from inventory.pages.catalogue import lot_screen
from inventory.pages.catalogue.lots import lot
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action
from inventory.pages.forms import TextField, form_value, query_value
from inventory.pages.quality import flow_chart
from inventory.web.access import current_person, max_body, require_role

MAX_FORM_BYTES = 20_000  # bytes of a form besides the file


@pages.get("/jobs/<int:key>/trace")
def job_trace(key: int) -> str:
    """Show every lot and piece that a job used, proved or borrowed, and where they came from."""
    screen = level_usage.full_job_trace(key)
    return render_template(
        "quality/job_trace.html",
        screen=screen,
        trace=screen.trace,
        job=screen.trace.job,
        flow=flow_chart.job_flow_chart(screen.trace),
    )


@pages.get("/lots/<int:key>/movements")
def lot_movements(key: int) -> str:
    """Show all that happened to a lot."""
    history = lot_screen.lot_history(key, query_value("after", TextField()) or None)
    return render_template("quality/lot_movements.html", history=history)


@pages.post("/lots/<int:key>/files")
@max_body(domain.MAX_BYTES + MAX_FORM_BYTES)
@form_action(lot)
def add_attachment(key: int) -> Response:
    """Keep a file with a lot."""
    upload = request.files.get("file")
    if upload is None or not upload.filename:
        raise Invalid("Choose a file first.", errors={"file": ["Choose a file first."]})
    with upload.stream as stream:
        content = stream.read()
    kind = form_value("kind", TextField())
    record = domain.attach(settings().data_dir, key, content, name=upload.filename, kind=kind, by=current_person().id)
    flash(f"{record.name} is kept with this lot.", "good")
    return redirect(url_for("pages.lot", key=key, _anchor="files"), 303)


@pages.get("/files/<int:key>")
def attachment(key: int) -> Answer:
    """Send a file that is kept with a lot, as what its bytes are and never as a page."""
    record, content = domain.read_attachment(settings().data_dir, key)
    answer = Answer(content, content_type=record.media)
    disposition = "inline" if record.media.startswith("image/") else "attachment"
    answer.headers["Content-Disposition"] = dump_options_header(disposition, {"filename": record.name})
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    return answer


@pages.post("/lots/<int:key>/files/<int:file>/remove")
@require_role("tech")
@form_action(lambda key, file: lot(key))
def remove_attachment(key: int, file: int) -> Response:
    """Remove a file that is kept with a lot."""
    record = domain.remove_attachment(settings().data_dir, file, by=current_person().id)
    flash(f"{record.name} is removed.", "good")
    return redirect(url_for("pages.lot", key=key, _anchor="files"), 303)
