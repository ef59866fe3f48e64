"""At a supplier: what it sells, how long it really takes, and what was ordered from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying import lead_times, suppliers
from inventory.domain.buying import orders as ordering
from inventory.domain.buying.incoming_plans import find_plan
from inventory.domain.buying.incoming_records import DeadOnArrivalRate, IncomingPlanRecord
from inventory.domain.buying.order_records import LeadTimeRecord, OfferRecord, OrderRecord, SupplierRecord
from inventory.domain.catalogue.parts import part, parts_by_id
from inventory.domain.catalogue.resolve import part_choices, resolve_part
from inventory.domain.common.atomic import atomic
from inventory.domain.common.quantity_text import parse_quantity_field
from inventory.domain.common.records import PartRecord
from inventory.domain.common.shop import shop_config
from inventory.domain.quality import sent_back
from inventory.domain.quality.dead_on_arrival import supplier_dead_on_arrival
from inventory.domain.quality.sent_back_records import SentBackRecord

MAX_RECENT = 20


@dataclass(frozen=True)
class OfferWithPart:
    """An offer, with the part it is for."""

    offer: OfferRecord
    part: PartRecord


@dataclass(frozen=True)
class SupplierScreen:
    """A supplier as its page shows it."""

    supplier: SupplierRecord
    lead: LeadTimeRecord
    sells: tuple[OfferWithPart, ...]
    next: str | None
    orders: tuple[OrderRecord, ...]
    incoming: IncomingPlanRecord | None  # how what it sends is checked
    dead: DeadOnArrivalRate
    returns: tuple[SentBackRecord, ...]  # the last ones that went back to it


def supplier_screen(supplier_id: int, after: str | None = None) -> SupplierScreen:
    """Gather what a supplier sells and how it delivers."""
    record = suppliers.supplier(supplier_id)
    page = suppliers.offers(supplier_id=supplier_id, active=None, after=after or None, limit=100)
    return SupplierScreen(
        record,
        lead_times.supplier_lead_time(supplier_id, record.lead_days, shop_config()),
        tuple(_offers_with_parts(page.items)),
        page.next,
        tuple(ordering.orders(supplier_id=supplier_id, limit=MAX_RECENT).items),
        find_plan(supplier_id=supplier_id),
        supplier_dead_on_arrival(supplier_id),
        tuple(sent_back.list_sent_back(supplier_id=supplier_id, limit=MAX_RECENT).items),
    )


def _offers_with_parts(offers: Sequence[OfferRecord]) -> list[OfferWithPart]:
    parts = parts_by_id({offer.part_id for offer in offers})
    return [OfferWithPart(offer, parts[offer.part_id]) for offer in offers]


@dataclass(frozen=True)
class OfferScreen:
    """What the form of an offer starts from; ``offer`` None: a new one."""

    offer: OfferRecord | None
    part: PartRecord | None
    suppliers: tuple[SupplierRecord, ...]
    part_lines: tuple[str, ...]


def offer_screen(offer_id: int | None = None, part_id: int | None = None) -> OfferScreen:
    """Gather what noting an offer needs."""
    record = None if offer_id is None else suppliers.offer(offer_id)
    about = record.part_id if record else part_id
    known = None if about is None else part(about)
    sellers = tuple(suppliers.suppliers(limit=200).items)
    return OfferScreen(record, known, sellers, () if known else tuple(part_choices()))


def add_offer_from_form(part_text: str, supplier_id: int, data: dict[str, Any]) -> OfferRecord:
    """Note an offer of the part that *part_text* means; pack and minimum are typed in the part's unit."""
    with atomic():
        record = resolve_part(part_text)
        offer = _parse_base_units(data, record.unit)
        return suppliers.add_offer(record.id, supplier_id, offer.pop("price_minor"), **offer)


def edit_offer_from_form(offer_id: int, version: int | None, data: dict[str, Any]) -> OfferRecord:
    """Change an offer; pack and minimum are typed in the part's unit."""
    with atomic():
        unit = part(suppliers.offer(offer_id).part_id).unit
        return suppliers.edit_offer(offer_id, version, **_parse_base_units(data, unit))


def _parse_base_units(data: dict[str, Any], unit: str) -> dict[str, Any]:
    sizes = {name: parse_quantity_field(data[name] or "1", unit, name) for name in ("pack", "minimum")}
    return {**data, **sizes}
