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
    """Return what *text* finds, the closest first: a code by itself, else up to 15 of each kind of thing."""
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
        found = resolve_code(text)
    except DomainError:
        return []
    return [SearchHit(found.what, found.id, found.code, code=found.code)]


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
        SearchHit("part", one.id, one.name, _join(one.number, attributes_text(one.kind, one.attributes)))
        for one in _limited(query)
    ]


def _job_hits(text: str) -> list[SearchHit]:
    query = Job.select().where(contains_words(Job.search, text)).order_by(Job.id.desc())
    return [
        SearchHit(
            "job",
            one.id,
            f"Job {one.number}",
            _join(one.status, one.customer, one.symptom),
            one.code,
            one.number,
        )
        for one in _limited(query)
    ]


def _bin_hits(text: str) -> list[SearchHit]:
    query = Bin.select().where(contains_words(Bin.name, text), ~Bin.retired).order_by(Bin.name)
    return [
        SearchHit("bin", one.id, f"Bin {one.name}", one.part.name if one.part_id else "", one.code, one.name)
        for one in _limited(query)
    ]


def _piece_hits(text: str) -> list[SearchHit]:
    query = (
        Piece.select()
        .where(contains_words(Piece.name, text) | contains_words(Piece.serial, text))
        .order_by(Piece.name)
    )
    return [
        SearchHit("piece", one.id, one.shown_as, one.part.name, one.code, one.name or "") for one in _limited(query)
    ]


def _lot_hits(text: str) -> list[SearchHit]:
    query = (
        Lot.select()
        .where(contains_words(Lot.maker_lot, text) | contains_words(Lot.date_code, text))
        .order_by(Lot.id.desc())
    )
    return [
        SearchHit("lot", one.id, f"Lot {format_code(one.code)}", _join(one.part.name, one.maker_lot), one.code)
        for one in _limited(query)
    ]


def _order_hits(text: str) -> list[SearchHit]:
    said = (
        contains_words(Order.number, text)
        | contains_words(Order.reference, text)
        | contains_words(Supplier.name, text)
    )
    query = Order.select(Order, Supplier).join(Supplier).where(said).order_by(Order.id.desc())
    return [
        SearchHit(
            "order", one.id, f"Order {one.number}", _join(one.supplier.name, one.reference), one.code, one.number
        )
        for one in _limited(query)
    ]


def _unit_model_hits(text: str) -> list[SearchHit]:
    query = UnitModel.select().where(contains_words(UnitModel.name, text)).order_by(UnitModel.name)
    return [SearchHit("unit model", one.id, one.name, one.maker) for one in _limited(query)]
