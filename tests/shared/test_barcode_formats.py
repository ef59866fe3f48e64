"""Bag codes: what suppliers print, what scanners make of it, and what is refused."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared import bag_code_reader
from shared.bag_code import BadBagCode
from shared.bag_code_reader import (
    element_string_from_gtin,
    envelope_from_barcodes,
    looks_like_bag_code,
    parse_bag_code,
)
from shared.gs1 import has_valid_check_digit

TODAY = date(2026, 11, 25)
GS, RS, EOT = "\x1d", "\x1e", "\x04"

FIELDS = ("PHS-0412", "1PWB-H4-200", "30PNG-558", "Q250", "1TNG88121", "9D2631", "K4711", "1K90210", "11K77",
          "4LTW", "S00017", "1VNorthgate")  # fmt: skip
ENVELOPE = f"[)>{RS}06{GS}{GS.join(FIELDS)}{RS}{EOT}"


def spell_separators(gs: str, rs: str, eot: str) -> str:
    return ENVELOPE.replace(GS, gs).replace(RS, rs).replace(EOT, eot)


def test_it_reads_every_identifier_of_an_electronics_bag() -> None:
    """ASC MH10.8.2 identifiers as ECIA EIGP 114 (2018) uses them; the bag is invented."""
    bag = parse_bag_code(ENVELOPE, TODAY)
    assert bag.standard == "MH10.8.2"
    assert (bag.customer_part, bag.supplier_part, bag.distributor_part) == ("HS-0412", "WB-H4-200", "NG-558")
    assert bag.part_numbers == ("HS-0412", "WB-H4-200", "NG-558")
    assert (bag.quantity, bag.lot, bag.serial) == (250, "NG88121", "00017")
    assert (bag.order, bag.supplier_order, bag.packing_list) == ("4711", "90210", "77")
    assert (bag.country, bag.maker) == ("TW", "Northgate")
    assert (bag.date_code, bag.made) == ("2631", date(2026, 7, 27))
    assert bag.doubts == ()
    assert bag.raw == ENVELOPE


@pytest.mark.parametrize(
    "text",
    [
        spell_separators("{GS}", "{RS}", "{EOT}"),
        spell_separators("<GS>", "<RS>", "<EOT>"),
        spell_separators("<gs>", "<rs>", "<eot>"),
        spell_separators("[GS]", "[RS]", "[EOT]"),
        spell_separators("^]", "^^", "^D"),
        spell_separators("\\x1d", "\\x1e", "\\x04"),
        spell_separators("\u241d", "\u241e", "\u2404"),
        spell_separators(GS, RS, ""),
        spell_separators(GS, "", ""),
        spell_separators("{GS}", "", ""),
        f"]d1{ENVELOPE}",
        f"  {ENVELOPE}\r\n",
        f"[)>06{GS}{GS.join(FIELDS)}",
        ENVELOPE.replace("HS-0412", "HS\x00-0412") + "\x00",
    ],
)
def test_it_understands_what_hand_scanners_make_of_it(text: str) -> None:
    assert looks_like_bag_code(text)
    bag = parse_bag_code(text, TODAY)
    assert (bag.customer_part, bag.quantity, bag.lot, bag.maker) == ("HS-0412", 250, "NG88121", "Northgate")
    assert bag.raw == text


def test_it_understands_a_keyboard_with_capitals_reversed() -> None:
    bag = parse_bag_code("[)>{rs}06{gs}phs-0412{gs}q25{gs}1tab12", TODAY)
    assert (bag.customer_part, bag.quantity, bag.lot) == ("HS-0412", 25, "AB12")


@pytest.mark.parametrize(
    ("fields", "name", "value"),
    [
        ("P1{GS}10D2631", "made", date(2026, 7, 27)),
        ("P1{GS}11D202631", "made", date(2026, 7, 27)),
        ("P1{GS}9D2631{GS}16D20260730", "made", date(2026, 7, 30)),
        ("P1{GS}16D20260730", "made", date(2026, 7, 30)),
        ("P1{GS}14D20280131", "expires", date(2028, 1, 31)),
        ("P1{GS}9D9801", "made", date(1997, 12, 29)),
        ("P1{GS}9DWEEK31", "date_code", "WEEK31"),
        ("P1{GS}VNorthgate", "maker", "Northgate"),
        ("P1{GS}Q25.00", "quantity", 25),
        ("P1{GS}Q0025EA", "quantity", 25),
        ("P1{GS}13ZABC{GS}4K2", "others", (("13Z", "", "ABC"), ("4K", "Line of our order", "2"))),
        ("P1{GS}1T", "lot", ""),
    ],
)
def test_it_reads_dates_and_odd_forms(fields: str, name: str, value: object) -> None:
    assert getattr(parse_bag_code(f"[)>{{RS}}06{{GS}}{fields}{{RS}}{{EOT}}", TODAY), name) == value


@pytest.mark.parametrize(
    ("fields", "doubt"),
    [
        ("P1{GS}16D20270601", "It says it was made on 2027-06-01, which is still to come: check the bag."),
        ("P1{GS}14D20200101", "It went out of date on 2020-01-01."),
        ("P1{GS}1TA{GS}1TB", "It gives the lot twice, A and B: check the bag."),
        (
            "P1{GS}16D20261001{GS}14D20260901",
            "It says it went out of date before it was made: check the bag.",
        ),
    ],
)
def test_it_reads_what_is_odd_and_says_so(fields: str, doubt: str) -> None:
    assert doubt in parse_bag_code(f"[)>{{RS}}06{{GS}}{fields}", TODAY).doubts


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "This is no bag code that can be read here: scan another code on the bag, or type it."),
        ("hello", "This is no bag code that can be read here: scan another code on the bag, or type it."),
        (
            "https://example.org/menu",
            "This is a web address, not a bag code: look for the supplier's other code on the bag.",
        ),
        (
            "[)>06PHS-0412Q2501TNG88121",
            "The scanner left out the separators between the fields. Set it to type {GS} for them (its manual calls "
            "them control characters or function codes), or take a photo of the code.",
        ),
        (
            "[)>",
            "This envelope holds format 'none'; only 05 and 06 can be read: type the bag.",
        ),
        (
            "[)>{RS}12{GS}PABC",
            "This envelope holds format '12'; only 05 and 06 can be read: type the bag.",
        ),
        ("[)>{RS}06{GS}", "The code holds nothing that can be used here: type the bag by hand."),
        ("[)>{RS}06{GS}13ZABC", "The code holds nothing that can be used here: type the bag by hand."),
        ("[" * 3000, "3000 characters are no bag code: scan one code at a time."),
    ],
)
def test_it_refuses_with_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(BadBagCode) as refusal:
        parse_bag_code(text, TODAY)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("fields", "name", "sentence"),
    [
        ("Q0", "quantity", "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("Q-5", "quantity", "The quantity '-5' is not a whole number: count the bag and type it."),
        ("Qmany", "quantity", "The quantity 'many' is not a whole number: count the bag and type it."),
        (
            "Q99999999999",
            "quantity",
            "The code says that the bag holds 99999999999 pieces, which cannot be: count it and type it.",
        ),
        ("Q5{GS}Q6", "quantity", "The code gives two quantities, 5 and 6: count the bag and type it."),
        ("Q5{GS}Q0", "quantity", "The code says that the bag holds 0 pieces: count it and type the quantity."),
        (
            "14D20270230",
            "expires",
            "'20270230' is no last day that exists: read the bag and type it.",
        ),
        (
            "14D99991231",
            "expires",
            "'99991231' is no last day that can be right: read the bag, and type it if there is one.",
        ),
        (
            "16D00010101",
            "made",
            "'00010101' is no day of making that can be right: read the bag, and type it if there is one.",
        ),
        ("16Dsoon", "made", "'soon' is no day of making (YYYYMMDD): read the bag and type it."),
        ("???", "", "The field '???' begins with no data identifier and was left out: look at the bag."),
    ],
)
def test_it_goes_without_a_field_that_cannot_be_and_reads_the_rest(fields: str, name: str, sentence: str) -> None:
    bag = parse_bag_code(f"[)>{{RS}}06{{GS}}1PWB-H4{{GS}}{fields}{{GS}}1TNG881{{RS}}{{EOT}}", TODAY)
    assert (bag.supplier_part, bag.lot) == ("WB-H4", "NG881")
    assert [(unread.field, unread.sentence) for unread in bag.unread] == [(name, sentence)]
    assert sentence in bag.doubts
    assert name == "" or getattr(bag, name) is None


@pytest.mark.parametrize(
    ("date_code", "doubt"),
    [
        ("2660", "'2660' is no date code: a year has no week 60."),
        ("999901", "'999901' is no date code: 9999 cannot be right."),
    ],
)
def test_it_keeps_a_date_code_that_is_no_week_as_it_is_printed(date_code: str, doubt: str) -> None:
    bag = parse_bag_code(f"[)>{{RS}}06{{GS}}P1{{GS}}9D{date_code}", TODAY)
    assert (bag.date_code, bag.made) == (date_code, None)
    assert bag.doubts == (doubt,)


@pytest.mark.parametrize(
    "text",
    [
        "01095212345432131026A7{GS}3725{GS}17280331",
        "01095212345432131026A7<GS>3725<GS>17280331",
        "(01)09521234543213(10)26A7(37)25(17)280331",
        "(01) 09521234543213 (10) 26A7 (37) 25 (17) 280331",
        "]C101095212345432131026A7\x1d3725\x1d17280331",
        "]d2\x1d01095212345432131026A7\x1d3725\x1d17280331",
        "[)>{RS}05{GS}01095212345432131026A7{GS}3725{GS}17280331{RS}{EOT}",
    ],
)
def test_it_reads_gs1_codes(text: str) -> None:
    assert looks_like_bag_code(text)
    bag = parse_bag_code(text, TODAY)
    assert bag.standard == "GS1"
    assert (bag.gtin, bag.lot, bag.quantity, bag.expires) == ("09521234543213", "26A7", 25, date(2028, 3, 31))
    assert bag.raw == text


@pytest.mark.parametrize(
    ("elements", "name", "value"),
    [
        ("21SN17", "serial", "SN17"),
        ("11260730", "made", date(2026, 7, 30)),
        ("15280200", "best_before", date(2028, 2, 29)),
        ("240WB-H4", "supplier_part", "WB-H4"),
        ("241HS-0412", "customer_part", "HS-0412"),
        ("4004711", "order", "4711"),
        ("422158", "country", "158"),
        ("30000012", "quantity", 12),
        ("9912Z", "others", (("99", "Information of the company", "12Z"),)),
    ],
)
def test_it_reads_gs1_elements(elements: str, name: str, value: object) -> None:
    assert getattr(parse_bag_code("0109521234543213" + elements, TODAY), name) == value


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "0109521234543214",
            "The check digit of 09521234543214 is wrong: scan it again, or type what is missing.",
        ),
        (
            "(01)0952123454321",
            "After (01) come 14 digits, not '0952123454321'. Scan it again, or type what is missing.",
        ),
        ("(10)", "After (10) come 1 to 20 characters, not ''. Scan it again, or type what is missing."),
        ("(37)0", "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("]C1", "This is no bag code that can be read here: scan another code on the bag, or type it."),
    ],
)
def test_it_refuses_gs1_with_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(BadBagCode) as refusal:
        parse_bag_code(text, TODAY)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("elements", "name", "sentence"),
    [
        ("10{GS}", "lot", "After (10) come 1 to 20 characters, not ''. Scan it again, or type what is missing."),
        (
            "10ABCDEFGHIJKLMNOPQRSTUVWXYZ{GS}",
            "lot",
            "After (10) come 1 to 20 characters, not 'ABCDEFGHIJKLMNOPQRSTUVWXYZ'. The scanner may have left out a "
            "separator. Scan it again, or type what is missing.",
        ),
        (
            "888{GS}",
            "",
            "'888' is no identifier that bags carry; the scanner may have left out a separator. Scan it again, "
            "or type what is missing.",
        ),
        ("17281340", "expires", "'281340' is no last day that exists: read the bag and type it."),
        (
            "1728AB31{GS}",
            "expires",
            "After (17) come 6 digits, not '28AB31'. Scan it again, or type what is missing.",
        ),
        ("172813{GS}", "expires", "After (17) come 6 digits, not '2813'. Scan it again, or type what is missing."),
        ("370{GS}", "quantity", "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("305{GS}376{GS}", "quantity", "The code gives two quantities, 5 and 6: count the bag and type it."),
    ],
)
def test_it_goes_without_an_element_that_cannot_be_and_reads_the_rest(
    elements: str, name: str, sentence: str
) -> None:
    bag = parse_bag_code(f"0109521234543213{elements}21S7", TODAY)
    assert (bag.gtin, bag.serial) == ("09521234543213", "S7")
    assert [(unread.field, unread.sentence) for unread in bag.unread] == [(name, sentence)]
    assert name == "" or not getattr(bag, name)


def test_it_takes_no_product_number_with_a_wrong_check_digit() -> None:
    bag = parse_bag_code("(01)09521234543214(10)26A7(37)25", TODAY)
    assert (bag.gtin, bag.part_numbers, bag.lot, bag.quantity) == ("", (), "26A7", 25)
    assert bag.doubts == ("The check digit of 09521234543214 is wrong: scan it again, or type what is missing.",)


def test_it_doubts_a_lot_that_may_have_swallowed_the_quantity() -> None:
    bag = parse_bag_code("010952123454321310AB123725", TODAY)
    assert bag.lot == "AB123725"
    assert bag.doubts == ("Check that the lot is AB123725: no separator came with the code.",)
    assert parse_bag_code("010952123454321310AB12", TODAY).doubts == ()


@pytest.mark.parametrize(
    ("digits", "valid"),
    [("9521234543213", True), ("9521234543214", False), ("412345678903", True), ("", False), ("x", False)],
)
def test_it_checks_the_last_digit(digits: str, valid: bool) -> None:
    """EAN-13 under GS1's demonstration prefix 952, UPC-A of the range for use inside one firm (4)."""
    assert has_valid_check_digit(digits) is valid


