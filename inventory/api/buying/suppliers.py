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
from inventory.api.resource import Resource, location_header
from inventory.domain.buying import suppliers as domain
from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.common.records import ResultPage

resource = Resource("suppliers", "Who parts are bought from, and what each sells them for.")
SUPPLIER = SupplierOut()
OFFER = OfferOut()


@resource.get("/suppliers")
@resource.arguments(SuppliersQuery(), location="query")
@resource.listed(SUPPLIER)
def suppliers(params: dict[str, Any]) -> ResultPage:
    """List suppliers by name."""
    return domain.suppliers(**params)


@resource.post("/suppliers")
@resource.arguments(SupplierIn())
@resource.response(201, SUPPLIER)
def add_supplier(data: dict[str, Any]) -> Any:
    """Add a supplier."""
    supplier = domain.add_supplier(**data)
    return supplier, location_header("supplier", supplier.id)


@resource.get("/suppliers/<key:supplier_id>")
@resource.response(200, SUPPLIER)
def supplier(supplier_id: int) -> SupplierRecord:
    """Read a supplier."""
    return domain.supplier(supplier_id)


@resource.patch("/suppliers/<key:supplier_id>")
@resource.arguments(SupplierEdit())
@resource.edited(SUPPLIER, domain.supplier)
def edit_supplier(data: dict[str, Any], supplier_id: int, version: int | None) -> SupplierRecord:
    """Change a supplier."""
    return domain.edit_supplier(supplier_id, version, **data)


@resource.get("/offers")
@resource.arguments(OffersQuery(), location="query")
@resource.listed(OFFER)
def offers(params: dict[str, Any]) -> ResultPage:
    """List offers in the order in which they were noted."""
    return domain.offers(**params)


@resource.post("/offers")
@resource.arguments(OfferIn())
@resource.response(201, OFFER)
def add_offer(data: dict[str, Any]) -> Any:
    """Note what a supplier sells a part for."""
    offer = domain.add_offer(**data)
    return offer, location_header("offer", offer.id)


@resource.get("/offers/<key:offer_id>")
@resource.response(200, OFFER)
def offer(offer_id: int) -> OfferRecord:
    """Read an offer."""
    return domain.offer(offer_id)


@resource.patch("/offers/<key:offer_id>")
@resource.arguments(OfferEdit())
@resource.edited(OFFER, domain.offer)
def edit_offer(data: dict[str, Any], offer_id: int, version: int | None) -> OfferRecord:
    """Change an offer."""
    return domain.edit_offer(offer_id, version, **data)
