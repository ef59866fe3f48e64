"""Pieces: how far one can be trusted, proving it, taking it for a swap test, bringing it back."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import clock
from inventory.domain.proof import pieces as domain
from inventory.domain.proof.proof_records import LoanRecord
from inventory.pages import pages
from inventory.pages.context import job_in_hand, settings, when
from inventory.pages.form_actions import flash_warnings, form_action, redirect_to
from inventory.pages.forms import (
    CheckboxField,
    Form,
    IdField,
    TextField,
    fields_by_id,
    form_value,
    load_form,
    load_query,
)
from inventory.pages.proof import piece_screen
from inventory.web.access import current_person, require_role

STANDINGS = ("proved", "unproved", "lapsed", "doubtful", "failed")
MAX_MINUTES = 600.0  # that a form was open; beyond, somebody went home
STAYS_FITTED = "stays"  # the choice that a piece does not come back


class StartSwapTestForm(Form):
    """A swap test to begin."""

    job = IdField(needed="Choose the job it is for.")
    in_hand = CheckboxField()
    suspect = IdField()
    suspect_name = TextField()
    hold_ok = CheckboxField()


class SwapResultForm(Form):
    """How a swap test ended."""

    loan = IdField(required=True)
    result = TextField(needed="Tap what happened: works with it, still fails, or cannot tell.")
    where = TextField()
    bin = TextField()
    note = TextField()


class FitPieceForm(Form):
    """The job a piece goes into for good."""

    job = IdField(needed="Choose the job it is for.")
    in_hand = CheckboxField()
    one_off = CheckboxField()


class ProofForm(Form):
    """A test of a piece, without its readings."""

    procedure = IdField(required=True)
    instrument = TextField()
    note = TextField()
    for_job = IdField()
    begun = TextField()


class PieceForm(Form):
    """What is noted of a piece."""

    name = TextField()
    serial = TextField()
    note = TextField()
    spare = CheckboxField()
    version = IdField()


def _loan_sentence(loan: LoanRecord) -> str:
    """Say that a piece is out, until when by the clock on the bench's wall."""
    place = f" in place of {loan.suspect}" if loan.suspect else ""
    return f"{loan.shown_as} is out with job {loan.job_number}{place}, due back {when(loan.due)}."


@pages.get("/pieces/<int:key>")
def piece(key: int) -> str:
    """Show a piece: its standing, why, and what can be done with it."""
    job = job_in_hand()
    screen = piece_screen.piece_screen(key, job.id if job else None)
    return render_template(
        "proof/piece.html",
        screen=screen,
        status=screen.status,
        piece=screen.status.piece,
        part=screen.status.part,
        now=clock.now(),
    )


@pages.post("/pieces/<int:key>/take")
@form_action(piece)
def start_swap_test(key: int) -> Response:
    """Take the piece to a job for a swap test."""
    data = load_form(StartSwapTestForm)
    started = piece_screen.take_for_swap_test(
        key, data["job"], by=current_person().id, suspect_id=data["suspect"], suspect_name=data["suspect_name"],
        take_in_hand=data["in_hand"], hours=settings().loan_hours, hold_ok=data["hold_ok"],
    )  # fmt: skip
    flash(_loan_sentence(started.loan), "good")
    flash_warnings(started.warnings)
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/result")
@form_action(piece)
def record_swap_result(key: int) -> Response:
    """End the swap test with what happened; the piece goes back, or stays fitted."""
    data = load_form(SwapResultForm)
    ended = piece_screen.end_swap_test(
        key, data["loan"], data["result"], by=current_person().id, stays=data["where"] == STAYS_FITTED,
        bin_text=data["bin"], note=data["note"],
    )  # fmt: skip
    flash(ended.sentence, "good" if ended.loan.result != "cannot tell" else "warn")
    flash_warnings(ended.warnings)
    return redirect(url_for("pages.piece", key=key, ended=ended.loan.id), 303)


