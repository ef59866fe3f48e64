"""Pieces: how far one can be trusted, proving it, taking it for a swap test, bringing it back."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common import clock
from inventory.domain.proof import pieces as stock
from inventory.domain.proof.proof_records import LoanRecord
from inventory.pages import pages
from inventory.pages.context import job_in_hand, settings, when
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_age import begun, minutes_since
from inventory.pages.forms import Form, Key, Text, Tick, read_form
from inventory.pages.proof import piece_screen
from inventory.pages.proof.reading_fields import typed_readings
from inventory.web.access import caller, for_role

STAYS = "stays"  # the choice that a piece does not come back


class TakeOut(Form):
    """A swap test to begin."""

    job = Key(needed="Choose the job it is for.")
    in_hand = Tick()
    suspect = Key()
    suspect_name = Text()
    hold_ok = Tick()


class Result(Form):
    """How a swap test ended."""

    loan = Key(required=True)
    result = Text(needed="Tap what happened: works with it, still fails, or cannot tell.")
    where = Text()
    bin = Text()
    note = Text()


class OfLoan(Form):
    """Which loan is meant."""

    loan = Key(required=True)


class Fit(Form):
    """The job a piece goes into for good."""

    job = Key(needed="Choose the job it is for.")
    in_hand = Tick()
    one_off = Tick()


class ProofForm(Form):
    """A test of a piece, without its readings."""

    procedure = Key(required=True)
    instrument = Text()
    note = Text()
    for_job = Key()
    begun = Text()


class Edit(Form):
    """What is noted of a piece."""

    name = Text()
    serial = Text()
    note = Text()
    spare = Tick()
    version = Key()


def _show(key: int) -> str:
    job = job_in_hand()
    desk = piece_screen.at_piece(key, job.id if job else None)
    return render_template(
        "proof/piece.html", desk=desk, seen=desk.seen, piece=desk.seen.piece, part=desk.seen.part, now=clock.now()
    )


def _out(loan: LoanRecord) -> str:
    """Say that a piece is out, until when by the clock on the bench's wall."""
    place = f" in place of {loan.suspect}" if loan.suspect else ""
    return f"{loan.shown_as} is out with job {loan.job_number}{place}, due back {when(loan.due)}."


@pages.get("/pieces/<int:key>")
def piece(key: int) -> str:
    """Show a piece: its standing, why, and what can be done with it."""
    return _show(key)


@pages.post("/pieces/<int:key>/take")
@acts(_show)
def take_out(key: int) -> Response:
    """Take the piece to a job for a swap test."""
    asked = read_form(TakeOut)
    lent = piece_screen.take(
        key, asked["job"], by=caller().id, suspect_id=asked["suspect"], suspect_name=asked["suspect_name"],
        take_in_hand=asked["in_hand"], hours=settings().loan_hours, hold_ok=asked["hold_ok"],
    )  # fmt: skip
    flash(_out(lent.loan), "good")
    for warning in lent.warnings:
        flash(warning, "warn")
    return to_thing("piece", key)


@pages.post("/pieces/<int:key>/result")
@acts(_show)
def result(key: int) -> Response:
    """End the swap test with what happened; the piece goes back, or stays fitted."""
    asked = read_form(Result)
    ended = piece_screen.end(
        key, asked["loan"], asked["result"], by=caller().id, stays=asked["where"] == STAYS,
        bin_typed=asked["bin"], note=asked["note"],
    )  # fmt: skip
    flash(ended.sentence, "good" if ended.loan.result != "cannot tell" else "warn")
    for warning in ended.warnings:
        flash(warning, "warn")
    return redirect(url_for("pages.piece", key=key, ended=ended.loan.id), 303)


@pages.post("/pieces/<int:key>/stays")
@acts(_show)
def stays(key: int) -> Response:
    """Let the piece stay in the unit that worked with it, though it was brought back first."""
    fitted = piece_screen.stay(key, read_form(OfLoan)["loan"], by=caller().id)
    flash(fitted.sentence, "good")
    for warning in fitted.warnings:
        flash(warning, "warn")
    return to_thing("job", fitted.loan.job_id)


@pages.post("/pieces/<int:key>/never-fitted")
@acts(_show)
def never_fitted(key: int) -> Response:
    """Undo a taking by mistake."""
    undone = piece_screen.never_fitted(key, read_form(OfLoan)["loan"], by=caller().id)
    flash(f"{undone.shown_as} is in its bin again, as if it had not been taken.", "good")
    return to_thing("piece", key)


@pages.post("/pieces/<int:key>/take-back-result")
@acts(_show)
def take_back_result(key: int) -> Response:
    """Take back a result that was tapped wrongly."""
    again = piece_screen.take_back_result(key, read_form(OfLoan)["loan"], by=caller().id)
    flash(f"{again.shown_as} counts as out to job {again.job_number} again: tap the right result.", "good")
    return to_thing("piece", key)


@pages.post("/pieces/<int:key>/fit")
@acts(_show)
def fit(key: int) -> Response:
    """Take the piece for a job, to stay there."""
    asked = read_form(Fit)
    done = piece_screen.fit(
        key, asked["job"], by=caller().id, take_in_hand=asked["in_hand"], one_off=asked["one_off"]
    )  # fmt: skip
    return to_thing("piece", key, done.entry)


@pages.post("/pieces/<int:key>/edit")
@acts(_show)
def edit_piece(key: int) -> Response:
    """Change what is noted of a piece."""
    changed = stock.edit_piece(key, **read_form(Edit))
    flash(f"{changed.piece.shown_as} is changed.", "good")
    return to_thing("piece", key)


# ---- proof -----------------------------------------------------------------------------------------------


def _show_proof(key: int) -> str:
    chosen = request.values.get("procedure", "")
    desk = piece_screen.at_proof(key, int(chosen) if chosen.isdecimal() else None)
    asked = {"seen": desk.seen, "piece": desk.seen.piece, "part": desk.seen.part, "begun": begun()}
    return render_template("proof/proof_form.html", desk=desk, **asked)


@pages.get("/pieces/<int:key>/prove")
@for_role("tech")
def prove(key: int) -> str:
    """Ask for the readings of a procedure."""
    return _show_proof(key)


@pages.post("/pieces/<int:key>/prove")
@acts(_show_proof)
def prove_now(key: int) -> Response:
    """Note a test of the piece and what it showed."""
    asked = read_form(ProofForm)
    proved = piece_screen.prove_as_typed(
        key, asked["procedure"], typed_readings(), by=caller().id, instrument=asked["instrument"], note=asked["note"],
        job_id=asked["for_job"], minutes=minutes_since(asked["begun"]),
    )  # fmt: skip
    flash(proved.sentence, "good" if proved.proof.passed else "warn")
    return to_thing("piece", key)
