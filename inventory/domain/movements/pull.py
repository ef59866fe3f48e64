"""Pulling stock for a job, and putting back what the job did not need."""

from __future__ import annotations

from collections.abc import Sequence

from peewee import fn

from inventory.domain.catalogue import moisture
from inventory.domain.catalogue.bins import part_ids_in_bin
from inventory.domain.catalogue.picking import PickSource, allocate, claim_bin, pick_sources
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import ActionResult
from inventory.domain.common.validation import clean_text, get_row, is_valid_id, validated_quantity
from inventory.domain.jobs import fitted_substitutes
from inventory.domain.jobs.jobs import get_open_job
from inventory.domain.proof.piece_locations import piece_locations
from inventory.store import job_use, ledger
from inventory.store.connection import execute
from inventory.store.queries import fetch_rows
from inventory.store.tables import Balance, Bin, Hold, Job, Loan, Lot, Movement, Part, Piece


def pull(
    quantity: int = 1, *, bin_id: int | None = None, part_id: int | None = None, lot_id: int | None = None,
    job_id: int | None = None, by: int | None = None, reason: str = "", one_off: bool = False,
    past_date_ok: bool = False, instead_of: int | None = None, differed: str = "",
) -> ActionResult:  # fmt: skip
    """Take loose stock for a job (or, with a *reason*, for the bench itself).

    Name a bin, a part or a lot; ``picking.pick_sources`` chooses the lot unless one is named.
    Raises Conflict when there is not enough, the lot is on hold, the job is closed, or only stock past its
    date is left and *past_date_ok* is not set. *one_off* marks use not to be expected again. *instead_of* is the
    part that the job asked for and gets this one for, *differed* how the two differ.
    """
    with ledger.ledger_transaction():
        validated_quantity(quantity)
        why = clean_text(reason, "reason", 300)
        job = _require_job_or_reason(job_id, why)
        part = _resolve_part(bin_id, part_id, lot_id)
        requested = fitted_substitutes.requested_part(instead_of, part, job_id)
        sources = pick_sources(part.id, bin_id, lot_id)
        taken = allocate(sources, quantity)
        if sum(number for _, number in taken) < quantity:
            raise _not_enough_error(part, quantity, bin_id, lot_id)
        warnings = _past_date_warnings(taken, past_date_ok)
        note = join_texts(
            why, f"instead of {requested.number}" if requested else "", "went on past its date" if warnings else ""
        )
        warnings += tuple(filter(None, (moisture.moisture_warning(source.lot) for source, _ in taken)))
        lines = [
            ledger.LedgerLine("pull", part.id, s.lot.id, s.bin.id, -number, None, job_id, by, note, one_off)
            for s, number in taken
        ]
        entry = ledger.append_lines(lines, clock.now())
        _count_towards_need(entry, requested, part, job_id, quantity, differed, by)
    first = taken[0][0]
    place = f" instead of {requested.name}" if requested else ""
    sentence = f"{quantity_text(quantity, part)} of {part.name} taken from {first.bin.name}{place}" + (
        f" for job {job.number}." if job else f": {why}."
    )
    return ActionResult(
        entry, sentence, part.id, quantity, first.bin.id, tuple(s.lot.id for s, _ in taken), job_id=job_id,
        left_in_bin=_left_in_bin(first.bin.id, part.id), warnings=warnings,
    )  # fmt: skip