@pages.post("/pieces/<int:key>/stays")
@form_action(piece)
def keep_fitted(key: int) -> Response:
    """Let the piece stay in the unit that worked with it, though it was brought back first."""
    fitted = piece_screen.keep_fitted(key, form_value("loan", IdField(required=True)), by=current_person().id)
    flash(fitted.sentence, "good")
    flash_warnings(fitted.warnings)
    return redirect_to("job", fitted.loan.job_id)


@pages.post("/pieces/<int:key>/never-fitted")
@form_action(piece)
def cancel_swap_test(key: int) -> Response:
    """Undo a taking by mistake."""
    undone = piece_screen.cancel_swap_test(key, form_value("loan", IdField(required=True)), by=current_person().id)
    flash(f"{undone.shown_as} is in its bin again, as if it had not been taken.", "good")
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/take-back-result")
@form_action(piece)
def retract_swap_result(key: int) -> Response:
    """Take back a result that was tapped wrongly."""
    loan = piece_screen.reopen_swap_test(key, form_value("loan", IdField(required=True)), by=current_person().id)
    flash(f"{loan.shown_as} counts as out to job {loan.job_number} again: tap the right result.", "good")
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/fit")
@form_action(piece)
def fit_piece(key: int) -> Response:
    """Take the piece for a job, to stay there."""
    data = load_form(FitPieceForm)
    result = piece_screen.fit_piece(
        key, data["job"], by=current_person().id, take_in_hand=data["in_hand"], one_off=data["one_off"]
    )  # fmt: skip
    return redirect_to("piece", key, result.entry)


@pages.post("/pieces/<int:key>/edit")
@form_action(piece)
def edit_piece(key: int) -> Response:
    """Change what is noted of a piece."""
    changed = domain.edit_piece(key, **load_form(PieceForm))
    flash(f"{changed.piece.shown_as} is changed.", "good")
    return redirect_to("piece", key)


# ---- proof -----------------------------------------------------------------------------------------------


@pages.get("/pieces/<int:key>/prove")
@require_role("tech")
def proof_form(key: int) -> str:
    """Ask for the readings of a procedure."""
    chosen = request.values.get("procedure", "")
    screen = piece_screen.proof_screen(key, int(chosen) if chosen.isdecimal() else None)
    status = screen.status
    return render_template(
        "proof/proof_form.html", screen=screen, status=status, piece=status.piece, part=status.part,
        begun=_form_timestamp(),
    )  # fmt: skip


@pages.post("/pieces/<int:key>/prove")
@form_action(proof_form)
def record_proof(key: int) -> Response:
    """Note a test of the piece and what it showed."""
    data = load_form(ProofForm)
    result = piece_screen.record_proof_from_form(
        key,
        data["procedure"],
        fields_by_id("reading-"),
        by=current_person().id,
        instrument=data["instrument"],
        note=data["note"],
        job_id=data["for_job"],
        minutes=_minutes_since(data["begun"]),
    )
    flash(result.sentence, "good" if result.proof.passed else "warn")
    return redirect_to("piece", key)


class SpareFilter(Form):
    """What the list of spares is narrowed by."""

    standing = TextField()
    out = CheckboxField()
    after = TextField()


@pages.get("/spares")
def spares() -> str:
    """List the spares with their standing and where they are."""
    query = load_query(SpareFilter)
    word = query["standing"] if query["standing"] in STANDINGS else None
    page = domain.pieces(spare=True, standing=word, out=query["out"] or None, after=query["after"])
    return render_template("proof/spare_list.html", page=page, word=word, out=query["out"], words=STANDINGS)


def _form_timestamp() -> str:
    """Return this moment as a form carries it."""
    return f"{clock.now().timestamp():.0f}"


def _minutes_since(text: str) -> float | None:
    """Return the minutes since a form was made; None for what is no such moment, or too long ago."""
    if not text.isascii() or not text.isdigit() or len(text) > 12:
        return None
    minutes = (clock.now().timestamp() - int(text)) / 60.0
    return round(minutes, 2) if 0.0 <= minutes <= MAX_MINUTES else None