@pytest.mark.parametrize("text", ["B7KM4Q2XR", "HTTPS://BENCH.LAN/S/B7KM4Q2XR", "header 2.0", "01", ""])
def test_it_leaves_other_texts_to_others(text: str) -> None:
    assert not looks_like_bag_code(text)


pieces = st.sampled_from(
    ["[)>", RS, GS, EOT, "06", "05", "P1", "Q", "25", "1T", "{GS}", "(01)", "09521234543213", "9D26"]
)


@given(st.lists(pieces | st.text(max_size=6), max_size=14))
def test_whatever_is_scanned_it_is_read_or_refused_with_a_sentence(parts: list[str]) -> None:
    text = "".join(parts)
    try:
        bag = parse_bag_code(text, TODAY)
    except BadBagCode as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017 - both outcomes are right
    else:
        assert bag.raw == text
        assert bag.quantity is None or bag.quantity > 0


def test_it_spells_separators_so_that_they_can_be_shown_kept_and_read_again() -> None:
    spelled = bag_code_reader.spell_separators(ENVELOPE)
    assert spelled.isprintable()
    assert spelled.startswith("[)>{RS}06{GS}PHS-0412{GS}1PWB-H4-200{GS}")
    assert (
        spelled
        == bag_code_reader.spell_separators(spelled)
        == bag_code_reader.spell_separators(spell_separators("^]", "^^", "^D"))
    )
    assert parse_bag_code(spelled, TODAY).part_numbers == parse_bag_code(ENVELOPE, TODAY).part_numbers