def pull_piece(
    piece_id: int,
    *,
    job_id: int | None = None,
    by: int | None = None,
    reason: str = "",
    one_off: bool = False,
    instead_of: int | None = None,
    differed: str = "",
) -> ActionResult:
    """Take an individually known piece for a job, to stay there; *instead_of* is the part that the job asked for."""
    with ledger.ledger_transaction():
        why = clean_text(reason, "reason", 300)
        job = _require_job_or_reason(job_id, why)
        piece = get_available_piece(piece_id)
        if piece.lot.on_hold:
            raise on_hold_error(piece.lot)
        requested = fitted_substitutes.requested_part(instead_of, piece.part, job_id)
        note = join_texts(why, f"instead of {requested.number}" if requested else "")
        line = ledger.LedgerLine(
            "pull", piece.part_id, piece.lot_id, piece.bin_id, -1, piece_id, job_id, by, note, one_off
        )
        entry = ledger.append_lines([line], clock.now())
        _count_towards_need(entry, requested, piece.part, job_id, 1, differed, by)
    sentence = f"Piece {piece.shown_as} taken" + (f" for job {job.number}." if job else f": {why}.")
    return ActionResult(
        entry, sentence, piece.part_id, 1, piece.bin_id, (piece.lot_id,), (piece_id,), job_id,
        left_in_bin=_left_in_bin(piece.bin_id, piece.part_id),
    )  # fmt: skip


def join_texts(*texts: str) -> str:
    """Return the texts that are not empty in one line of at most 300 characters."""
    return "; ".join(text for text in texts if text)[:300]


def _count_towards_need(
    entry: int, requested: Part | None, part: Part, job_id: int | None, quantity: int, differed: str, by: int | None
) -> None:
    """Count what was pulled towards what the job wants: of the part that was asked for."""
    if requested is None or job_id is None:
        fitted_substitutes.count_towards_need(job_id, part.id, quantity)
        return
    fitted_substitutes.record_substitution(
        entry, requested, part, job_id, quantity, differed=clean_text(differed, "difference", 300), by=by
    )
    fitted_substitutes.count_towards_need(job_id, requested.id, quantity)


def put_back(
    quantity: int = 1, *, job_id: int, part_id: int | None = None, lot_id: int | None = None,
    piece_id: int | None = None, bin_id: int | None = None, by: int | None = None, reason: str = "",
) -> ActionResult:  # fmt: skip
    """Put back what a job took and did not use, into its own lot and (unless named) the bin it came from.

    Raises Conflict when the job did not take that many.
    """
    with ledger.ledger_transaction():
        validated_quantity(quantity)
        job = get_row(Job, job_id, "job")
        why = clean_text(reason, "reason", 300)
        if piece_id is not None:
            lines = [_put_back_piece_line(job, get_row(Piece, piece_id, "piece"), bin_id, by, why)]
        else:
            lines = _put_back_lines(job, part_id, lot_id, quantity, bin_id, by, why)
        part = get_row(Part, lines[0].part_id, "part")
        before = fitted_substitutes.substituted_quantities(job_id, part.id)
        entry = ledger.append_lines(lines, clock.now())
        back = sum(line.quantity for line in lines)
        fitted_substitutes.recount_needs(job_id, part.id, -back, before)
    bin_ = get_row(Bin, lines[0].bin_id, "bin")
    return ActionResult(
        entry, f"{quantity_text(back, part)} of {part.name} put back into {bin_.name}.", part.id, back, bin_.id,
        tuple(line.lot_id for line in lines), () if piece_id is None else (piece_id,), job_id,
        left_in_bin=_left_in_bin(bin_.id, part.id),
    )  # fmt: skip


def _require_job_or_reason(job_id: int | None, reason: str) -> Job | None:
    if job_id is not None:
        return get_open_job(job_id)
    if not reason:
        raise Conflict("Take a job in hand first, or say what it is for.", reason="no_job")
    return None


def _resolve_part(bin_id: int | None, part_id: int | None, lot_id: int | None) -> Part:
    part: Part | None = None
    if lot_id is not None:
        lot = get_row(Lot, lot_id, "lot")
        if lot.on_hold:
            raise on_hold_error(lot)
        part_id = lot.part_id if part_id in (None, lot.part_id) else _raise_mismatch("lot")
    if bin_id is not None:
        bin_, part = _bin_with_part(bin_id)
        if part_id is None:
            part_id = bin_.part_id or _only_part(bin_, part_ids_in_bin(bin_id))
    if part_id is None:
        raise Invalid("Say which bin, part or lot to take from.")
    if part is None or part.id != part_id:
        part = get_row(Part, part_id, "part")
    if part.kept == "individually":
        raise Invalid(f"{part.name} is kept piece by piece: scan the label on the piece.", reason="scan_the_piece")
    return part


