"""Suppliers, and what each sells a part for."""

from __future__ import annotations

from typing import Any

from peewee import JOIN, IntegrityError

from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, invalid_field
from inventory.domain.common.paging import contains_words, paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import (
    MAX_QUANTITY,
    check_field_names,
    clean_text,
    get_row,
    update_versioned,
    validated_number,
)
from inventory.store.connection import transaction
from inventory.store.tables import Offer, Part, Supplier

MAX_LEAD_DAYS = 1000  # a lead time above this is a slip of the finger
MAX_PRICE_BREAKS = 20

_SUPPLIER_DEFAULTS: dict[str, Any] = {
    "name": "", "lead_days": 5, "shipping_minor": 0, "email": "", "note": "", "active": True,
}  # fmt: skip
_OFFER_DEFAULTS: dict[str, Any] = {
    "supplier_number": "", "pack": 1, "minimum": 1, "price_minor": None, "breaks": (), "lead_days": None,
    "preferred": False, "active": True,
}  # fmt: skip


def add_supplier(name: str, **more: Any) -> SupplierRecord:
    """Add a supplier. *more*: lead_days (stated, 0 to 1000), shipping_minor (one parcel), email, note."""
    with transaction():
        given = _validated_supplier({**_SUPPLIER_DEFAULTS, "name": name, **more})
        try:
            made = Supplier.create(**given, created=clock.now())
        except IntegrityError:
            raise _supplier_name_taken(given["name"]) from None
    return from_row(SupplierRecord, made)


def edit_supplier(supplier_id: int, version: int | None = None, **changes: Any) -> SupplierRecord:
    """Change a supplier; ``active=False`` keeps it for the record and takes its offers off the reorder list."""
    with transaction():
        found = get_row(Supplier, supplier_id, "supplier")
        given = _validated_supplier({**{name: getattr(found, name) for name in _SUPPLIER_DEFAULTS}, **changes})
        try:
            update_versioned(found, "supplier", version, **given)
        except IntegrityError:
            raise _supplier_name_taken(given["name"]) from None
        return supplier(supplier_id)


def supplier(supplier_id: int) -> SupplierRecord:
    """Return one supplier."""
    return from_row(SupplierRecord, get_row(Supplier, supplier_id, "supplier"))


def suppliers(*, find: str = "", active: bool | None = True, after: str | None = None, limit: int = 50) -> ResultPage:
    """Return suppliers by name; *active* None: those no longer bought from too."""
    query = Supplier.select()
    if find.strip():
        query = query.where(contains_words(Supplier.name, find))
    if active is not None:
        query = query.where(Supplier.active == active)
    return paginate(query, Supplier.name, after, limit, lambda one: from_row(SupplierRecord, one))


def _validated_supplier(given: dict[str, Any]) -> dict[str, Any]:
    _require_known_fields(given, _SUPPLIER_DEFAULTS, "supplier")
    return {
        "name": clean_text(given["name"], "name", 120, required=True),
        "lead_days": _validated_integer(given["lead_days"], "lead_days", 0, MAX_LEAD_DAYS),
        "shipping_minor": _validated_integer(given["shipping_minor"], "shipping_minor", 0, MAX_QUANTITY),
        "email": _validated_email(given["email"]),
        "note": clean_text(given["note"], "note", 5000),
        "active": bool(given["active"]),
    }


def _validated_email(text: Any) -> str:
    kept = clean_text(text, "email", 200)
    if kept and (kept.count("@") != 1 or kept[0] == "@" or kept[-1] == "@" or any(c.isspace() for c in kept)):
        raise invalid_field(
            "email", "An e-mail address looks like orders@supplier.example: correct it, or leave it empty."
        )
    return kept


# ---- offers ----------------------------------------------------------------------------------------------


def add_offer(part_id: int, supplier_id: int, price_minor: int, **more: Any) -> OfferRecord:
    """Note what a supplier sells a part for. *price_minor* is for one pack, in minor units.

    *more*: supplier_number, pack and minimum (base units), breaks ((packs, price of a pack), rising packs and
    falling prices), lead_days (left out: the supplier's), preferred (taken whatever the others cost).
    """
    with transaction():
        get_row(Part, part_id, "part")
        get_row(Supplier, supplier_id, "supplier")
        given = _validated_offer({**_OFFER_DEFAULTS, "price_minor": price_minor, **more})
        try:
            made = Offer.create(part=part_id, supplier=supplier_id, **given)
        except IntegrityError:
            raise _offer_taken() from None
        _clear_other_preferred(made)
        return offer(made.id)