@pytest.mark.parametrize(
    ("digits", "element"),
    [
        ("9521234543213", "(01)09521234543213"),
        ("412345678903", "(01)00412345678903"),
        (" 09521234543213 ", "(01)09521234543213"),
        ("9521234543214", ""),
        ("12345", ""),
        ("WB-H4", ""),
        ("٩٥٢١٢٣٤٥٤٣٢١٣", ""),
    ],
)
def test_it_takes_the_bare_digits_of_a_product_for_a_gtin(digits: str, element: str) -> None:
    """EAN-13 and UPC-A examples as above."""
    assert element_string_from_gtin(digits) == element
    if element:
        assert parse_bag_code(element, TODAY).gtin == element.removeprefix("(01)")


def test_it_joins_bar_codes_of_one_field_each() -> None:
    joined = envelope_from_barcodes(["Q25", "1PWB-H4-200", "1TNG881", "hello", "Q30", "9D2631"])
    bag = parse_bag_code(joined, TODAY)
    assert (bag.supplier_part, bag.quantity, bag.lot, bag.date_code) == ("WB-H4-200", 25, "NG881", "2631")


@pytest.mark.parametrize(
    "texts", [[], ["1PWB-H4"], ["Q25", "1TNG881"], ["P", "Q25"], ["HELLO", "WORLD"], ["PX", "QUITE"]]
)
def test_it_joins_no_bar_codes_that_stand_alone_or_name_no_part(texts: list[str]) -> None:
    assert envelope_from_barcodes(texts) == ""
