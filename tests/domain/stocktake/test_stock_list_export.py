"""The stock goes out as a list for a spreadsheet, and that list gives the same stock on an empty bench."""

from __future__ import annotations

import csv
import io
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import bins, lots, parts
from inventory.domain.catalogue.attributes import ATTRIBUTES, Attribute
from inventory.domain.common.validation import PART_KINDS
from inventory.domain.movements import pull, receive
from inventory.domain.stocktake import stock_list_import
from inventory.domain.stocktake.stock_list_columns import COLUMN_KEYS
from inventory.domain.stocktake.stock_list_export import empty_stock_list_csv, stock_list_csv
from inventory.store import verify
from inventory.store.connection import database, execute
from shared.hazards import HAZARDS
from shared.quantities import UNIT_FACTORS
from tests.conftest import FreshDatabase
from tests.factories import a_bin, a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")

Line = dict[str, str]


def out() -> list[Line]:
    """Return the lines of the list as a spreadsheet reads them."""
    text = stock_list_csv("EUR")
    assert text.startswith("\ufeffnumber,name,")
    return [{key: cell for key, cell in row.items() if cell} for row in csv.DictReader(io.StringIO(text[1:]))]


def test_a_part_in_two_bins_with_two_offers_is_two_rows() -> None:
    part = a_part("4-way header", number="P-1", attributes={"pitch_mm": 2.5, "ways": 4}, level=20, hazards=["lead"])
    first, second = a_bin(part, name="A-1", walk=3), a_bin(part, name="A-2", walk=4)
    receive.receive(part.id, 12, first.id)
    receive.receive(part.id, 5, first.id, origin="found")
    for name, price in (("Northgate", 1250), ("Quayside", 99)):
        suppliers.add_offer(part.id, suppliers.add_supplier(name).id, price, supplier_number=f"{name}-7", pack=10)
    assert out() == [
        {
            "number": "P-1", "name": "4-way header", "kind": "connector", "kept": "counted", "unit": "piece",
            "hazards": "lead", "level": "20", "pitch_mm": "2.5", "ways": "4", "bin": "A-1", "walk": "3",
            "quantity": "17", "supplier": "Northgate", "supplier_number": "Northgate-7", "price": "12.50",
            "pack": "10",
        },
        {
            "number": "P-1", "bin": second.name, "walk": "4", "supplier": "Quayside", "supplier_number": "Quayside-7",
            "price": "0.99", "pack": "10",
        },
    ]  # fmt: skip


def test_days_go_apart_and_what_was_taken_or_is_nowhere_is_not_there() -> None:
    part, bin_, receipt = a_stocked_part(5, best_before=date(2031, 5, 1))
    receive.receive(part.id, 3, bin_.id)
    pull.pull(1, lot_id=receipt.lot_ids[0], job_id=a_job().id)
    lots.hold_lot(receipt.lot_ids[0], "cracked")
    unstocked = a_part(number="Z-1")
    parts.edit_part(unstocked.id, retired=True)
    assert [(row.get("best_before"), row["quantity"]) for row in out()] == [(None, "3"), ("2031-05-01", "4")]


def test_what_a_spreadsheet_would_run_is_defused() -> None:
    a_part("=HYPERLINK(1)", number="@1", note="'=2", maker="-3")
    line = out()[0]
    assert (line["number"], line["name"], line["note"], line["maker"]) == ("'@1", "'=HYPERLINK(1)", "''=2", "'-3")


def test_an_empty_list_has_every_column_and_an_empty_bench_no_row() -> None:
    assert empty_stock_list_csv().removeprefix("\ufeff").strip().split(",") == list(COLUMN_KEYS)
    assert out() == []


# ---- out, and in again -----------------------------------------------------------------------------------

letters = st.sampled_from("aB1 ,;\"'=+-@\n\té€م\u202e|") | st.characters(exclude_categories=["Cs"])
words = st.text(letters, min_size=1, max_size=12).filter(
    lambda text: any(one.isprintable() and not one.isspace() for one in text)
)
offer = st.tuples(words, words, st.integers(0, 10**7), st.integers(1, 5000))


@st.composite
def a_bench(draw: Any) -> list[dict[str, Any]]:
    """Draw parts of any kind, each with bins, lots and offers."""
    numbers = draw(st.lists(words, min_size=1, max_size=4, unique_by=_cleaned))
    return [
        {
            "part": _drawn_part(draw, number),
            "lots": draw(st.lists(st.tuples(st.integers(0, 5), st.integers(1, 40), _day), max_size=4)),
            "offers": draw(st.lists(offer, max_size=2, unique_by=_key)),
        }
        for number in numbers
    ]


_day = st.none() | st.dates(date(2027, 1, 1), date(2027, 1, 3))


