"""A bench's stock comes in from a spreadsheet: looked at first, taken in whole or not at all."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from peewee import DatabaseError

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import bins, parts
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.proof import pieces
from inventory.domain.stocktake import stock_list_import
from inventory.domain.stocktake.stock_list_columns import COLUMNS, column_key, normalize_heading
from inventory.domain.stocktake.stock_list_records import PreviewedStockList, PreviewRow
from inventory.domain.stocktake.stock_list_table import MAX_ROWS
from inventory.store import connection, verify
from inventory.store.connection import execute, is_sqlite
from inventory.store.tables import Bin, Lot, Movement, Offer, Part, Piece, Supplier
from tests.factories import a_bin, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")

SHOP = """Number;Name;Kind;Pitch (mm);Ways;Counted in;Bin;Quantity;Best before;Supplier;Price;Pack size
X-1;4-way header;Connector;2,0;4;;A-1;12;;Northgate Components;12,50;100
X-1;;;;;;A-2;30;;;;
X-2;Fan 24 V;fan;;;;A-3;3;;;;
X-3;"Silicone wire,
red";consumable;;;m;A-4;1,5;2028-03-31;Quayside Spares;8;10
"""


def look(text: str) -> PreviewedStockList:
    return stock_list_import.preview_stock_list(text, "EUR")


def take(text: str, **more: Any) -> Any:
    return stock_list_import.import_stock_list(text, "EUR", **more)


def wrong(text: str) -> list[str]:
    return [str(fault) for fault in look(text).wrong]


def the_row(text: str) -> PreviewRow:
    return look(text).rows[0]


def counts() -> list[int]:
    """Return how much the bench has of everything that a list may add."""
    tables: tuple[Any, ...] = (Part, Bin, Supplier, Offer, Lot, Piece, Movement)
    return [table.select().count() for table in tables]


# ---- what it takes in ------------------------------------------------------------------------------------


def test_a_shop_s_list_becomes_parts_bins_offers_and_lots() -> None:
    taken = take(SHOP)
    header = Part.get(Part.number == "X-1")
    assert (header.kind, header.attributes) == ("connector", {"pitch_mm": 2, "ways": 4})
    assert (stock_of(header.id).on_shelf, [bin_.name for bin_ in bins.bins(part_id=header.id).items]) == (
        42, ["A-1", "A-2"]
    )  # fmt: skip
    offer = suppliers.offers(part_id=header.id).items[0]
    assert (offer.supplier, offer.price_minor, offer.pack) == ("Northgate Components", 1250, 100)
    wire = Part.get(Part.number == "X-3")
    assert (wire.unit, wire.name, stock_of(wire.id).on_shelf) == ("mm", "Silicone wire,\nred", 1500)
    assert suppliers.offers(part_id=wire.id).items[0].pack == 10_000  # ten of the unit that the row says: metres
    lot = Lot.get(Lot.part == wire)
    assert (lot.origin, lot.best_before.isoformat(), lot.origin_note) == (
        "found", "2028-03-31", f"stock list {taken.id}, row 5"
    )  # fmt: skip
    assert (taken.totals.new_parts, taken.totals.new_bins, taken.totals.lots) == (3, 4, 4)
    assert [bins.get_bin(key).name for key in taken.bin_ids] == ["A-1", "A-2", "A-3", "A-4"]
    assert verify.verify_ledger().sound


def test_looking_writes_nothing_and_says_what_taking_in_then_does() -> None:
    before = counts()
    looked = look(SHOP)
    assert counts() == before
    assert [(row.part, row.bin, row.supplier, row.offer) for row in looked.rows] == [
        ("new", "new", "new", "new"), ("known", "new", "", ""), ("new", "new", "", ""), ("new", "new", "new", "new"),
    ]  # fmt: skip
    assert take(SHOP).totals == looked.totals


FULL = "(SELECT COUNT(*) FROM lots) >= 2"
FULL_AFTER_TWO_LOTS = {
    True: [f"CREATE TRIGGER full BEFORE INSERT ON lots WHEN {FULL} BEGIN SELECT RAISE(ABORT, 'full'); END"],
    False: [
        "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN IF {FULL} THEN RAISE EXCEPTION 'full'; END IF; RETURN NEW; END $$",
        "CREATE TRIGGER full_after_two BEFORE INSERT ON lots FOR EACH ROW EXECUTE FUNCTION full_disk()",
    ],
}


def test_what_breaks_off_half_way_leaves_nothing_behind() -> None:
    before = counts()
    for sql in FULL_AFTER_TWO_LOTS[is_sqlite()]:
        execute(sql)
    with pytest.raises(DatabaseError, match="full"):
        take(SHOP)
    assert counts() == before
    assert stock_list_import.list_imports().items == []
    assert verify.verify_ledger().sound


def test_two_at_once_take_the_same_list_in_once(database_url: str) -> None:
    def one() -> str:
        connection.connect()
        try:
            return str(take(SHOP).id)
        except Conflict as refused:
            return refused.reason
        finally:
            connection.database.close()

    with ThreadPoolExecutor(2) as both:
        outcomes = sorted(both.map(lambda _: one(), range(2)))
    assert outcomes == ["1", "on_top"]
    assert stock_of(Part.get(Part.number == "X-1").id).on_shelf == 42


def test_a_part_kept_individually_comes_as_pieces_with_labels_of_their_own() -> None:
    text = "number,name,kind,kept,bin,quantity\nS-1,24 V supply,supply,Each with its own label,C-1,3"
    assert (the_row(text).pieces, look(text).totals.pieces) == (3, 3)
    take(text)
    assert len(pieces.pieces(part_id=Part.get(Part.number == "S-1").id).items) == 3


def test_bins_without_a_part_and_parts_without_a_bin_come_too() -> None:
    take(
        "number,name,bin,mixed,walk,quantity\n,,D-1,yes,4,\nP-1,clip,,,,\n,,D-2,,,\nP-2,nut,D-1,,,5\nP-3,bolt,D-1,,,0"
    )
    stored = {bin_.name: (bin_.mixed, bin_.walk, bin_.part_id) for bin_ in Bin.select()}
    assert stored == {"D-1": (True, 4, None), "D-2": (False, 0, None)}
    assert [part.number for part in Part.select().order_by(Part.number)] == ["P-1", "P-2", "P-3"]
    assert Lot.select().count() == 1


def test_a_part_without_a_number_takes_its_maker_s() -> None:
    text = "name,maker,maker number,bin,quantity\nheader,Kestrel,KC-204,A-1,3\n,kestrel,kc-204,A-2,4"
    assert the_row(text).mind[0] == "It has no number: its maker's, KC-204, is taken."
    take(text)
    assert stock_of(Part.get(Part.number == "KC-204").id).on_shelf == 7


# ---- what the bench knows already ------------------------------------------------------------------------


def test_a_known_part_keeps_what_it_is_and_what_differs_is_said() -> None:
    part = a_part(
        "4-way header", number="P-1", maker="Kestrel", maker_number="KC-204", attributes={"ways": 4}, level=5
    )
    text = "number,name,kind,ways,level,bin,quantity\nP-1,old header,connector,5,5,A-1,3"
    assert the_row(text).mind == (
        "name stays '4-way header' here; the list says 'old header'.", "ways stays '4' here; the list says '5'."
    )  # fmt: skip
    take(text)
    now = parts.part(part.id)
    assert (now.name, now.attributes, now.version) == ("4-way header", {"ways": 4}, part.version)
    assert stock_of(part.id).on_shelf == 3


@pytest.mark.parametrize("row", [",Kestrel,KC-204", "OTHER,kestrel,kc-204", ",,KC-204"])
def test_a_part_is_known_by_its_maker_s_number(row: str) -> None:
    part = a_part(number="P-1", maker="Kestrel", maker_number="KC-204")
    list_row = the_row(f"number,maker,maker_number,bin,quantity\n{row},A-1,2")
    assert (list_row.number, list_row.part, list_row.wrong) == ("P-1", "known", ())
    take(f"number,maker,maker_number,bin,quantity\n{row},A-1,2")
    assert stock_of(part.id).on_shelf == 2


def test_a_maker_s_number_that_several_parts_have_is_asked_about() -> None:
    for number in ("P-1", "P-2"):
        a_part(number=number, maker="Kestrel", maker_number="KC-204")
    assert wrong("maker_number,bin,quantity\nKC-204,A-1,2") == [
        "Row 2: Several parts here have this maker's number: give the number of the one that is meant."
    ]


def test_what_comes_on_top_of_stock_is_said_and_needs_a_word() -> None:
    part, bin_, _ = a_stocked_part(5)
    text = f"number,bin,quantity\n{part.number},{bin_.name},7"
    assert the_row(text).mind == (f"Bin {bin_.name} holds 5 pieces already: these come on top.",)
    with pytest.raises(Conflict, match="In one row there is some in the bin already"):
        take(text)
    assert stock_of(part.id).on_shelf == 5
    take(text, on_top=True)
    assert stock_of(part.id).on_shelf == 12


def test_just_the_same_list_again_needs_a_word_too() -> None:
    text = "number,name,bin\nP-1,clip,A-1"
    taken = take(text)
    assert look(text.replace("\n", "\r\n") + "\r\n").before == taken
    with pytest.raises(Conflict, match="Just this list was taken in on"):
        take(text)


def test_a_bin_that_waits_for_its_part_gets_it() -> None:
    free = a_bin(name="A-1")
    take("number,name,bin\nP-1,clip,A-1")
    assert bins.get_bin(free.id).part_id == Part.get(Part.number == "P-1").id


def test_a_known_offer_stays_and_what_differs_is_said() -> None:
    take(SHOP)
    text = "number,supplier,price,pack\nX-1,Northgate Components,13.00,100\nX-2,Northgate Components,9,1"
    looked = look(text)
    assert [row.offer for row in looked.rows] == ["known", "new"]
    assert looked.rows[0].mind == (
        "The offer of Northgate Components stays 12.50 EUR for 100 pieces here; the list says otherwise.",
    )
    take(text)
    assert [offer.price_minor for offer in Offer.select().order_by(Offer.id)] == [1250, 800, 900]


def test_names_that_differ_in_capitals_only_are_pointed_at() -> None:
    a_bin(a_part(number="p-1"), name="a-1")
    suppliers.add_supplier("northgate")
    assert the_row("number,name,bin,supplier,price\nP-1,clip,A-1,Northgate,1").mind == (
        "There is a part p-1 here, which is not the same as P-1.",
        "No kind is said: it is taken as other.",
        "There is a bin a-1 here, which is not the same as A-1.",
        "There is a supplier northgate here, which is not the same as Northgate.",
    )


# ---- what is wrong ---------------------------------------------------------------------------------------

HEAD = "Number,Name,Kind,Kept,Unit,Ways,Bin,Quantity,Best before,Supplier,Price,Pack\n"


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ("P-1,clip,conector,,,,,,,,,", "Row 2, Kind: 'conector' is no kind: write one of connector, fan"),
        ("P-1,clip,,sometimes,,,,,,,,", "Row 2, Kept: 'sometimes' is no way to keep a part: write one of counted"),
        ("P-1,clip,,,stone,,,,,,,", "Row 2, Unit: 'stone' is no unit: write one of piece"),
        ("P-1,clip,fan,,,4,,,,,,", "Row 2, Ways: A part of the kind fan has no attribute 'ways'"),
        ("P-1,clip,connector,,,four,,,,,,", "Row 2, Ways: Ways must be a number"),
        ("P-1,clip,,,,,A-1,a few,,,,", "Row 2, Quantity: 'a few' is not a quantity, such as 12."),
        ("P-1,clip,,,,,A-1,-4,,,,", "Row 2, Quantity: The quantity cannot be negative; -4 was given."),
        ("P-1,clip,,,,,A-1,1.5,,,,", "Row 2, Quantity: '1.5' is not a whole number of pieces"),
        ("P-1,clip,,,,,A-1,99999999999,,,,", "Row 2, Quantity: The quantity cannot be more than 1000000000"),
        ("P-1,clip,,,,,,4,,,,", "Row 2, Quantity: Nothing says in which bin they are: name it."),
        (",,,,,,A-1,4,,,,", "Row 2, Quantity: Nothing says of which part: give its number."),
        ("P-1,,fan,,,,,,,,,", "Row 2, Name: Part P-1 is new here: give it a name."),
        (",clip,,,,,,,,,,", "Row 2: Nothing says which part this is: give its number, or its maker's number."),
        (",,,,,,,,2027-01-01,,,", "Row 2: Nothing says what this row is about: give a part's number, or a bin."),
        (
            "P-1,clip,supply,individually,,,A-1,501,,,,",
            "Row 2, Quantity: Each gets a label of its own, and at most 500",
        ),
        ("P-1,clip,supply,individually,mm,,,,,,,", "Row 2: A part kept individually is counted in pieces."),
        ("P-1,clip,,,,,A-1,4,03/04/2027,,,", "Row 2, Best before: '03/04/2027' can be read in two ways"),
        ("P-1,clip,,,,,A-1,4,soon,,,", "Row 2, Best before: 'soon' is no day"),
        ("P-1,clip,,,,,A-1,4,2027-02-30,,,", "Row 2, Best before: '2027-02-30' is no day"),
        ("P-1,clip,,,,,A-1,4,1027-02-03,,,", "Row 2, Best before: The day 1027-02-03 cannot be right"),
        ("P-1,clip,,,,,,,,,3.00,", "Row 2, Price: Nothing says who sells it: name the supplier"),
        ("P-1,clip,,,,,,,,Northgate,cheap,", "Row 2, Price: 'cheap' is not a sum of money"),
        ("P-1,clip,,,,,,,,Northgate,3,0", "Row 2, Pack: The quantity must be at least 1 piece"),
        (f"{'P' * 61},clip,,,,,,,,,,", "Row 2, Number: The number is 61 characters long: shorten it to 60."),
        ("P-1,clip,,,,,A-1,1,,,,,extra", "Row 2: There is more here than there are headings"),
        ("P-1,clip,,,,,A-1,4,,,,\nP-2,nut,,,,,A-1,4,,,,", "Row 3, Bin: Row 2 puts part P-1 into bin A-1"),
        ("P-1,clip,,,,,A-1,4,,,,\nP-1,,,,,,A-1,4,,,,", "Row 3: This is the same part in the same bin as row 2"),
        ("P-1,clip,,,,,,,,,,\nP-1,,,,,,,,,,,", "Row 3: This is the same part, without a bin, as row 2"),
        ("P-1,clip,,,,,A-1,4,,,,\nP-1,nut,,,,,A-2,4,,,,", "Row 3, Name: Row 2 says otherwise of part P-1"),
        ("P-1,clip,,,,,,,,N,3,1\nP-1,,,,,,A-2,,,N,4,1", "Row 3, Pack: Row 2 says another price or pack"),
    ],
)
def test_a_row_that_cannot_be_right_is_named_and_nothing_is_taken_in(rows: str, sentence: str) -> None:
    before = counts()
    faults = wrong(HEAD + rows)
    assert (len(faults), faults[0].startswith(sentence)) == (1, True), faults
    with pytest.raises(Invalid, match="Nothing was taken in") as refused:
        take(HEAD + rows)
    assert (refused.value.reason, refused.value.errors["text"], counts()) == ("rows_wrong", faults, before)


def test_a_row_is_numbered_as_the_spreadsheet_does_it() -> None:
    text = 'number,name,kind\r\n\r\nP-1,"two\r\nlines",fan\r\nP-2,clip,conector\r\n'
    assert wrong(text)[0].startswith("Row 4, kind: ")


def test_another_part_s_bin_is_left_to_it() -> None:
    part, bin_, _ = a_stocked_part(2)
    bins.edit_bin(bin_.id, part_id=None)  # nobody's by name, and still something in it
    own = a_bin(part, name="A-0")
    rows = f"number,name,bin,quantity\nP-1,clip,{bin_.name},4\nP-2,nut,{own.name},4"
    assert wrong(rows) == [
        f"Row {row}, bin: Bin {name} is part {part.number}'s here: choose another bin, or mark that one as mixed "
        "first."
        for row, name in ((2, bin_.name), (3, "A-0"))
    ]


def test_what_is_retired_stays_so() -> None:
    part, bin_ = a_part(number="P-1"), a_bin(name="A-1")
    parts.edit_part(part.id, retired=True)
    bins.edit_bin(bin_.id, retired=True)
    assert [fault.split(":")[1] for fault in wrong("number,name,bin\nP-1,,A-2\nP-2,clip,A-1")] == [
        " Part P-1 is retired here", " Bin A-1 is retired here",
    ]  # fmt: skip


def test_a_unit_of_another_kind_than_the_known_part_s_is_refused() -> None:
    a_part(number="W-1", kind="consumable", unit="mm")
    assert wrong("number,unit,bin,quantity\nW-1,piece,A-1,4") == [
        "Row 2, unit: Part W-1 is kept in mm here, not in piece: put the unit right."
    ]
    assert the_row("number,unit,bin,quantity\nW-1,m,A-1,4").quantity == 4_000
    assert the_row("number,unit,bin,quantity\nW-1,m,A-1,40 cm").quantity == 400
    assert the_row("number,bin,quantity\nW-1,A-1,4").quantity == 4


def test_headings_that_are_not_known_are_named_and_left_out_by_a_word_only() -> None:
    text = "number,name,Colour,bin,,Shelf life\nP-1,clip,red,A-1,seen,long"
    assert look(text).not_known == ("Colour", "column 5, without a heading", "Shelf life")
    with pytest.raises(Invalid, match="Not known here: column 5, without a heading, Shelf life") as refused:
        take(text, leave_out=["COLOUR"])
    assert refused.value.reason == "unknown_headings"
    take(text, leave_out=look(text).not_known)
    assert Part.select().count() == 1


HEADINGS = {
    "What it is, in words": "name", "Your own number": "number", "COUNTED IN": "unit", "pitch": "pitch_mm",
    "Pitch (mm)": "pitch_mm", "Pitch, in mm": "pitch_mm", "Maker\u2019s number": "maker_number", "Rated speed": "rpm",
    "A fixed level": "level", "Price of a pack, EUR": "price", "Price (EUR)": "price", "Price (USD)": None,
    "A pack holds": "pack", "Their number": "supplier_number", "Place in the count walk": "walk", "Eur": None,
    "best-before": "best_before", "Connector and pin-out": "plug", "Plug and pin order": "plug", "": None,
}  # fmt: skip


@pytest.mark.parametrize("heading", HEADINGS)
def test_a_heading_is_known_by_its_key_or_by_the_words_of_the_pages(heading: str) -> None:
    assert column_key(heading, "EUR") == HEADINGS[heading]


def test_no_heading_means_two_columns() -> None:
    values: dict[str, str] = {}
    for column in COLUMNS:
        for word in {normalize_heading(heading) for heading in (column.key, *column.words)}:
            assert values.setdefault(word, column.key) == column.key


def test_an_empty_column_without_a_heading_is_no_column() -> None:
    assert look("number,name,,\nP-1,clip,,\n,,,\n").not_known == ()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "There is nothing in the list"), (" \n,,\n", "The first row must name the columns"),
        ("P-1,clip,fan,A-1\nP-2,nut,other,A-2", "The first row must name the columns"),
        ("Stock of 3 May\nnumber,name\nP-1,clip", "The first row must name the columns"),
        ("number\nP-1\nP-2", "There is one column only, 'number'"),
        ("number|name|bin\nP-1|clip|A-1", "The first row must name the columns"),
        ("number,name,bin", "There is nothing below the headings in row 1."),
        ("name,kind\nclip,fan", "No column says which part a row is about"),
        ("number,Number,name\nP-1,P-2,clip", "The columns 'number' and 'Number' mean the same"),
        ("number,name\nP-1,\"clip\nP-2,nut\n", "Row 2 cannot be read: a quote is opened and not closed"),
        ("number,name\nP-1,\"clip\"s\n", "Row 2 cannot be read"),
        ("number,name," + ",".join(f"c{n}" for n in range(498)) + "\nP-1,clip", "The list has 500 columns"),
        ("number,name\n" + "P,clip\n" * (MAX_ROWS + 1), "The list has more than 5,000 rows: split it."),
        ("number,name\nP-1,\x00clip", "That is no text"),
        ("number,name\nP-1," + "clip" * 600_000, "The text has over 2,000,000 characters"),
    ],
)  # fmt: skip
def test_what_is_no_list_is_refused_in_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(Invalid) as refused:
        look(text)
    assert refused.value.sentence.startswith(sentence), refused.value.sentence


def test_a_list_makes_no_more_pieces_than_anybody_can_label() -> None:
    rows = "".join(f"S-{n},supply,supply,individually,C-{n},500\n" for n in range(11))
    with pytest.raises(Invalid, match="The list makes 5,500 pieces with a label of their own"):
        look("number,name,kind,kept,bin,quantity\n" + rows)
