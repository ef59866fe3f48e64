"""At a supplier: what it sells, how long it really takes, and what was ordered from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying import lead_times, suppliers
from inventory.domain.buying import orders as ordering
from inventory.domain.buying.incoming_plans import plan_or_none
from inventory.domain.buying.incoming_records import DeadOnArrival, PlanRecord
from inventory.domain.buying.order_records import LeadRecord, OfferRecord, OrderRecord, SupplierRecord
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.resolve import listed, part_meant
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.records import PartRecord, read
from inventory.domain.common.shop import shop
from inventory.domain.quality import sent_back
from inventory.domain.quality.dead_on_arrival import dead_on_arrival_of
from inventory.domain.quality.sent_back_records import SentBackRecord
from inventory.store.connection import writing
from inventory.store.tables import Part

RECENT_ORDERS = 20


@dataclass(frozen=True)
class Sells:
    """An offer, with the part it is for."""

    offer: OfferRecord
    part: PartRecord


@dataclass(frozen=True)
class AtSupplier:
    """A supplier as its page shows it."""

    supplier: SupplierRecord
    lead: LeadRecord
    sells: tuple[Sells, ...]
    next: str | None
    orders: tuple[OrderRecord, ...]
    incoming: PlanRecord | None  # how what it sends is checked
    dead: DeadOnArrival
    returns: tuple[SentBackRecord, ...]  # the last ones that went back to it


def at_supplier(supplier_id: int, after: str | None = None) -> AtSupplier:
    """Gather what a supplier sells and how it delivers."""
    found = suppliers.supplier(supplier_id)
    page = suppliers.offers(supplier_id=supplier_id, active=None, after=after or None, limit=100)
    return AtSupplier(
        found,
        lead_times.lead_of_supplier(supplier_id, found.lead_days, shop()),
        tuple(_sells(page.items)),
        page.next,
        tuple(ordering.orders(supplier_id=supplier_id, limit=RECENT_ORDERS).items),
        plan_or_none(supplier_id=supplier_id),
        dead_on_arrival_of(supplier_id),
        tuple(sent_back.all_sent_back(supplier_id=supplier_id, limit=RECENT_ORDERS).items),
    )


def _sells(offers: Sequence[OfferRecord]) -> list[Sells]:
    wanted = {one.part_id for one in offers}
    found = {one.id: read(PartRecord, one) for one in Part.select().where(Part.id << wanted)}
    return [Sells(one, found[one.part_id]) for one in offers]


@dataclass(frozen=True)
class AtOffer:
    """What the form of an offer starts from; ``offer`` None: a new one."""

    offer: OfferRecord | None
    part: PartRecord | None
    suppliers: tuple[SupplierRecord, ...]
    part_lines: tuple[str, ...]


def at_offer(offer_id: int | None = None, part_id: int | None = None) -> AtOffer:
    """Gather what noting an offer needs."""
    found = None if offer_id is None else suppliers.offer(offer_id)
    about = found.part_id if found else part_id
    known = None if about is None else part(about)
    sellers = tuple(suppliers.suppliers(limit=200).items)
    return AtOffer(found, known, sellers, () if known else tuple(listed()))


def note_offer(part_typed: str, supplier_id: int, typed: dict[str, Any]) -> OfferRecord:
    """Note an offer of the part that *part_typed* means; pack and minimum are typed in the part's unit."""
    with writing():
        meant = part_meant(part_typed)
        given = _in_base_units(typed, meant.unit)
        return suppliers.add_offer(meant.id, supplier_id, given.pop("price_minor"), **given)


def change_offer(offer_id: int, version: int | None, typed: dict[str, Any]) -> OfferRecord:
    """Change an offer; pack and minimum are typed in the part's unit."""
    with writing():
        unit = part(suppliers.offer(offer_id).part_id).unit
        return suppliers.edit_offer(offer_id, version, **_in_base_units(typed, unit))


def _in_base_units(typed: dict[str, Any], unit: str) -> dict[str, Any]:
    sizes = {name: quantity(typed[name] or "1", unit, name) for name in ("pack", "minimum")}
    return {**typed, **sizes}