def _cleaned(text: str) -> str:
    return "".join(character for character in text if character.isprintable() or character in "\n\t").strip()


def _key(offer: tuple[str, str, int, int]) -> str:
    return _cleaned(offer[0])


def _drawn_part(draw: Any, number: str) -> dict[str, Any]:
    kind, keeping = draw(st.sampled_from(PART_KINDS)), draw(st.sampled_from(["counted", "individually", "by level"]))
    fields = {"number": number, "name": draw(words), "kind": kind, "kept": keeping, "unit": "piece"}
    if keeping != "individually":
        fields["unit"] = draw(st.sampled_from(list(UNIT_FACTORS)))
    fields["attributes"] = {
        attribute.key: draw(_value(attribute)) for attribute in ATTRIBUTES[kind] if draw(st.booleans())
    }
    for name in ("maker", "maker_number", "note", "caution"):
        fields[name] = draw(st.just("") | words)
    fields["level"] = draw(st.none() | st.integers(0, 10**6))
    fields["hazards"] = draw(st.none() | st.lists(st.sampled_from(list(HAZARDS)), max_size=2))
    return fields


def _value(attribute: Attribute) -> Any:
    if attribute.words:
        return st.sampled_from(attribute.words)
    return words if attribute.free else st.sampled_from([2, 2.54, 24])


def _made(drawn: list[dict[str, Any]]) -> None:
    """Put a drawn bench into the database: bins 0 and 1 are for several parts, the others each part's own."""
    mixed = [bins.add_bin(f"=mixed {number}", mixed=True, walk=number) for number in range(2)]
    sellers: dict[str, int] = {}
    for number, drawn_part in enumerate(drawn):
        part = parts.add_part(**drawn_part["part"])
        places = [*mixed, *(bins.add_bin(f"{number}-{place}", part.id) for place in range(4))]
        for place, quantity, day in drawn_part["lots"]:
            receive.receive(part.id, quantity, places[place].id, best_before=day)
        for name, theirs, price, pack in drawn_part["offers"]:
            seller = sellers.setdefault(_cleaned(name), 0) or suppliers.add_supplier(name).id
            sellers[_cleaned(name)] = seller
            suppliers.add_offer(part.id, seller, price, supplier_number=theirs, pack=pack)


_QUANTITIES = """
SELECT part, bin, SUM(quantity) FROM (
  SELECT p.number AS part, b.name AS bin, a.quantity FROM balances a JOIN parts p ON p.id = a.part_id
  JOIN bins b ON b.id = a.bin_id WHERE a.quantity > 0
  UNION ALL SELECT p.number, b.name, 1 FROM pieces i JOIN parts p ON p.id = i.part_id JOIN bins b ON b.id = i.bin_id
) found GROUP BY part, bin
"""
_PARTS = (
    "SELECT number, name, kind, kept, unit, maker, maker_number, attributes, hazards, caution, note, level FROM parts"
)
_BINS = "SELECT b.name, b.mixed, b.walk, p.number FROM bins b LEFT JOIN parts p ON p.id = b.part_id"
_OFFERS = """
SELECT p.number, s.name, o.supplier_number, o.price_minor, o.pack FROM offers o JOIN parts p ON p.id = o.part_id
JOIN suppliers s ON s.id = o.supplier_id
"""


def _everything() -> list[set[Any]]:
    return [set(map(tuple, execute(sql).fetchall())) for sql in (_QUANTITIES, _PARTS, _BINS, _OFFERS)]


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(drawn=a_bench(), line_ends=st.sampled_from(["\r\n", "\n"]))
def test_what_goes_out_comes_in_again_as_the_same_parts_bins_quantities_and_offers(
    drawn: list[dict[str, Any]], line_ends: str
) -> None:
    with database.atomic() as everything:
        _made(drawn)
        text, before = stock_list_csv("EUR"), _everything()
        everything.rollback()
    with database.atomic() as everything:
        looked = stock_list_import.preview_stock_list(text, "EUR")
        assert (looked.wrong, looked.not_known) == ((), ())
        stock_list_import.import_stock_list(text.replace("\r\n", line_ends), "EUR")
        assert _everything() == before
        assert stock_list_csv("EUR") == text
        assert verify.verify_ledger().sound
        everything.rollback()


def test_the_list_of_one_bench_fills_another(request: pytest.FixtureRequest, fresh_sqlite: FreshDatabase) -> None:
    from inventory.store.connection import temporarily_bound

    part, _, _ = a_stocked_part(7)
    text = stock_list_csv("EUR")
    with fresh_sqlite() as url, temporarily_bound(url):
        stock_list_import.import_stock_list(text, "EUR")
        assert stock_list_csv("EUR") == text
        assert parts.parts().items[0].number == part.number