def edit_offer(offer_id: int, version: int | None = None, **changes: Any) -> OfferRecord:
    """Change an offer; ``active=False`` keeps it for the record and never advises it again."""
    with transaction():
        found = get_row(Offer, offer_id, "offer")
        given = _validated_offer({**{name: getattr(found, name) for name in _OFFER_DEFAULTS}, **changes})
        try:
            update_versioned(found, "offer", version, **given)
        except IntegrityError:
            raise _offer_taken() from None
        _clear_other_preferred(Offer.get_by_id(offer_id))
        return offer(offer_id)


def offer(offer_id: int) -> OfferRecord:
    """Return one offer."""
    return offer_record(get_row(Offer, offer_id, "offer"))


def offers(
    *, part_id: int | None = None, supplier_id: int | None = None, supplier_number: str = "",
    active: bool | None = True, after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return offers in the order in which they were noted; *supplier_number* is what stands on the bag."""
    query = Offer.select(Offer, Supplier).join(Supplier, JOIN.INNER)
    for column, key in ((Offer.part, part_id), (Offer.supplier, supplier_id)):
        if key is not None:
            query = query.where(column == key)
    if supplier_number.strip():
        query = query.where(Offer.supplier_number == supplier_number.strip())
    if active is not None:
        query = query.where(Offer.active == active)
    return paginate(query, Offer.id, after, limit, offer_record)


def offer_record(found: Any) -> OfferRecord:
    """Make the record of an offer's row (joined with its supplier)."""
    seller = found.supplier
    return from_row(
        OfferRecord, found, supplier=seller.name, breaks=tuple((packs, price) for packs, price in found.breaks),
        stated_days=seller.lead_days if found.lead_days is None else found.lead_days,
    )  # fmt: skip


def _validated_offer(given: dict[str, Any]) -> dict[str, Any]:
    _require_known_fields(given, _OFFER_DEFAULTS, "offer")
    lead = given["lead_days"]
    price = _validated_integer(given["price_minor"], "price_minor", 0, MAX_QUANTITY)
    return {
        "supplier_number": clean_text(given["supplier_number"], "supplier number", 120),
        "pack": _validated_integer(given["pack"], "pack", 1, MAX_QUANTITY),
        "minimum": _validated_integer(given["minimum"], "minimum", 1, MAX_QUANTITY),
        "price_minor": price,
        "breaks": _validated_price_breaks(given["breaks"], price),
        "lead_days": None if lead is None else _validated_integer(lead, "lead_days", 0, MAX_LEAD_DAYS),
        "preferred": bool(given["preferred"]),
        "active": bool(given["active"]),
    }


def _validated_price_breaks(breaks: Any, price: int) -> list[list[int]]:
    """Return price breaks whose packs rise and whose prices fall; raise Invalid for any other."""
    if not isinstance(breaks, list | tuple) or len(breaks) > MAX_PRICE_BREAKS:
        raise invalid_field("breaks", f"Price breaks are up to {MAX_PRICE_BREAKS} pairs: packs, price of a pack.")
    kept: list[list[int]] = []
    packs_before, price_before = 1, price
    for one in breaks:
        if not isinstance(one, list | tuple) or len(one) != 2:
            raise invalid_field("breaks", "Each price break is a pair: packs, price of a pack.")
        packs = _validated_integer(one[0], "breaks", packs_before + 1, MAX_QUANTITY, called="packs of a price break")
        lower = _validated_integer(one[1], "breaks", 0, MAX_QUANTITY, called="price of a price break")
        if lower >= price_before:
            raise invalid_field(
                "breaks", f"From {packs} packs the price must be below {price_before}: check the price breaks."
            )
        kept.append([packs, lower])
        packs_before, price_before = packs, lower
    return kept


def _clear_other_preferred(kept: Any) -> None:
    """Let the offer just kept be the only preferred one of its part."""
    if kept.preferred:
        others = Offer.select().where(Offer.part == kept.part_id, Offer.preferred, Offer.id != kept.id)
        for other in list(others):
            update_versioned(other, "offer", None, preferred=False)


def _require_known_fields(given: dict[str, Any], allowed: dict[str, Any], what: str) -> None:
    check_field_names(given, allowed, f"There is no {{}} to note of this {what}: leave it out.")


def _validated_integer(value: Any, field: str, least: int, most: int, *, called: str = "") -> int:
    name = called or field.removesuffix("_minor").replace("_", " ")
    sentence = f"The {name} must be a whole number from {least} to {most}."
    return int(validated_number(value, field, least, most, sentence))


def _supplier_name_taken(name: str) -> Conflict:
    return Conflict(f"There is a supplier {name} already: open it, or choose another name.", reason="taken")


def _offer_taken() -> Conflict:
    return Conflict(
        "This supplier's offer of the part under that number is noted already: edit that one.", reason="taken"
    )
