"""Suppliers, and what each sells a part for."""

from __future__ import annotations

from typing import Any

from peewee import JOIN, IntegrityError

from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, bad_field
from inventory.domain.common.paging import matching, page_of
from inventory.domain.common.records import Page, read
from inventory.domain.common.validation import MOST, clean, edit, row
from inventory.store.connection import writing
from inventory.store.tables import Offer, Part, Supplier

LONGEST_LEAD_DAYS = 1000  # a lead time above this is a slip of the finger
MOST_BREAKS = 20

_SUPPLIER: dict[str, Any] = {
    "name": "", "lead_days": 5, "shipping_minor": 0, "email": "", "note": "", "active": True,
}  # fmt: skip
_OFFER: dict[str, Any] = {
    "supplier_number": "", "pack": 1, "minimum": 1, "price_minor": None, "breaks": (), "lead_days": None,
    "preferred": False, "active": True,
}  # fmt: skip


def add_supplier(name: str, **more: Any) -> SupplierRecord:
    """Add a supplier. *more*: lead_days (stated, 0 to 1000), shipping_minor (one parcel), email, note."""
    with writing():
        given = _checked_supplier({**_SUPPLIER, "name": name, **more})
        try:
            made = Supplier.create(**given, created=clock.now())
        except IntegrityError:
            raise _name_taken(given["name"]) from None
    return read(SupplierRecord, made)


def edit_supplier(supplier_id: int, version: int | None = None, **changes: Any) -> SupplierRecord:
    """Change a supplier; ``active=False`` keeps it for the record and takes its offers off the reorder list."""
    with writing():
        found = row(Supplier, supplier_id, "supplier")
        given = _checked_supplier({**{name: getattr(found, name) for name in _SUPPLIER}, **changes})
        try:
            edit(found, "supplier", version, **given)
        except IntegrityError:
            raise _name_taken(given["name"]) from None
        return supplier(supplier_id)


def supplier(supplier_id: int) -> SupplierRecord:
    """Return one supplier."""
    return read(SupplierRecord, row(Supplier, supplier_id, "supplier"))


def suppliers(*, find: str = "", active: bool | None = True, after: str | None = None, limit: int = 50) -> Page:
    """Return suppliers by name; *active* None: those no longer bought from too."""
    query = Supplier.select()
    if find.strip():
        query = query.where(matching(Supplier.name, find))
    if active is not None:
        query = query.where(Supplier.active == active)
    return page_of(query, Supplier.name, after, limit, lambda one: read(SupplierRecord, one))


def _checked_supplier(given: dict[str, Any]) -> dict[str, Any]:
    _known(given, _SUPPLIER, "supplier")
    return {
        "name": clean(given["name"], "name", 120, needed=True),
        "lead_days": _whole(given["lead_days"], "lead_days", 0, LONGEST_LEAD_DAYS),
        "shipping_minor": _whole(given["shipping_minor"], "shipping_minor", 0, MOST),
        "email": _email(given["email"]),
        "note": clean(given["note"], "note", 5000),
        "active": bool(given["active"]),
    }


def _email(text: Any) -> str:
    kept = clean(text, "email", 200)
    if kept and (kept.count("@") != 1 or kept[0] == "@" or kept[-1] == "@" or any(c.isspace() for c in kept)):
        raise bad_field(
            "email", "An e-mail address looks like orders@supplier.example: correct it, or leave it empty."
        )
    return kept


# ---- offers ----------------------------------------------------------------------------------------------


def add_offer(part_id: int, supplier_id: int, price_minor: int, **more: Any) -> OfferRecord:
    """Note what a supplier sells a part for. *price_minor* is for one pack, in minor units.

    *more*: supplier_number, pack and minimum (base units), breaks ((packs, price of a pack), rising packs and
    falling prices), lead_days (left out: the supplier's), preferred (taken whatever the others cost).
    """
    with writing():
        row(Part, part_id, "part")
        row(Supplier, supplier_id, "supplier")
        given = _checked_offer({**_OFFER, "price_minor": price_minor, **more})
        try:
            made = Offer.create(part=part_id, supplier=supplier_id, **given)
        except IntegrityError:
            raise _offer_taken() from None
        _only_one_preferred(made)
        return offer(made.id)


