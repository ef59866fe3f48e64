"""Pieces: how far one can be trusted, proving it, taking it for a swap test, bringing it back."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import clock
from inventory.domain.common.validation import parse_id
from inventory.domain.proof import pieces as domain
from inventory.domain.proof.proof_records import LoanRecord
from inventory.pages import pages
from inventory.pages.context import job_in_hand, settings, when
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_age import form_timestamp, minutes_since
from inventory.pages.forms import CheckboxField, Form, IdField, TextField, fields_by_id, load_form
from inventory.pages.proof import piece_screen
from inventory.web.access import current_person, require_role

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


class LoanForm(Form):
    """Which loan is meant."""

    loan = IdField(required=True)


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


def _render_piece(key: int) -> str:
    job = job_in_hand()
    desk = piece_screen.piece_screen(key, job.id if job else None)
    return render_template(
        "proof/piece.html", desk=desk, seen=desk.seen, piece=desk.seen.piece, part=desk.seen.part, now=clock.now()
    )


def _loan_sentence(loan: LoanRecord) -> str:
    """Say that a piece is out, until when by the clock on the bench's wall."""
    place = f" in place of {loan.suspect}" if loan.suspect else ""
    return f"{loan.shown_as} is out with job {loan.job_number}{place}, due back {when(loan.due)}."


@pages.get("/pieces/<int:key>")
def piece(key: int) -> str:
    """Show a piece: its standing, why, and what can be done with it."""
    return _render_piece(key)


@pages.post("/pieces/<int:key>/take")
@form_action(_render_piece)
def start_swap_test(key: int) -> Response:
    """Take the piece to a job for a swap test."""
    asked = load_form(StartSwapTestForm)
    lent = piece_screen.take_for_swap_test(
        key, asked["job"], by=current_person().id, suspect_id=asked["suspect"], suspect_name=asked["suspect_name"],
        take_in_hand=asked["in_hand"], hours=settings().loan_hours, hold_ok=asked["hold_ok"],
    )  # fmt: skip
    flash(_loan_sentence(lent.loan), "good")
    for warning in lent.warnings:
        flash(warning, "warn")
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/result")
@form_action(_render_piece)
def record_swap_result(key: int) -> Response:
    """End the swap test with what happened; the piece goes back, or stays fitted."""
    asked = load_form(SwapResultForm)
    ended = piece_screen.end_swap_test(
        key, asked["loan"], asked["result"], by=current_person().id, stays=asked["where"] == STAYS_FITTED,
        bin_text=asked["bin"], note=asked["note"],
    )  # fmt: skip
    flash(ended.sentence, "good" if ended.loan.result != "cannot tell" else "warn")
    for warning in ended.warnings:
        flash(warning, "warn")
    return redirect(url_for("pages.piece", key=key, ended=ended.loan.id), 303)


@pages.post("/pieces/<int:key>/stays")
@form_action(_render_piece)
def keep_fitted(key: int) -> Response:
    """Let the piece stay in the unit that worked with it, though it was brought back first."""
    fitted = piece_screen.keep_fitted(key, load_form(LoanForm)["loan"], by=current_person().id)
    flash(fitted.sentence, "good")
    for warning in fitted.warnings:
        flash(warning, "warn")
    return redirect_to("job", fitted.loan.job_id)


@pages.post("/pieces/<int:key>/never-fitted")
@form_action(_render_piece)
def cancel_swap_test(key: int) -> Response:
    """Undo a taking by mistake."""
    undone = piece_screen.cancel_swap_test(key, load_form(LoanForm)["loan"], by=current_person().id)
    flash(f"{undone.shown_as} is in its bin again, as if it had not been taken.", "good")
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/take-back-result")
@form_action(_render_piece)
def retract_swap_result(key: int) -> Response:
    """Take back a result that was tapped wrongly."""
    again = piece_screen.reopen_swap_test(key, load_form(LoanForm)["loan"], by=current_person().id)
    flash(f"{again.shown_as} counts as out to job {again.job_number} again: tap the right result.", "good")
    return redirect_to("piece", key)


@pages.post("/pieces/<int:key>/fit")
@form_action(_render_piece)
def fit_piece(key: int) -> Response:
    """Take the piece for a job, to stay there."""
    asked = load_form(FitPieceForm)
    done = piece_screen.fit_piece(
        key, asked["job"], by=current_person().id, take_in_hand=asked["in_hand"], one_off=asked["one_off"]
    )  # fmt: skip
    return redirect_to("piece", key, done.entry)


@pages.post("/pieces/<int:key>/edit")
@form_action(_render_piece)
def edit_piece(key: int) -> Response:
    """Change what is noted of a piece."""
    changed = domain.edit_piece(key, **load_form(PieceForm))
    flash(f"{changed.piece.shown_as} is changed.", "good")
    return redirect_to("piece", key)


# ---- proof -----------------------------------------------------------------------------------------------


def _render_proof_form(key: int) -> str:
    chosen = request.values.get("procedure", "")
    desk = piece_screen.proof_screen(key, parse_id(chosen))
    asked = {"seen": desk.seen, "piece": desk.seen.piece, "part": desk.seen.part, "begun": form_timestamp()}
    return render_template("proof/proof_form.html", desk=desk, **asked)


@pages.get("/pieces/<int:key>/prove")
@require_role("tech")
def proof_form(key: int) -> str:
    """Ask for the readings of a procedure."""
    return _render_proof_form(key)


@pages.post("/pieces/<int:key>/prove")
@form_action(_render_proof_form)
def record_proof(key: int) -> Response:
    """Note a test of the piece and what it showed."""
    asked = load_form(ProofForm)
    proved = piece_screen.record_typed_proof(
        key,
        asked["procedure"],
        fields_by_id("reading-"),
        by=current_person().id,
        instrument=asked["instrument"],
        note=asked["note"],
        job_id=asked["for_job"],
        minutes=minutes_since(asked["begun"]),
    )
    flash(proved.sentence, "good" if proved.proof.passed else "warn")
    return redirect_to("piece", key)
