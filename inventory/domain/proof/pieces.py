"""Pieces: individually known units, where each is and how far it can be trusted."""

from __future__ import annotations

from typing import Any

from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid, invalid_field
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import PieceRecord, ResultPage
from inventory.domain.common.validation import (
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
)
from inventory.domain.proof.loans import HAS_RESULT
from inventory.domain.proof.proof_records import STANDINGS_BEST_FIRST, PieceStatus
from inventory.domain.proof.standings import piece_statuses, standings_of
from inventory.store.connection import transaction
from inventory.store.tables import Loan, Piece

TEXT_LIMITS = text_limits(PieceRecord)
MAX_MATINGS = 100_000


def piece(piece_id: int) -> PieceStatus:
    """Return one piece with its part, lot, place and standing."""
    get_row(Piece, piece_id, "piece")
    return piece_statuses([piece_id])[0]


def edit_piece(piece_id: int, version: int | None = None, **changes: Any) -> PieceStatus:
    """Change a piece's name, serial number, note, matings so far, or whether it is a spare kept to test with."""
    unknown = set(changes) - {*TEXT_LIMITS, "spare", "matings"}
    if unknown:
        raise Invalid(
            f"A piece's {', '.join(sorted(unknown))} cannot be edited.", errors={k: ["fixed"] for k in unknown}
        )
    values: dict[str, Any] = {
        n: clean_text(changes[n], _FIELD_LABELS.get(n, n), TEXT_LIMITS[n]) for n in TEXT_LIMITS if n in changes
    }
    if "spare" in changes:
        values["spare"] = _validated_spare(changes["spare"])
    with transaction():
        row = get_row(Piece, piece_id, "piece")
        _require_free_name(row, values.get("name", ""))
        if "matings" in changes:
            values["matings"] = _validated_matings(row, changes["matings"])
        update_versioned(row, "piece", version, **values)
        return piece(piece_id)


_FIELD_LABELS = {"serial": "serial number"}


def _validated_spare(value: Any) -> bool:
    if not isinstance(value, bool):
        raise invalid_field("spare", "Say yes or no: is it a spare kept to test with?")
    return value


def _validated_matings(row: Piece, value: Any) -> int:
    """Return the total matings of a piece if they can be right: at least one for each of its swap tests."""
    known = Loan.select().where(Loan.piece == row.id, HAS_RESULT).count()
    if isinstance(value, bool) or not isinstance(value, int) or not known <= value <= MAX_MATINGS:
        raise invalid_field(
            "matings", f"Its matings are a whole number from {known} (its swap tests so far) to {MAX_MATINGS}."
        )
    return value


def _require_free_name(row: Piece, name: str) -> None:
    """Refuse a name that another piece here goes by: "C-07" must mean one thing at the bench."""
    if not name or name == row.name:
        return
    if Piece.select().where(Piece.name == name, Piece.id != row.id, Piece.bin.is_null(False)).exists():
        raise Conflict(f"There is a piece {name} already: choose another name.", reason="taken")


def pieces(
    *, part_id: int | None = None, bin_id: int | None = None, lot_id: int | None = None, spare: bool | None = None,
    standing: str | None = None, out: bool | None = None, gone: bool | None = False, after: str | None = None,
    limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return pieces as ``PieceStatus``, in the order in which they were made, that match all the filters.

    *standing* is a word such as "proved"; *out* tells those lent now; *gone* (fitted or scrapped) are left out
    unless it is True (only those) or None (all).
    """
    query = Piece.select()
    for column, value in ((Piece.part, part_id), (Piece.bin, bin_id), (Piece.lot, lot_id), (Piece.spare, spare)):
        if value is not None:
            query = query.where(column == value)
    if gone is not None:
        query = query.where(Piece.bin.is_null(gone))
    if out is not None:
        lent = Loan.select(Loan.piece).where(Loan.ended.is_null())
        query = query.where(Piece.id.in_(lent) if out else Piece.id.not_in(lent))
    if standing is not None:
        query = query.where(
            Piece.id << _ids_with_standing(query, validated_choice(standing, "standing", STANDINGS_BEST_FIRST))
        )
    page = paginate(query, Piece.id, after, limit, lambda row: row.id)
    return ResultPage(piece_statuses(page.items), page.next)


def _ids_with_standing(query: Any, word: str) -> list[int]:
    """Return the ids with a standing, which is worked out for all that match the other filters, never stored."""
    ids = [row.id for row in query]
    return [piece_id for piece_id, standing in standings_of(ids).items() if standing.word == word]