def edit_offer(offer_id: int, version: int | None = None, **changes: Any) -> OfferRecord:
    """Change an offer; ``active=False`` keeps it for the record and never advises it again."""
    with writing():
        found = row(Offer, offer_id, "offer")
        given = _checked_offer({**{name: getattr(found, name) for name in _OFFER}, **changes})
        try:
            edit(found, "offer", version, **given)
        except IntegrityError:
            raise _offer_taken() from None
        _only_one_preferred(Offer.get_by_id(offer_id))
        return offer(offer_id)


def offer(offer_id: int) -> OfferRecord:
    """Return one offer."""
    return offer_record(row(Offer, offer_id, "offer"))


def offers(
    *, part_id: int | None = None, supplier_id: int | None = None, supplier_number: str = "",
    active: bool | None = True, after: str | None = None, limit: int = 50,
) -> Page:  # fmt: skip
    """Return offers in the order in which they were noted; *supplier_number* is what stands on the bag."""
    query = Offer.select(Offer, Supplier).join(Supplier, JOIN.INNER)
    for column, key in ((Offer.part, part_id), (Offer.supplier, supplier_id)):
        if key is not None:
            query = query.where(column == key)
    if supplier_number.strip():
        query = query.where(Offer.supplier_number == supplier_number.strip())
    if active is not None:
        query = query.where(Offer.active == active)
    return page_of(query, Offer.id, after, limit, offer_record)


def offer_record(found: Any) -> OfferRecord:
    """Make the record of an offer's row (joined with its supplier)."""
    seller = found.supplier
    return read(
        OfferRecord, found, supplier=seller.name, breaks=tuple((packs, price) for packs, price in found.breaks),
        stated_days=seller.lead_days if found.lead_days is None else found.lead_days,
    )  # fmt: skip


def _checked_offer(given: dict[str, Any]) -> dict[str, Any]:
    _known(given, _OFFER, "offer")
    lead = given["lead_days"]
    price = _whole(given["price_minor"], "price_minor", 0, MOST)
    return {
        "supplier_number": clean(given["supplier_number"], "supplier number", 120),
        "pack": _whole(given["pack"], "pack", 1, MOST),
        "minimum": _whole(given["minimum"], "minimum", 1, MOST),
        "price_minor": price,
        "breaks": _checked_breaks(given["breaks"], price),
        "lead_days": None if lead is None else _whole(lead, "lead_days", 0, LONGEST_LEAD_DAYS),
        "preferred": bool(given["preferred"]),
        "active": bool(given["active"]),
    }


def _checked_breaks(breaks: Any, price: int) -> list[list[int]]:
    """Return price breaks whose packs rise and whose prices fall; raise Invalid for any other."""
    if not isinstance(breaks, list | tuple) or len(breaks) > MOST_BREAKS:
        raise bad_field("breaks", f"Price breaks are up to {MOST_BREAKS} pairs: packs, price of a pack.")
    kept: list[list[int]] = []
    packs_before, price_before = 1, price
    for one in breaks:
        if not isinstance(one, list | tuple) or len(one) != 2:
            raise bad_field("breaks", "Each price break is a pair: packs, price of a pack.")
        packs = _whole(one[0], "breaks", packs_before + 1, MOST, called="packs of a price break")
        lower = _whole(one[1], "breaks", 0, MOST, called="price of a price break")
        if lower >= price_before:
            raise bad_field(
                "breaks", f"From {packs} packs the price must be below {price_before}: check the price breaks."
            )
        kept.append([packs, lower])
        packs_before, price_before = packs, lower
    return kept


def _only_one_preferred(kept: Any) -> None:
    """Let the offer just kept be the only preferred one of its part."""
    if kept.preferred:
        others = Offer.select().where(Offer.part == kept.part_id, Offer.preferred, Offer.id != kept.id)
        for one in list(others):
            edit(one, "offer", None, preferred=False)


def _known(given: dict[str, Any], allowed: dict[str, Any], what: str) -> None:
    unknown = sorted(set(given) - set(allowed))
    if unknown:
        sentence = f"There is no {', '.join(unknown)} to note of this {what}: leave it out."
        raise Invalid(sentence, errors={name: ["unknown"] for name in unknown})


def _whole(value: Any, field: str, least: int, most: int, *, called: str = "") -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        name = called or field.removesuffix("_minor").replace("_", " ")
        raise bad_field(field, f"The {name} must be a whole number from {least} to {most}.")
    return value


def _name_taken(name: str) -> Conflict:
    return Conflict(f"There is a supplier {name} already: open it, or choose another name.", reason="taken")


def _offer_taken() -> Conflict:
    return Conflict(
        "This supplier's offer of the part under that number is noted already: edit that one.", reason="taken"
    )
