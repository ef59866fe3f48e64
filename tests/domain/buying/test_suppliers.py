"""Suppliers and offers: who sells what, in which packs, at which price."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from tests.factories import a_part

pytestmark = pytest.mark.usefixtures("bench")


def northgate(**more: Any) -> SupplierRecord:
    return suppliers.add_supplier("Northgate Components", **{"lead_days": 4, "shipping_minor": 590, **more})


def offered(**more: Any) -> OfferRecord:
    return suppliers.add_offer(a_part().id, northgate().id, **{"price_minor": 240, "pack": 10, **more})


def test_it_keeps_a_supplier_and_finds_it_by_name() -> None:
    added = northgate(email="orders@northgate.example")
    suppliers.add_supplier("Quayside Spares")
    assert suppliers.supplier(added.id) == added
    assert [supplier.name for supplier in suppliers.suppliers(find="north").items] == ["Northgate Components"]
    assert [supplier.name for supplier in suppliers.suppliers().items] == ["Northgate Components", "Quayside Spares"]


def test_it_refuses_a_second_supplier_of_the_same_name() -> None:
    northgate()
    with pytest.raises(Conflict, match="There is a supplier Northgate Components already"):
        northgate()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("lead_days", -1), ("lead_days", 1001), ("lead_days", "4"), ("lead_days", True), ("lead_days", None),
        ("shipping_minor", -1), ("shipping_minor", 5.9), ("email", "no address"), ("email", "a@b\nBcc: c@d"),
        ("name", " "), ("name", "x" * 121), ("note", 7), ("rating", 5),
    ],
)  # fmt: skip
def test_it_refuses_what_a_supplier_cannot_be(field: str, value: object) -> None:
    with pytest.raises(Invalid) as refused:
        suppliers.add_supplier(**{"name": "Quayside Spares", field: value})  # type: ignore[arg-type]
    assert field in refused.value.errors
    assert suppliers.suppliers(active=None).items == []


@pytest.mark.parametrize("days", [0, 400])
def test_it_takes_a_lead_time_of_none_and_of_more_than_a_year(days: int) -> None:
    assert northgate(lead_days=days).lead_days == days


def test_it_does_not_overwrite_what_somebody_else_changed() -> None:
    supplier = northgate()
    suppliers.edit_supplier(supplier.id, supplier.version, lead_days=6)
    with pytest.raises(Stale, match="Somebody changed this supplier since you opened it"):
        suppliers.edit_supplier(supplier.id, supplier.version, lead_days=9)
    assert suppliers.supplier(supplier.id).lead_days == 6


def test_it_keeps_a_supplier_no_longer_bought_from_out_of_the_list() -> None:
    added = northgate()
    suppliers.edit_supplier(added.id, active=False)
    assert suppliers.suppliers().items == []
    assert [supplier.id for supplier in suppliers.suppliers(active=None).items] == [added.id]


def test_an_offer_takes_the_suppliers_lead_time_unless_it_has_its_own() -> None:
    offer = offered()
    assert (offer.lead_days, offer.stated_days) == (None, 4)
    assert suppliers.edit_offer(offer.id, lead_days=21).stated_days == 21
    assert suppliers.edit_offer(offer.id, lead_days=0).stated_days == 0


@pytest.mark.parametrize(
    ("quantity", "cost"), [(1, 240), (10, 240), (11, 480), (40, 960), (49, 1000), (50, 1000), (51, 1200), (200, 3000)]
)
def test_it_costs_whole_packs_at_the_price_of_so_many(quantity: int, cost: int) -> None:
    assert offered(breaks=[[5, 200], [20, 150]]).cost_of(quantity) == cost


@pytest.mark.parametrize(
    "breaks",
    [
        [[5, 240]], [[5, 260]], [[5, 200], [5, 150]], [[5, 200], [4, 150]], [[1, 200]], [[5]], [5, 200], "5", None,
        [[5, -1]], [[5, 1.5]], [[2 + n, 239 - n] for n in range(21)],
    ],
)  # fmt: skip
def test_it_refuses_price_breaks_that_do_not_rise_in_packs_and_fall_in_price(breaks: object) -> None:
    with pytest.raises(Invalid) as refused:
        offered(breaks=breaks)
    assert list(refused.value.errors) == ["breaks"]


@pytest.mark.parametrize(
    ("field", "value"),
    [("pack", 0), ("pack", "ten"), ("minimum", 0), ("price_minor", -1), ("price_minor", 2.4), ("lead_days", 1001)],
)
def test_it_refuses_what_an_offer_cannot_be(field: str, value: object) -> None:
    with pytest.raises(Invalid) as refused:
        offered(**{field: value})
    assert list(refused.value.errors) == [field]


def test_it_refuses_the_same_offer_twice_but_takes_another_number_of_the_same_supplier() -> None:
    first = offered(supplier_number="N-1")
    with pytest.raises(Conflict, match="noted already: edit that one"):
        suppliers.add_offer(first.part_id, first.supplier_id, 300, supplier_number="N-1")
    suppliers.add_offer(first.part_id, first.supplier_id, 300, supplier_number="N-1-REEL", pack=1000)
    assert len(suppliers.offers(part_id=first.part_id).items) == 2


def test_it_lets_a_part_have_one_preferred_offer() -> None:
    first = offered(preferred=True)
    other = suppliers.add_supplier("Quayside Spares")
    second = suppliers.add_offer(first.part_id, other.id, 300, preferred=True)
    assert [(offer.id, offer.preferred) for offer in suppliers.offers(part_id=first.part_id).items] == [
        (first.id, False),
        (second.id, True),
    ]


def test_it_finds_an_offer_by_the_number_on_the_bag() -> None:
    added = offered(supplier_number="NG-2041")
    assert [offer.part_id for offer in suppliers.offers(supplier_number=" NG-2041 ").items] == [added.part_id]
    suppliers.edit_offer(added.id, active=False)
    assert suppliers.offers(supplier_number="NG-2041").items == []


def test_it_says_when_there_is_no_such_part_supplier_or_offer() -> None:
    with pytest.raises(NotFound, match="There is no part 999"):
        suppliers.add_offer(999, northgate().id, 100)
    with pytest.raises(NotFound, match="There is no supplier 999"):
        suppliers.add_offer(a_part().id, 999, 100)
    with pytest.raises(NotFound, match="There is no offer 999"):
        suppliers.offer(999)
