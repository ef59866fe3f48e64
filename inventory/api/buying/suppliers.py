"""/suppliers and /offers: who parts are bought from, and for what."""

from __future__ import annotations

from typing import Any

from inventory.api.buying.order_schemas import (
    OfferEdit,
    OfferIn,
    OfferOut,
    OffersQuery,
    SupplierEdit,
    SupplierIn,
    SupplierOut,
    SuppliersQuery,
)
from inventory.api.resource import Resource, at
from inventory.domain.buying import suppliers as stock
from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.common.records import Page

resource = Resource("suppliers", "Who parts are bought from, and what each sells them for.")
SUPPLIER = SupplierOut()
OFFER = OfferOut()


@resource.get("/suppliers")
@resource.arguments(SuppliersQuery(), location="query")
@resource.listed(SUPPLIER)
def suppliers(asked: dict[str, Any]) -> Page:
    """List suppliers by name."""
    return stock.suppliers(**asked)


@resource.post("/suppliers")
@resource.arguments(SupplierIn())
@resource.response(201, SUPPLIER)
def add_supplier(given: dict[str, Any]) -> Any:
    """Add a supplier."""
    made = stock.add_supplier(**given)
    return made, at("supplier", made.id)


@resource.get("/suppliers/<key:supplier_id>")
@resource.response(200, SUPPLIER)
def supplier(supplier_id: int) -> SupplierRecord:
    """Read a supplier."""
    return stock.supplier(supplier_id)


@resource.patch("/suppliers/<key:supplier_id>")
@resource.arguments(SupplierEdit())
@resource.edited(SUPPLIER, stock.supplier)
def edit_supplier(given: dict[str, Any], supplier_id: int, version: int | None) -> SupplierRecord:
    """Change a supplier."""
    return stock.edit_supplier(supplier_id, version, **given)


@resource.get("/offers")
@resource.arguments(OffersQuery(), location="query")
@resource.listed(OFFER)
def offers(asked: dict[str, Any]) -> Page:
    """List offers in the order in which they were noted."""
    return stock.offers(**asked)


@resource.post("/offers")
@resource.arguments(OfferIn())
@resource.response(201, OFFER)
def add_offer(given: dict[str, Any]) -> Any:
    """Note what a supplier sells a part for."""
    made = stock.add_offer(**given)
    return made, at("offer", made.id)


@resource.get("/offers/<key:offer_id>")
@resource.response(200, OFFER)
def offer(offer_id: int) -> OfferRecord:
    """Read an offer."""
    return stock.offer(offer_id)


@resource.patch("/offers/<key:offer_id>")
@resource.arguments(OfferEdit())
@resource.edited(OFFER, stock.offer)
def edit_offer(given: dict[str, Any], offer_id: int, version: int | None) -> OfferRecord:
    """Change an offer."""
    return stock.edit_offer(offer_id, version, **given)
