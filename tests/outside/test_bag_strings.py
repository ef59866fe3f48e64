"""Strings as bags carry them, by published standards: what each is read as, doubted for, or refused with.

The data identifiers are those of ANS MH10.8.2-2016 (edition of 27 August 2020, as a public library of identifiers
transcribes it); envelopes follow ISO/IEC 15434; electronics bags ECIA EIGP 114 (2018); element strings the GS1
General Specifications; addresses the GS1 Digital Link Standard: URI Syntax 1.6. Codes for units are from ANSI X12
data element 355 and UN/ECE Recommendation 20, those for dates from X12 data element 374, all from memory. How
scanners mangle codes, and keys with values in braces: common practice, no published source. Part numbers are
invented, product numbers stand under GS1's demonstration prefix 952.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from shared.bag_code import BadBagCode
from shared.bag_code_reader import looks_like_bag_code, parse_bag_code

TODAY = date(2026, 11, 30)
GTIN = "09521234543213"
LINK = "https://example.com/01/09521234543213"

MH10, ISO, EIGP = "ANS MH10.8.2-2016", "ISO/IEC 15434", "ECIA EIGP 114 (2018)"
GENSPECS, DIGITAL_LINK = "GS1 General Specifications", "GS1 Digital Link URI Syntax 1.6"
X12, REC_20 = "ANSI X12 data elements 355, 374 (memory)", "UN/ECE Recommendation 20 (memory)"
PRACTICE = "common practice, no published source"


def fields(*texts: str) -> str:
    """Return an envelope of format 06 that holds a part number and these fields."""
    return "[)>{RS}06{GS}1PWB-H4{GS}" + "{GS}".join(texts) + "{RS}{EOT}"


READ: list[tuple[str, str, dict[str, Any]]] = [
    # ---- part numbers, quantities, lots
    (EIGP, "[)>{RS}06{GS}PHS-1{GS}1PWB-H4{GS}Q25{GS}9D2631{GS}1TA7{GS}4LTW{RS}{EOT}",
     {"customer_part": "HS-1", "supplier_part": "WB-H4", "quantity": 25, "lot": "A7", "country": "TW",
      "made": date(2026, 7, 27)}),
    (EIGP, "[)>{RS}06{GS}30PNG-5{GS}1PWB-H4{GS}K4711{GS}1K90{GS}11K7{GS}Q1{RS}{EOT}",
     {"distributor_part": "NG-5", "order": "4711", "supplier_order": "90", "packing_list": "7"}),
    (MH10, fields("Q100"), {"quantity": 100}),
    (MH10, fields("1TNG881"), {"lot": "NG881"}),
    (MH10, fields("S00017"), {"serial": "00017"}),
    (MH10, fields("1VNorthgate"), {"maker": "Northgate"}),
    (MH10, fields("VNorthgate"), {"maker": "Northgate"}),
    (MH10, fields("4LDE"), {"country": "DE"}),
    (MH10, fields("K4711"), {"order": "4711"}),
    (MH10, fields("1K90210"), {"supplier_order": "90210"}),
    (MH10, fields("11K77"), {"packing_list": "77"}),
    (MH10, fields("14K4711+2"), {"order": "4711", "others": (("14K", "Line of our order", "2"),)}),
    # ---- dates
    (MH10, fields("9D2631"), {"date_code": "2631", "made": date(2026, 7, 27)}),
    (MH10, fields("10D2631"), {"date_code": "2631", "made": date(2026, 7, 27)}),
    (MH10, fields("11D202631"), {"date_code": "202631", "made": date(2026, 7, 27)}),
    (MH10, fields("13D26202631"), {"date_code": "2631", "made": date(2026, 7, 27)}),
    (MH10, fields("14D20281231"), {"expires": date(2028, 12, 31)}),
    (MH10, fields("15D31122028"), {"expires": date(2028, 12, 31)}),
    (MH10, fields("16D20260730"), {"made": date(2026, 7, 30)}),
    (MH10, fields("17D30072026"), {"made": date(2026, 7, 30)}),
    (MH10, fields("25D20280202"), {"best_before": date(2028, 2, 2)}),
    (MH10, fields("28D20280202"), {"best_before": date(2028, 2, 2)}),
    (X12, fields("6D20281231036"), {"expires": date(2028, 12, 31)}),
    (X12, fields("6D20260730094"), {"made": date(2026, 7, 30)}),
    (X12, fields("5D281231036"), {"expires": date(2028, 12, 31)}),
    (X12, fields("5D260730405"), {"made": date(2026, 7, 30)}),
    (MH10, fields("6D20261001011"), {"others": (("6D", "Date", "20261001011"),)}),  # shipped: shown
    (MH10, fields("12D20261001"), {"others": (("12D", "Date", "20261001"),)}),  # it does not say of what
    (MH10, fields("D261001"), {"others": (("D", "Date", "261001"),)}),
    # ---- what fills no field of ours is shown with its meaning
    (MH10, fields("13E3"), {"others": (("13E", "Moisture level", "3"),)}),
    (MH10, fields("13E2a"), {"others": (("13E", "Moisture level", "2a"),)}),
    (MH10, fields("E3"), {"others": (("E", "Restricted substances", "3"),)}),
    (MH10, fields("10K88"), {"others": (("10K", "Invoice", "88"),)}),
    (MH10, fields("4K2"), {"others": (("4K", "Line of our order", "2"),)}),
    (MH10, fields("2KWB77"), {"others": (("2K", "Waybill", "WB77"),)}),
    (MH10, fields("20D01102026"), {"others": (("20D", "Inspected", "01102026"),)}),
    (MH10, fields("11ZPICK"), {"others": (("11Z", "", "PICK"),)}),
    # ---- amounts with their unit
    (X12, fields("7Q100EA"), {"quantity": 100}),
    (X12, fields("7Q25PC"), {"quantity": 25}),
    (X12, fields("7Q1.5KG"), {"amount": "1.5 kg"}),
    (X12, fields("7Q500GR"), {"amount": "500 g"}),
    (X12, fields("7Q100MR"), {"amount": "100 m"}),
    (X12, fields("7Q250ML"), {"amount": "250 ml"}),
    (REC_20, fields("7Q50MTR"), {"amount": "50 m"}),
    (REC_20, fields("7Q10H87"), {"quantity": 10}),
    # ---- envelopes
    (ISO, "[)>\x1e06\x1d1PWB-H4\x1dQ5\x1e\x04", {"supplier_part": "WB-H4", "quantity": 5}),
    (ISO, "[)>\x1e06\x1d1PWB-H4\x1dQ5", {"quantity": 5}),  # no trailer
    (ISO, f"[)>\x1e05\x1d01{GTIN}10A7\x1d3725\x1e\x04", {"gtin": GTIN, "lot": "A7", "quantity": 25}),
    (ISO, f"[)>\x1e06\x1d1PWB-H4\x1dQ5\x1e05\x1d01{GTIN}10A7\x1e\x04",
     {"supplier_part": "WB-H4", "quantity": 5, "gtin": GTIN, "lot": "A7"}),  # both formats count
    (ISO, "[)>\x1e06\x1d1PWB-H4\x1dQ5\x1e12\x1dNOTE\x1e\x04",
     {"quantity": 5, "others": (("format 12", "Another part of the code", "NOTE"),)}),
    (MH10, "1PWB-H4\x1dQ5\x1d1TA7", {"supplier_part": "WB-H4", "quantity": 5, "lot": "A7"}),  # no envelope
    (MH10, "30PNG-5{GS}Q5", {"distributor_part": "NG-5", "quantity": 5}),
    # ---- as scanners mangle them
    (PRACTICE, "[)>\t06\t1PWB-H4\tQ5\t1TA7\t", {"supplier_part": "WB-H4", "quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>|06|1PWB-H4|Q5|1TA7|", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>#06#1PWB-H4#Q5#1TA7#", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>^06^1PWB-H4^Q5^1TA7", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>06~1PWB-H4~Q5~1TA7", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>^^06^]1PWB-H4^]Q5^]1TA7^^^D", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>~03006~0291PWB-H4~029Q5~0291TA7", {"quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>{rs}06{gs}1pwb-h4{gs}q5{gs}1ta7", {"supplier_part": "WB-H4", "quantity": 5, "lot": "A7"}),
    (PRACTICE, "[)>{RS}06{GS}1pWb-H4{GS}q5", {"supplier_part": "wB-h4", "quantity": 5}),  # caps lock
    (PRACTICE, "ü=:ÜRS*06ÜGS*1PWBßH4ÜGS*Q5ÜGS*1TAZY", {"supplier_part": "WB-H4", "lot": "AYZ"}),  # German keyboard
    (PRACTICE, ")01=09521234543213)10=AY7", {"gtin": GTIN, "lot": "AZ7"}),
    (PRACTICE, "^0/|à-|&PZB)H'|A(|&TQè", {"supplier_part": "WB-H4", "quantity": 5, "lot": "A7"}),  # French keyboard
    # ---- element strings
    (GENSPECS, f"(01){GTIN}(10)A7(37)25(17)281231",
     {"gtin": GTIN, "lot": "A7", "quantity": 25, "expires": date(2028, 12, 31)}),
    (GENSPECS, f"]C101{GTIN}10A7\x1d3725", {"lot": "A7", "quantity": 25}),
    (GENSPECS, f"]d201{GTIN}21S7\x1d11260730", {"serial": "S7", "made": date(2026, 7, 30)}),
    (GENSPECS, f"(01){GTIN}(15)281200", {"best_before": date(2028, 12, 31)}),  # day 00: the last of the month
    (GENSPECS, f"(01){GTIN}(7003)2812311200", {"expires": date(2028, 12, 31)}),
    (GENSPECS, f"(01){GTIN}(30)12", {"quantity": 12}),
    (GENSPECS, f"(01){GTIN}(3103)001500", {"amount": "1.5 kg"}),
    (GENSPECS, f"(01){GTIN}(3110)000100", {"amount": "100 m"}),
    (GENSPECS, f"(01){GTIN}(3152)000025", {"amount": "0.25 l"}),
    (GENSPECS, f"(01){GTIN}(240)WB-H4(241)HS-1(400)4711",
     {"supplier_part": "WB-H4", "customer_part": "HS-1", "order": "4711"}),
    (GENSPECS, f"(01){GTIN}(422)276", {"country": "276"}),
    (GENSPECS, f"(01){GTIN}(99)X1", {"others": (("99", "Information of the company", "X1"),)}),
    # ---- addresses that hold elements
    (DIGITAL_LINK, LINK, {"gtin": GTIN}),
    (DIGITAL_LINK, f"{LINK}/10/A7", {"gtin": GTIN, "lot": "A7"}),
    (DIGITAL_LINK, f"{LINK}/10/A7/21/S7", {"lot": "A7", "serial": "S7"}),
    (DIGITAL_LINK, f"{LINK}/10/A7?17=281231&30=25", {"expires": date(2028, 12, 31), "quantity": 25}),
    (DIGITAL_LINK, f"{LINK}/10/A%2D7", {"lot": "A-7"}),
    (DIGITAL_LINK, f"https://example.com/products/01/{GTIN}", {"gtin": GTIN}),
    (DIGITAL_LINK, "https://example.com/01/9521234543213", {"gtin": GTIN}),
    (DIGITAL_LINK, f"HTTPS://EXAMPLE.COM/01/{GTIN}?utm=bag",
     {"gtin": GTIN, "others": (("utm", "Part of the address", "bag"),)}),
    # ---- keys and values in braces
    (PRACTICE, "{on:4711,pc:NG-5,pm:WB-H4,qty:25,lot:A7,dc:2631,wc:ZH}",
     {"supplier_order": "4711", "distributor_part": "NG-5", "supplier_part": "WB-H4", "quantity": 25, "lot": "A7",
      "others": (("wc", "", "ZH"),)}),
    (PRACTICE, '{"mpn": "WB-H4", "qty": 25, "PO Number": "4711"}',
     {"supplier_part": "WB-H4", "quantity": 25, "order": "4711"}),
]  # fmt: skip

ASKED: list[tuple[str, str, str, str]] = [
    (PRACTICE, fields("Q1.000"), "quantity", "The quantity '1.000' can mean 1 or 1000: count the bag and type it."),
    (PRACTICE, fields("Q1,000"), "quantity", "The quantity '1,000' can mean 1 or 1000: count the bag and type it."),
    (PRACTICE, fields("Q12.500"), "quantity",
     "The quantity '12.500' can mean 12 or 12500: count the bag and type it."),
    (MH10, fields("Q2.5"), "quantity", "The quantity '2.5' is not a whole number: count the bag and type it."),
    (PRACTICE, fields("Q10-20"), "quantity",
     "The quantity '10-20' is not a whole number: count the bag and type it."),
    (MH10, fields("Q0"), "quantity", "The code says that the bag holds 0 pieces: count it and type the quantity."),
    (X12, fields("7Q3RL"), "quantity",
     "It holds 3 reels, and does not say of how many: count them and type it."),
    (X12, fields("7Q5QQ"), "quantity", "The quantity '5' is in 'QQ': count the bag and type it."),
    (MH10, fields("7Qmany"), "quantity", "The quantity 'many' has no unit that can be read: read the bag."),
    (MH10, fields("15D20281231"), "expires", "'20281231' is no last day that exists: read the bag and type it."),
    (MH10, fields("14D20270230"), "expires", "'20270230' is no last day that exists: read the bag and type it."),
    (GENSPECS, f"(01){GTIN}(17)281340", "expires", "'281340' is no last day that exists: read the bag and type it."),
    (GENSPECS, "(01)09521234543214(10)A7", "gtin",
     "The check digit of 09521234543214 is wrong: scan it again, or type what is missing."),
    (DIGITAL_LINK, "https://example.com/01/09521234543214/10/A7", "gtin",
     "The check digit of 09521234543214 is wrong: scan it again, or type what is missing."),
    (DIGITAL_LINK, f"{LINK}?17=2812", "expires",
     "After (17) come 6 digits, not '2812'. Scan it again, or type what is missing."),
]  # fmt: skip

DOUBTED: list[tuple[str, str, str]] = [
    (MH10, fields("13D26202631"), "It holds weeks 2620 to 2631: the newer is taken, look at what is inside."),
    (MH10, fields("14D20281231", "15D30112028"),
     "It gives the last day twice, 2028-12-31 and 2028-11-30: check the bag."),
    (MH10, fields("14D20200101"), "It went out of date on 2020-01-01."),
    (GENSPECS, f"01{GTIN}10AB123725", "Check that the lot is AB123725: no separator came with the code."),
]  # fmt: skip

REFUSED: list[tuple[str, str, str]] = [
    (ISO, "[)>06PHS-0412Q2501TNG88121", "The scanner left out the separators between the fields."),
    (ISO, "[)>{RS}07{GS}free text", "This envelope holds format '07'; only 05 and 06 can be read: type the bag."),
    (ISO, "[)>", "This envelope holds format 'none'"),
    (PRACTICE, "https://example.com/menu", "This is a web address, not a bag code"),
    (PRACTICE, "{wc:ZH}", "This is no bag code that can be read here"),
    (PRACTICE, '{"mpn": ["WB-H4"]}', "This is no bag code that can be read here"),
]

NO_BAG_CODES = (
    "B7KM4Q2XR", "HTTPS://BENCH.LAN/S/B7KM4Q2XR", "https://bench.lan/s/b7km4q2xr", "header 2.0 mm", "1P", "PSU",
    "Q25", "K-22", "{}", "{GS}", "https://example.com/01/menu", "S1-4", "4 ways", "1PWB-H4", "P{GS}Q",
)  # fmt: skip


def test_the_table_holds_at_least_80_strings() -> None:
    assert len(READ) + len(ASKED) + len(DOUBTED) + len(REFUSED) >= 80


@pytest.mark.parametrize(("source", "text", "values"), READ, ids=[text for _, text, _ in READ])
def test_it_reads_it_and_keeps_everything(source: str, text: str, values: dict[str, Any]) -> None:
    assert looks_like_bag_code(text)
    bag = parse_bag_code(text, TODAY)
    assert {name: getattr(bag, name) for name in values} == values, source
    assert bag.unread == ()


@pytest.mark.parametrize(("source", "text", "field", "sentence"), ASKED, ids=[text for _, text, _, _ in ASKED])
def test_it_asks_about_what_cannot_be_so(source: str, text: str, field: str, sentence: str) -> None:
    bag = parse_bag_code(text, TODAY)
    assert [(unread.field, unread.sentence) for unread in bag.unread] == [(field, sentence)], source
    assert not getattr(bag, field)
    assert sentence in bag.doubts


@pytest.mark.parametrize(("source", "text", "sentence"), DOUBTED, ids=[text for _, text, _ in DOUBTED])
def test_it_reads_it_and_says_what_is_odd(source: str, text: str, sentence: str) -> None:
    assert sentence in parse_bag_code(text, TODAY).doubts, source


@pytest.mark.parametrize(("source", "text", "sentence"), REFUSED, ids=[text for _, text, _ in REFUSED])
def test_it_refuses_it_with_a_sentence(source: str, text: str, sentence: str) -> None:
    with pytest.raises(BadBagCode) as refusal:
        parse_bag_code(text, TODAY)
    assert str(refusal.value).startswith(sentence), source


@pytest.mark.parametrize("text", NO_BAG_CODES)
def test_it_leaves_what_is_no_bag_code_to_others(text: str) -> None:
    assert not looks_like_bag_code(text)
