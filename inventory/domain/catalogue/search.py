"""One search field over everything: part names, numbers and attributes, bins, lots, pieces, jobs, models."""

from __future__ import annotations

from typing import Any

from inventory.domain.catalogue.attributes import attributes_text
from inventory.domain.common.code_lookup import resolve_code
from inventory.domain.common.errors import DomainError
from inventory.domain.common.paging import contains_words
from inventory.domain.common.records import SearchHit
from inventory.store.tables import Bin, Job, Lot, Offer, Order, Part, Piece, Supplier, UnitModel
from shared.codes import format_code

MAX_HITS_PER_KIND = 15


def search(text: str) -> list[SearchHit]:
    """Return what *text* finds: the thing with that code alone, else up to 15 of each kind."""
    words = text.strip()[:200]
    if not words:
        return []
    return _code_hits(words) or [
        *_part_hits(words),
        *_job_hits(words),
        *_bin_hits(words),
        *_piece_hits(words),
        *_lot_hits(words),
        *_order_hits(words),
        *_unit_model_hits(words),
    ]


def _code_hits(text: str) -> list[SearchHit]:
    try:
        resolved = resolve_code(text)
    except DomainError:
        return []
    return [SearchHit(resolved.what, resolved.id, resolved.code, code=resolved.code)]


def _join(*words: str) -> str:
    return " · ".join(filter(None, words))


def _limited(query: Any) -> Any:
    return query.limit(MAX_HITS_PER_KIND)


def _part_hits(text: str) -> list[SearchHit]:
    offered = Offer.select(Offer.part).where(Offer.supplier_number == text.strip())
    query = (
        Part.select()
        .where(contains_words(Part.search, text) | Part.id.in_(offered))
        .order_by(Part.retired, Part.number)
    )
    return [
        SearchHit("part", part.id, part.name, _join(part.number, attributes_text(part.kind, part.attributes)))
        for part in _limited(query)
    ]


def _job_hits(text: str) -> list[SearchHit]:
    query = Job.select().where(contains_words(Job.search, text)).order_by(Job.id.desc())
    return [
        SearchHit(
            "job", job.id, f"Job {job.number}", _join(job.status, job.customer, job.symptom), job.code, job.number
        )
        for job in _limited(query)
    ]


def _bin_hits(text: str) -> list[SearchHit]:
    query = Bin.select().where(contains_words(Bin.name, text), ~Bin.retired).order_by(Bin.name)
    return [
        SearchHit("bin", bin_.id, f"Bin {bin_.name}", bin_.part.name if bin_.part_id else "", bin_.code, bin_.name)
        for bin_ in _limited(query)
    ]


def _piece_hits(text: str) -> list[SearchHit]:
    query = (
        Piece.select()
        .where(contains_words(Piece.name, text) | contains_words(Piece.serial, text))
        .order_by(Piece.name)
    )
    return [
        SearchHit("piece", piece.id, piece.shown_as, piece.part.name, piece.code, piece.name or "")
        for piece in _limited(query)
    ]


def _lot_hits(text: str) -> list[SearchHit]:
    query = (
        Lot.select()
        .where(contains_words(Lot.maker_lot, text) | contains_words(Lot.date_code, text))
        .order_by(Lot.id.desc())
    )
    return [
        SearchHit("lot", lot.id, f"Lot {format_code(lot.code)}", _join(lot.part.name, lot.maker_lot), lot.code)
        for lot in _limited(query)
    ]


def _order_hits(text: str) -> list[SearchHit]:
    condition = (
        contains_words(Order.number, text)
        | contains_words(Order.reference, text)
        | contains_words(Supplier.name, text)
    )
    query = Order.select(Order, Supplier).join(Supplier).where(condition).order_by(Order.id.desc())
    return [
        SearchHit(
            "order", order.id, f"Order {order.number}", _join(order.supplier.name, order.reference), order.code,
            order.number,
        )
        for order in _limited(query)
    ]  # fmt: skip


def _unit_model_hits(text: str) -> list[SearchHit]:
    query = UnitModel.select().where(contains_words(UnitModel.name, text)).order_by(UnitModel.name)
    return [SearchHit("unit model", model.id, model.name, model.maker) for model in _limited(query)]
