"""One search field over everything: part names, numbers and attributes, bins, lots, pieces, jobs, models."""

from __future__ import annotations

from typing import Any

from inventory.domain.catalogue.attributes import in_words
from inventory.domain.common.code_lookup import scan
from inventory.domain.common.errors import Refused
from inventory.domain.common.paging import matching
from inventory.domain.common.records import Hit
from inventory.store.tables import Bin, Job, Lot, Offer, Order, Part, Piece, Supplier, UnitModel
from shared.codes import grouped

MOST_OF_A_KIND = 15


def find(text: str) -> list[Hit]:
    """Return what *text* finds, the closest first: a code by itself, else up to 15 of each kind of thing."""
    words = text.strip()[:200]
    if not words:
        return []
    return _by_code(words) or [
        *_parts(words),
        *_jobs(words),
        *_bins(words),
        *_pieces(words),
        *_lots(words),
        *_orders(words),
        *_models(words),
    ]


def _by_code(text: str) -> list[Hit]:
    try:
        found = scan(text)
    except Refused:
        return []
    return [Hit(found.what, found.id, found.code, code=found.code)]


def _joined(*words: str) -> str:
    return " · ".join(filter(None, words))


def _some(query: Any) -> Any:
    return query.limit(MOST_OF_A_KIND)


def _parts(text: str) -> list[Hit]:
    offered = Offer.select(Offer.part).where(Offer.supplier_number == text.strip())
    query = (
        Part.select().where(matching(Part.search, text) | Part.id.in_(offered)).order_by(Part.retired, Part.number)
    )
    return [
        Hit("part", one.id, one.name, _joined(one.number, in_words(one.kind, one.attributes))) for one in _some(query)
    ]


def _jobs(text: str) -> list[Hit]:
    query = Job.select().where(matching(Job.search, text)).order_by(Job.id.desc())
    return [
        Hit(
            "job",
            one.id,
            f"Job {one.number}",
            _joined(one.status, one.customer, one.symptom),
            one.code,
            one.number,
        )
        for one in _some(query)
    ]


def _bins(text: str) -> list[Hit]:
    query = Bin.select().where(matching(Bin.name, text), ~Bin.retired).order_by(Bin.name)
    return [
        Hit("bin", one.id, f"Bin {one.name}", one.part.name if one.part_id else "", one.code, one.name)
        for one in _some(query)
    ]


def _pieces(text: str) -> list[Hit]:
    query = Piece.select().where(matching(Piece.name, text) | matching(Piece.serial, text)).order_by(Piece.name)
    return [
        Hit("piece", one.id, one.name or grouped(one.code), one.part.name, one.code, one.name or "")
        for one in _some(query)
    ]


def _lots(text: str) -> list[Hit]:
    query = Lot.select().where(matching(Lot.maker_lot, text) | matching(Lot.date_code, text)).order_by(Lot.id.desc())
    return [
        Hit("lot", one.id, f"Lot {grouped(one.code)}", _joined(one.part.name, one.maker_lot), one.code)
        for one in _some(query)
    ]


def _orders(text: str) -> list[Hit]:
    said = matching(Order.number, text) | matching(Order.reference, text) | matching(Supplier.name, text)
    query = Order.select(Order, Supplier).join(Supplier).where(said).order_by(Order.id.desc())
    return [
        Hit("order", one.id, f"Order {one.number}", _joined(one.supplier.name, one.reference), one.code, one.number)
        for one in _some(query)
    ]


def _models(text: str) -> list[Hit]:
    query = UnitModel.select().where(matching(UnitModel.name, text)).order_by(UnitModel.name)
    return [Hit("unit model", one.id, one.name, one.maker) for one in _some(query)]