def _bin_with_part(bin_id: int) -> tuple[Bin, Part | None]:
    """Return a bin and, when it is one part's alone, that part: read together, as most pulls need both."""
    rows = fetch_rows((Bin, Part), _BIN_AND_PART, bin_id) if is_valid_id(bin_id) else []
    return rows[0] if rows else (get_row(Bin, bin_id, "bin"), None)


_BIN_AND_PART = "SELECT {columns} FROM bins JOIN parts ON parts.id = bins.part_id WHERE bins.id = ?"


def _raise_mismatch(what: str) -> int:
    raise Invalid(f"That {what} holds another part: scan it again.", reason="other_part")


def _only_part(bin_: Bin, inside: set[int]) -> int:
    if len(inside) == 1:
        return next(iter(inside))
    if inside:
        raise Invalid(f"Bin {bin_.name} holds several parts: say which one.", reason="which_part")
    raise Conflict(f"Bin {bin_.shown_as} is empty: nothing to take.", reason="not_enough")


def on_hold_error(lot: Lot) -> Conflict:
    """Return the refusal to pull from a lot that is on hold."""
    hold = Hold.current_of(lot.id)
    why = f" ({hold.reason})" if hold else ""
    return Conflict(
        f"Lot {lot.code} is on hold{why}: take another lot, or ask the owner to release it.", reason="on_hold"
    )


def _not_enough_error(part: Part, quantity: int, bin_id: int | None, lot_id: int | None) -> Conflict:
    available = _loose_quantity(part, bin_id, lot_id, on_hold=False)
    where = get_row(Bin, bin_id, "bin").name if bin_id is not None else "stock"
    left = quantity_text(available, part) if available else "none"
    held = _loose_quantity(part, bin_id, None, on_hold=True)
    sentences = (
        f"{where} has {left} left, not {quantity_text(quantity, part)}.",
        "" if available or held else _last_taker_text(part, bin_id, lot_id),
        f"{quantity_text(held, part)} more are on hold." if held else "",
        _elsewhere_text(part, bin_id),
    )
    return Conflict(" ".join(filter(None, sentences)), reason="not_enough", available=available)


def _loose_quantity(part: Part, bin_id: int | None, lot_id: int | None, *, on_hold: bool) -> int:
    """Return the loose base units of a part, on hold or not, in a bin and of a lot (None: of any)."""
    query = Balance.select(fn.COALESCE(fn.SUM(Balance.quantity), 0)).join(Lot).where(
        Balance.part == part.id, Lot.on_hold if on_hold else ~Lot.on_hold,
        Balance.bin == bin_id if bin_id is not None else True,
        Balance.lot == lot_id if lot_id is not None else True,
    )  # fmt: skip
    return int(query.scalar())


_LAST_OUT = f"""
SELECT {{columns}} FROM movements WHERE movements.id = (
  SELECT m.id FROM movements m WHERE m.part_id = ? AND m.quantity < 0 AND m.reverses_id IS NULL AND {job_use.STANDS}
  {{only}} ORDER BY m.at DESC, m.id DESC LIMIT 1
)
"""


def _last_taker_text(part: Part, bin_id: int | None, lot_id: int | None) -> str:
    """Say who took the last of what ran out, unless it was counted, moved or thrown away."""
    named = {"bin_id": bin_id, "lot_id": lot_id}
    chosen = {column: value for column, value in named.items() if value is not None}
    only = "".join(f" AND m.{column} = ?" for column in chosen)
    rows = fetch_rows((Movement,), _LAST_OUT.replace("{only}", only), part.id, *chosen.values())
    if not rows or rows[0][0].kind != "pull":
        return ""
    (last,) = rows[0]
    who = last.person.shown_as if last.person_id else "Somebody"
    job = f" for job {last.job.number}" if last.job_id else ""
    return f"{who} took the last {quantity_text(-last.quantity, part)}{job} on {last.at:%d %b at %H:%M} UTC."


