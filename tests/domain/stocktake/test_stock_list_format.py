"""A stock list as spreadsheets save it, and as it should never be: any bytes, any cell, any number."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.common.csv_text import as_csv
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.stocktake import stock_list_import
from inventory.domain.stocktake.stock_list_columns import COLUMN_KEYS
from inventory.domain.stocktake.stock_list_records import PreviewedStockList, PreviewRow
from inventory.domain.stocktake.stock_list_table import decode_file
from inventory.store import verify
from inventory.store.connection import database, execute
from inventory.store.tables import Bin, Offer, Part, Supplier

pytestmark = pytest.mark.usefixtures("bench")


def look(text: str) -> PreviewedStockList:
    return stock_list_import.preview_stock_list(text, "EUR")


def take(text: str, **more: Any) -> Any:
    return stock_list_import.import_stock_list(text, "EUR", **more)


def the_row(text: str) -> PreviewRow:
    return look(text).rows[0]


MARKED = "Number;Name;Bin;Quantity\r\nÄ-1;Lüfter 24 V;Fach 1;12\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("mark", [";", ",", "\t"])
def test_it_is_read_however_a_spreadsheet_saves_it(encoding: str, mark: str) -> None:
    sent = MARKED.replace(";", mark).encode(encoding)
    row = the_row(decode_file(sent))
    assert (row.number, row.name, row.bin_name, row.quantity) == ("Ä-1", "Lüfter 24 V", "Fach 1", 12)


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" * 9, "That is no text"), (bytes(range(256)), "That is no text"),
        (b"PK\x03\x04\x14\x00\x06\x00", "That is a whole workbook"), (b"\xff\xfe\x00\xd8", "That is no text"),
        (b"x" * 10_000_000, "The file has 10.0 MB, and 2 MB are taken: split it."),
    ],
)  # fmt: skip
def test_what_is_no_text_is_refused_in_a_sentence(sent: bytes, sentence: str) -> None:
    with pytest.raises(Invalid) as refused:
        look(decode_file(sent))
    assert refused.value.sentence.startswith(sentence)


PLAUSIBLE = {
    "number": ["P-1", "P-2", "p-1", "=3"], "name": ["clip"], "kind": ["fan"], "kept": ["individually", "counted"],
    "unit": ["piece", "m"], "maker": ["Kestrel", "kestrel"], "maker_number": ["KC-1", "KC-2"], "level": ["5", "0"],
    "bin": [f"A-{number}" for number in range(30)], "mixed": ["yes", "no"], "walk": ["7"],
    "quantity": ["1", "0", "3 x"], "best_before": ["2027-01-01", "31.12.2027"], "supplier": ["North", "Quay"],
    "price": ["3", "€ 4,50"], "supplier_number": ["N-1"], "pack": ["1", "9"], "hazards": ["none", "lead, hot"],
    "volts": ["24"], "plug": ["=B"],
}  # fmt: skip
OFTEN = {"number", "name", "bin", "quantity"}


@st.composite
def some_rows(draw: Any) -> list[list[str]]:
    """Draw rows as shops write them: most cells empty, most others plausible, a few anything at all."""
    full, odd = draw(st.sampled_from([0.02, 0.15])), draw(st.sampled_from([0.0, 0.01]))
    chance = Random(draw(st.integers(0, 10**9)))  # evenly drawn: what Hypothesis draws itself leans to the odd
    return [[_a_cell(chance, key, full, odd) for key in COLUMN_KEYS] for _ in range(draw(st.integers(1, 4)))]


def _a_cell(chance: Random, key: str, full: float, odd: float) -> str:
    if chance.random() < odd:
        return "".join(chance.choice("a1 ,;\"'=-\u0661\u0645\u202e\n%") for _ in range(6))
    filled = key in PLAUSIBLE and chance.random() < (0.95 if key in OFTEN else full)
    return str(chance.choice(PLAUSIBLE[key])) if filled else ""


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lists=st.lists(some_rows(), min_size=1, max_size=3))
def test_a_list_without_a_fault_is_taken_in_as_it_was_looked_at_and_no_other(lists: list[list[list[str]]]) -> None:
    with database.atomic() as everything:
        for rows in lists:
            text = as_csv(COLUMN_KEYS, rows)
            looked, refused = _looked(text)
            assert all(refusal.endswith((".", "?")) for refusal in refused), refused
            if looked is not None and not refused:
                assert take(text, on_top=True).totals == looked.totals
        assert verify.verify_ledger().sound
        everything.rollback()


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(sent=st.binary(max_size=200) | st.text("number,ame;\t\n\r\"' 1", max_size=80).map(str.encode))
def test_whatever_bytes_are_sent_a_list_is_looked_at_or_refused_in_a_sentence(sent: bytes) -> None:
    refused = _looked(sent)[1]
    assert all(refusal.endswith(".") for refusal in refused), refused


def _looked(sent: str | bytes) -> tuple[PreviewedStockList | None, list[str]]:
    """Look at a list; return what is said of it, and everything that is wrong with it."""
    try:
        looked = look(decode_file(sent) if isinstance(sent, bytes) else sent)
    except Invalid as refused:
        return None, [refused.sentence]
    return looked, [fault.sentence for fault in looked.wrong]


HOSTILE = (
    "=1+1", "'=1+1", "@SUM(A1)", "-cmd", "+x", "'; DROP TABLE parts; --", "<script>alert(1)</script>",
    "مروحة ٢٤ فولت", "{{ 7*7 }}", "100%_!", "a\u202eb", 'quote " in, it',
)  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_whatever_stands_in_a_cell_is_data(text: str) -> None:
    cell = '"' + text.replace('"', '""') + '"'
    columns = ("number", "name", "maker", "maker_number", "note", "caution", "bin", "supplier", "supplier_number")
    take(f"{','.join(columns)},kind,price,finish\n" + ",".join([cell] * 9) + ",other,1,")
    part = Part.get()
    expected = (
        text.removeprefix("'")
        if text == "'=1+1"
        else "".join(character for character in text if character.isprintable())
    )
    assert {part.number, part.name, part.maker, part.maker_number, part.note, part.caution, Bin.get().name} == {
        expected
    }
    assert {Supplier.get().name, Offer.get().supplier_number} == {expected}


@pytest.mark.parametrize("text", HOSTILE)
def test_whatever_stands_where_a_number_or_a_word_belongs_is_a_fault(text: str) -> None:
    cell = '"' + text.replace('"', '""') + '"'
    columns = ("kind", "kept", "unit", "level", "quantity", "best_before", "price", "pack", "ways", "hazards", "walk")
    looked = look(f"number,name,bin,{','.join(columns)}\nP-1,clip,A-1," + ",".join([cell] * len(columns)))
    assert {fault.heading for fault in looked.wrong} >= {"kind", "kept", "unit", "quantity", "best_before", "walk"}
    with pytest.raises(DomainError):
        take(f"number,name,bin,{','.join(columns)}\nP-1,clip,A-1," + ",".join([cell] * len(columns)))
    assert execute("SELECT COUNT(*) FROM parts").fetchone()[0] == 0
