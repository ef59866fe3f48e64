"""Suppliers, and what each sells a part for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from peewee import JOIN, IntegrityError

from inventory.domain.buying.order_records import MAX_LEAD_DAYS, OfferRecord, SupplierRecord
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
        columns = _validated_supplier({**_SUPPLIER_DEFAULTS, "name": name, **more})
        try:
            row = Supplier.create(**columns, created=clock.now())
        except IntegrityError:
            raise _supplier_name_taken(columns["name"]) from None
    return from_row(SupplierRecord, row)


def edit_supplier(supplier_id: int, version: int | None = None, **changes: Any) -> SupplierRecord:
    """Change a supplier; ``active=False`` keeps it for the record and takes its offers off the reorder list."""
    with transaction():
        row = get_row(Supplier, supplier_id, "supplier")
        columns = _validated_supplier({**{name: getattr(row, name) for name in _SUPPLIER_DEFAULTS}, **changes})
        try:
            update_versioned(row, "supplier", version, **columns)
        except IntegrityError:
            raise _supplier_name_taken(columns["name"]) from None
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
    return paginate(query, Supplier.name, after, limit, lambda row: from_row(SupplierRecord, row))


def supplier_names(supplier_ids: Iterable[int]) -> dict[int, str]:
    """Return the names of suppliers by their ids."""
    rows = Supplier.select(Supplier.id, Supplier.name).where(Supplier.id << list(supplier_ids))
    return {row.id: row.name for row in rows}


def _validated_supplier(values: dict[str, Any]) -> dict[str, Any]:
    _require_known_fields(values, _SUPPLIER_DEFAULTS, "supplier")
    return {
        "name": clean_text(values["name"], "name", 120, required=True),
        "lead_days": _validated_integer(values["lead_days"], "lead_days", 0, MAX_LEAD_DAYS),
        "shipping_minor": _validated_integer(values["shipping_minor"], "shipping_minor", 0, MAX_QUANTITY),
        "email": _validated_email(values["email"]),
        "note": clean_text(values["note"], "note", 5000),
        "active": bool(values["active"]),
    }


def _validated_email(text: Any) -> str:
    email = clean_text(text, "email", 200)
    if email and (
        email.count("@") != 1
        or email[0] == "@"
        or email[-1] == "@"
        or any(character.isspace() for character in email)
    ):
        raise invalid_field(
            "email", "An e-mail address looks like orders@supplier.example: correct it, or leave it empty."
        )
    return email


# ---- offers ----------------------------------------------------------------------------------------------


def add_offer(part_id: int, supplier_id: int, price_minor: int, **more: Any) -> OfferRecord:
    """Add a supplier's offer of a part. *price_minor* is for one pack, in minor units.

    *more*: supplier_number, pack and minimum (base units), breaks ((packs, price of a pack), rising packs and
    falling prices), lead_days (left out: the supplier's), preferred (taken whatever the others cost).
    """
    with transaction():
        get_row(Part, part_id, "part")
        get_row(Supplier, supplier_id, "supplier")
        columns = _validated_offer({**_OFFER_DEFAULTS, "price_minor": price_minor, **more})
        try:
            row = Offer.create(part=part_id, supplier=supplier_id, **columns)
        except IntegrityError:
            raise _offer_taken() from None
        _clear_other_preferred(row)
        return offer(row.id)


def edit_offer(offer_id: int, version: int | None = None, **changes: Any) -> OfferRecord:
    """Change an offer; ``active=False`` keeps it for the record and never advises it again."""
    with transaction():
        row = get_row(Offer, offer_id, "offer")
        columns = _validated_offer({**{name: getattr(row, name) for name in _OFFER_DEFAULTS}, **changes})
        try:
            update_versioned(row, "offer", version, **columns)
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
    """Return offers in the order in which they were added; *supplier_number* is the supplier's part number."""
    query = Offer.select(Offer, Supplier).join(Supplier, JOIN.INNER)
    for column, key in ((Offer.part, part_id), (Offer.supplier, supplier_id)):
        if key is not None:
            query = query.where(column == key)
    if supplier_number.strip():
        query = query.where(Offer.supplier_number == supplier_number.strip())
    if active is not None:
        query = query.where(Offer.active == active)
    return paginate(query, Offer.id, after, limit, offer_record)


def offer_record(row: Any) -> OfferRecord:
    """Make the record of an offer's row (joined with its supplier)."""
    supplier = row.supplier
    return from_row(
        OfferRecord, row, supplier=supplier.name, breaks=tuple((packs, price) for packs, price in row.breaks),
        stated_days=supplier.lead_days if row.lead_days is None else row.lead_days,
    )  # fmt: skip


def _validated_offer(values: dict[str, Any]) -> dict[str, Any]:
    _require_known_fields(values, _OFFER_DEFAULTS, "offer")
    lead_days = values["lead_days"]
    price = _validated_integer(values["price_minor"], "price_minor", 0, MAX_QUANTITY)
    return {
        "supplier_number": clean_text(values["supplier_number"], "supplier number", 120),
        "pack": _validated_integer(values["pack"], "pack", 1, MAX_QUANTITY),
        "minimum": _validated_integer(values["minimum"], "minimum", 1, MAX_QUANTITY),
        "price_minor": price,
        "breaks": _validated_price_breaks(values["breaks"], price),
        "lead_days": None if lead_days is None else _validated_integer(lead_days, "lead_days", 0, MAX_LEAD_DAYS),
        "preferred": bool(values["preferred"]),
        "active": bool(values["active"]),
    }


def _validated_price_breaks(breaks: Any, price: int) -> list[list[int]]:
    """Return price breaks whose packs rise and whose prices fall; raise Invalid for any other."""
    if not isinstance(breaks, list | tuple) or len(breaks) > MAX_PRICE_BREAKS:
        raise invalid_field("breaks", f"Price breaks are up to {MAX_PRICE_BREAKS} pairs: packs, price of a pack.")
    validated: list[list[int]] = []
    packs_before, price_before = 1, price
    for price_break in breaks:
        if not isinstance(price_break, list | tuple) or len(price_break) != 2:
            raise invalid_field("breaks", "Each price break is a pair: packs, price of a pack.")
        packs = _validated_integer(
            price_break[0], "breaks", packs_before + 1, MAX_QUANTITY, label="packs of a price break"
        )
        pack_price = _validated_integer(price_break[1], "breaks", 0, MAX_QUANTITY, label="price of a price break")
        if pack_price >= price_before:
            raise invalid_field(
                "breaks", f"From {packs} packs the price must be below {price_before}: check the price breaks."
            )
        validated.append([packs, pack_price])
        packs_before, price_before = packs, pack_price
    return validated


def _clear_other_preferred(row: Any) -> None:
    """Make the offer just saved, if preferred, the only preferred one of its part."""
    if row.preferred:
        others = Offer.select().where(Offer.part == row.part_id, Offer.preferred, Offer.id != row.id)
        for other in list(others):
            update_versioned(other, "offer", None, preferred=False)


def _require_known_fields(values: dict[str, Any], allowed: dict[str, Any], noun: str) -> None:
    check_field_names(values, allowed, f"There is no {{}} to note of this {noun}: leave it out.")


def _validated_integer(value: Any, field: str, minimum: int, maximum: int, *, label: str = "") -> int:
    name = label or field.removesuffix("_minor").replace("_", " ")
    sentence = f"The {name} must be a whole number from {minimum} to {maximum}."
    return int(validated_number(value, field, minimum, maximum, sentence))


def _supplier_name_taken(name: str) -> Conflict:
    return Conflict(f"There is a supplier {name} already: open it, or choose another name.", reason="taken")


def _offer_taken() -> Conflict:
    return Conflict(
        "This supplier's offer of the part under that number is noted already: edit that one.", reason="taken"
    )