def _elsewhere_text(part: Part, bin_id: int | None) -> str:
    if bin_id is None:
        return "Put it on the job's needs, so that it is ordered."
    others = [s for s in pick_sources(part.id) if s.bin.id != bin_id]
    if not others:
        return "There is none elsewhere: put it on the job's needs, so that it is ordered."
    return f"Bin {others[0].bin.name} has {quantity_text(others[0].quantity, part)}."


def _past_date_warnings(taken: Sequence[tuple[PickSource, int]], past_date_ok: bool) -> tuple[str, ...]:
    past = [source.lot for source, _ in taken if source.past_date]
    if past and not past_date_ok:
        raise Conflict(
            f"Lot {past[0].code} is past its date ({past[0].until}), and nothing newer is here: "
            "take it all the same, or choose another part.",
            reason="past_date",
        )
    return tuple(f"Lot {lot.code} is past its date ({lot.until})." for lot in past)


def _left_in_bin(bin_id: int, part_id: int) -> int:
    loose = "SELECT COALESCE(SUM(quantity), 0) FROM balances WHERE part_id = ? AND bin_id = ?"
    pieces = "SELECT COUNT(*) FROM pieces WHERE part_id = ? AND bin_id = ?"
    return int(execute(f"SELECT ({loose}) + ({pieces})", part_id, bin_id, part_id, bin_id).fetchone()[0])


def get_available_piece(piece_id: int) -> Piece:
    """Return the row of a piece that is in its bin and not lent; raise Conflict saying where it is instead."""
    piece = get_row(Piece, piece_id, "piece")
    name = piece.shown_as
    loan = Loan.get_or_none(Loan.piece == piece_id, Loan.ended.is_null())
    if loan is not None:
        raise Conflict(f"Piece {name} is out with job {loan.job.number}: bring it back first.", reason="piece_out")
    if piece.bin_id is None:
        location = piece_locations([piece])[piece.id]
        where = f"fitted in job {location.job_number}" if location.state == "fitted" else "no longer in stock"
        raise Conflict(f"Piece {name} is {where}: choose another one.", reason="piece_gone")
    return piece


def _put_back_lines(
    job: Job, part_id: int | None, lot_id: int | None, quantity: int, bin_id: int | None, by: int | None,
    why: str,
) -> list[ledger.LedgerLine]:  # fmt: skip
    if part_id is None and lot_id is None:
        raise Invalid("Say which part or lot to put back.")
    taken = [(m, n) for m, n in job_use.loose_of_job(job.id, part_id) if lot_id in (None, m.lot_id)]
    if sum(number for _, number in taken) < quantity:
        raise Conflict(
            f"Job {job.number} has only {sum(n for _, n in taken)} of that: put back at most so many.",
            reason="more_than_taken",
        )
    lines = []
    for movement, number in taken:
        part = min(number, quantity)
        if part:
            into = claim_bin(bin_id if bin_id is not None else movement.bin_id, movement.part_id).id
            lines.append(
                ledger.LedgerLine("put back", movement.part_id, movement.lot_id, into, part, None, job.id, by, why)
            )
            quantity -= part
    return lines


def _put_back_piece_line(job: Job, piece: Piece, bin_id: int | None, by: int | None, why: str) -> ledger.LedgerLine:
    last = next((line for fitted, line in job_use.pieces_of_job(job.id) if fitted.id == piece.id), None)
    if last is None:
        raise Conflict(f"Job {job.number} does not have piece {piece.shown_as}.", reason="more_than_taken")
    into = claim_bin(bin_id if bin_id is not None else last.bin_id, piece.part_id).id
    return ledger.LedgerLine("put back", piece.part_id, piece.lot_id, into, 1, piece.id, job.id, by, why)
