"""Pieces: individually known units, where each is and how far it can be trusted."""

from __future__ import annotations

from typing import Any

from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page
from inventory.domain.common.validation import clean, edit, one_of, row
from inventory.domain.proof.proof_records import PieceSeen
from inventory.domain.proof.standings import BEST_FIRST, see, standings_of
from inventory.store.connection import writing
from inventory.store.tables import Loan, Piece

TEXTS = {"name": 40, "serial": 80, "note": 1000}
MOST_MATINGS = 100_000


def piece(piece_id: int) -> PieceSeen:
    """Return one piece with its part, lot, place and standing."""
    row(Piece, piece_id, "piece")
    return see([piece_id])[0]


def edit_piece(piece_id: int, version: int | None = None, **changes: Any) -> PieceSeen:
    """Change a piece's name, serial number, note, matings so far, or whether it is a spare kept to test with."""
    unknown = set(changes) - {*TEXTS, "spare", "matings"}
    if unknown:
        raise Invalid(
            f"A piece's {', '.join(sorted(unknown))} cannot be edited.", errors={k: ["fixed"] for k in unknown}
        )
    given: dict[str, Any] = {n: clean(changes[n], _CALLED.get(n, n), TEXTS[n]) for n in TEXTS if n in changes}
    if "spare" in changes:
        given["spare"] = _yes_or_no(changes["spare"])
    with writing():
        found = row(Piece, piece_id, "piece")
        _name_is_free(found, given.get("name", ""))
        if "matings" in changes:
            given["matings"] = _matings(found, changes["matings"])
        edit(found, "piece", version, **given)
        return piece(piece_id)


_CALLED = {"serial": "serial number"}


def _yes_or_no(value: Any) -> bool:
    if not isinstance(value, bool):
        sentence = "Say yes or no: is it a spare kept to test with?"
        raise Invalid(sentence, errors={"spare": [sentence]})
    return value


def _matings(found: Piece, value: Any) -> int:
    """Return how often a piece has been mated in all: at least once for each swap test known here."""
    known = Loan.select().where(Loan.piece == found.id, Loan.ended.is_null(False), Loan.result != "cancelled").count()
    if isinstance(value, bool) or not isinstance(value, int) or not known <= value <= MOST_MATINGS:
        sentence = f"Its matings are a whole number from {known} (its swap tests so far) to {MOST_MATINGS}."
        raise Invalid(sentence, errors={"matings": [sentence]})
    return value


def _name_is_free(found: Piece, name: str) -> None:
    """Refuse a name that another piece here goes by: "C-07" must mean one thing at the bench."""
    if not name or name == found.name:
        return
    if Piece.select().where(Piece.name == name, Piece.id != found.id, Piece.bin.is_null(False)).exists():
        raise Conflict(f"There is a piece {name} already: choose another name.", reason="taken")


def pieces(
    *, part_id: int | None = None, bin_id: int | None = None, lot_id: int | None = None, spare: bool | None = None,
    standing: str | None = None, out: bool | None = None, gone: bool | None = False, after: str | None = None,
    limit: int = 50,
) -> Page:  # fmt: skip
    """Return pieces as ``PieceSeen``, in the order in which they were made, that match all that is given.

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
        query = query.where(Piece.id << _with_standing(query, one_of(standing, "standing", BEST_FIRST)))
    page = page_of(query, Piece.id, after, limit, lambda one: one.id)
    return Page(see(page.items), page.next)


def _with_standing(query: Any, word: str) -> list[int]:
    """A standing is worked out, never stored: judge all that match the rest."""
    ids = [one.id for one in query]
    return [piece_id for piece_id, found in standings_of(ids).items() if found.word == word]
