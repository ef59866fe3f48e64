"""A bag's code begins a receipt: it names the part, and what it does not know it asks once."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import bag_pairings, bag_receipts, suppliers
from inventory.domain.buying.order_records import NewOrderLine, OrderRecord
from inventory.domain.catalogue import history, lots, parts
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid, NotFound
from inventory.domain.common.records import PartRecord
from inventory.domain.movements import receive, undo
from tests.barcode_images import EOT, GS, RS, iso15434_envelope
from tests.factories import a_bin, a_part, a_person, a_placed_order

pytestmark = pytest.mark.usefixtures("bench")


def an_offer(part: PartRecord, number: str, seller: str = "Northgate Components", pack: int = 1) -> int:
    """Let a supplier sell a part under a number; return the supplier."""
    matches = suppliers.suppliers(find=seller).items
    supplier = matches[0] if matches else suppliers.add_supplier(seller)
    suppliers.add_offer(part.id, supplier.id, 120, supplier_number=number, pack=pack)
    return int(supplier.id)


def an_order(part: PartRecord, quantity: int, seller: str = "Northgate Components", **more: str) -> OrderRecord:
    """Place an order for a part."""
    matches = suppliers.suppliers(find=seller).items
    supplier = matches[0] if matches else suppliers.add_supplier(seller)
    return a_placed_order(supplier.id, [NewOrderLine(part.id, quantity, cost_minor=1000)], **more)


# ---- which part ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "how"),
    [("PHS-0412", "own"), ("1PWB-H4-200", "maker's"), ("1Pwb-h4-200", "maker's"), ("30PNG-558", "supplier's")],
)
def test_it_knows_the_part_by_our_number_the_makers_or_a_suppliers(field: str, how: str) -> None:
    part = a_part(number="HS-0412", maker="Bellweather", maker_number="WB-H4-200")
    an_offer(part, "NG-558")
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope(field, "Q25"))
    assert suggestion.part == part
    assert suggestion.matches[0].how == how
    assert suggestion.quantity == 25


def test_it_asks_when_nobody_knows_the_number() -> None:
    a_part(maker_number="WB-H4-200")
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77", "Q25"))
    assert (suggestion.part, suggestion.matches) == (None, ())
    assert suggestion.sentence == "No part here has QX-77. Say which part it is, once: the next bag is known."


def test_it_asks_when_the_numbers_mean_several_parts() -> None:
    straight, other = (
        a_part("4-way header", maker_number="WB-H4"),
        a_part("4-way header, angled", maker_number="WB-H4"),
    )
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4"))
    assert suggestion.part is None
    assert [match.part for match in suggestion.matches] == [straight, other]
    assert suggestion.sentence.startswith("Its numbers mean several parts.")


def test_the_maker_on_the_bag_decides_between_makers_with_the_same_number() -> None:
    a_part(maker="Orrery", maker_number="1042")
    ours = a_part(maker="Bellweather Connectors", maker_number="1042")
    assert bag_receipts.suggest_receipt(iso15434_envelope("1P1042", "1VBellweather")).part == ours
    assert bag_receipts.suggest_receipt(iso15434_envelope("1P1042", "1VSomebody")).part is None


def test_it_asks_about_a_number_that_is_only_nearly_the_same() -> None:
    part = a_part(maker_number="WB-H4-200")
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWBH4 200"))
    assert suggestion.part is None
    assert [(match.part, match.nearly) for match in suggestion.matches] == [(part, True)]
    assert suggestion.matches[0].words == "WBH4 200 is the maker's number (WB-H4-200 here)"
    assert "nearly the same" in suggestion.sentence


def test_it_asks_when_two_numbers_of_one_bag_contradict_each_other() -> None:
    """A substitute that was sent under the number that was asked for."""
    ordered, sent = a_part(number="HS-0412"), a_part(maker_number="WB-H5-200")
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("PHS-0412", "1PWB-H5-200"))
    assert suggestion.part is None
    assert {match.part.id for match in suggestion.matches} == {ordered.id, sent.id}


def test_a_retired_part_gives_way_to_one_in_use() -> None:
    old = a_part(maker_number="WB-H4")
    parts.edit_part(old.id, retired=True)
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4")).part is not None
    new = a_part(maker_number="WB-H4")
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4")).part == new


# ---- learning --------------------------------------------------------------------------------------------


def received(part: PartRecord, code: str, quantity: int = 25, **more: int) -> int:
    """Receive a bag; return its lot."""
    return receive.receive(part.id, quantity, a_bin(part).id, raw_code=code, **more).lot_ids[0]


def test_it_asks_once_and_then_knows_the_number() -> None:
    part, person = a_part(), a_person("tech")
    code = iso15434_envelope("1PQX-77", "30PND-9", "Q25")
    received(part, code, by=person.id)
    for again in (code, iso15434_envelope("1Pqx-77", "Q10"), iso15434_envelope("30PND-9")):
        suggestion = bag_receipts.suggest_receipt(again)
        assert suggestion.part == part
        assert suggestion.matches[0].how == "learned"
    assert f"was said to be this part on {clock.today():%d %b %Y} by {person.shown_as}" in suggestion.sentence
    assert [pairing.number for pairing in bag_pairings.pairings(part_id=part.id).items] == ["ND-9", "QX-77"]


def test_it_learns_nothing_that_the_numbers_say_already() -> None:
    part = a_part(maker_number="WB-H4")
    received(part, iso15434_envelope("1PWB-H4", "30PND-9"))
    assert bag_pairings.pairings().items == []


def test_a_number_of_ours_on_the_bag_is_learned_only_when_there_is_no_better_one() -> None:
    part = a_part()
    received(part, iso15434_envelope("Pfan", "1PQX-77"))
    received(part, iso15434_envelope("Pcart-line-3", "Q5"))
    assert [pairing.number for pairing in bag_pairings.pairings().items] == ["CART-LINE-3", "QX-77"]


def test_what_somebody_said_decides_over_the_catalogue_and_the_contradiction_is_told() -> None:
    wrong, right = a_part("Wrong header", maker_number="WB-H4"), a_part("Right header")
    received(right, iso15434_envelope("1PWB-H4", "Q5"))
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q5"))
    assert suggestion.part == right
    assert suggestion.doubts[0] == (
        f"WB-H4 is the maker's number, and that is another part: Wrong header ({wrong.number}). "
        "Look at what is inside."
    )


def test_saying_another_part_later_replaces_what_was_learned() -> None:
    first, second = a_part(), a_part()
    received(first, iso15434_envelope("1PQX-77"))
    received(second, iso15434_envelope("1PQX-77"))
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part == second
    assert len(bag_pairings.pairings().items) == 1


def undo_receipt(lot_id: int) -> tuple[str, ...]:
    """Undo the receipt of a lot; return what it says besides."""
    (entry,) = {movement.entry for movement in history.movements(lot_id=lot_id).items}
    return undo.undo(entry).warnings


def test_undoing_the_receipt_that_taught_a_number_unlearns_it() -> None:
    part = a_part()
    lot = received(part, iso15434_envelope("1PQX-77", "30PND-9"))
    assert undo_receipt(lot) == (
        "ND-9 is no longer taken for it: the next bag that carries it is asked about.",
        "QX-77 is no longer taken for it: the next bag that carries it is asked about.",
    )
    assert bag_pairings.pairings().items == []
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part is None


def test_a_number_stays_known_while_another_bag_of_that_part_carried_it() -> None:
    part = a_part()
    first = received(part, iso15434_envelope("1PQX-77", "Q25"))
    second = received(part, iso15434_envelope("1PQX-77", "Q10"))
    assert undo_receipt(first) == ()
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part == part
    assert undo_receipt(second) == ()  # it taught nothing: the first had
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part == part


def test_undoing_the_receipt_that_taught_it_anew_lets_a_number_mean_what_it_meant_before() -> None:
    part, wrong = a_part("Right header"), a_part("Wrong header")
    received(part, iso15434_envelope("1PQX-7", "Q25"))
    received(
        a_part("Other header"), iso15434_envelope("1PQX-77", "Q25")
    )  # has the same letters, and is another number
    lot = received(wrong, iso15434_envelope("1Pqx-7", "Q10"))
    assert undo_receipt(lot) == ("QX-7 means Right header again.",)
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-7")).part == part


def test_what_somebody_said_after_the_receipt_outlives_its_undo() -> None:
    part = a_part()
    lot = received(part, iso15434_envelope("1PQX-77"))
    bag_pairings.add_pairing("QX-77", part.id)
    assert undo_receipt(lot) == ()
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part == part


def test_a_pairing_can_be_made_and_forgotten_by_itself() -> None:
    part = a_part()
    pairing = bag_pairings.add_pairing(" qx-77 ", part.id)
    assert pairing.number == "QX-77"
    assert bag_pairings.pairings(number="Qx-77").items == [pairing]
    bag_pairings.delete_pairing(pairing.id)
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PQX-77")).part is None
    with pytest.raises(NotFound):
        bag_pairings.delete_pairing(pairing.id)


@pytest.mark.parametrize("number", ["", "   ", "x" * 121])
def test_a_pairing_needs_a_number(number: str) -> None:
    with pytest.raises(Invalid):
        bag_pairings.add_pairing(number, a_part().id)


def test_the_bar_code_of_a_product_is_learned_as_well() -> None:
    """EAN-13 of a bottle, under the prefix 952 that GS1 keeps for demonstrations."""
    part = a_part("Flux", "consumable", unit="ml", kept="by level")
    assert bag_receipts.suggest_receipt("9521234543213").part is None
    received(part, "9521234543213", 100)
    for text in ("9521234543213", "09521234543213", "(01)09521234543213", "]d20109521234543213"):
        assert bag_receipts.suggest_receipt(text).part == part


def test_any_text_may_be_kept_as_a_bags_code_and_teaches_nothing() -> None:
    part = a_part()
    lot = received(part, "scribbled: approx 25 pcs")
    assert lots.lot(lot).raw_code == "scribbled: approx 25 pcs"
    assert bag_pairings.pairings().items == []


# ---- what it suggests ------------------------------------------------------------------------------------


def test_it_suggests_lot_date_code_and_dates() -> None:
    part = a_part(maker_number="WB-H4")
    coming = clock.today() + timedelta(days=400)
    suggestion = bag_receipts.suggest_receipt(
        iso15434_envelope("1PWB-H4", "Q25", "1TNG881", "9D2541", f"14D{coming:%Y%m%d}")
    )
    assert (suggestion.part, suggestion.maker_lot, suggestion.date_code, suggestion.best_before) == (
        part,
        "NG881",
        "2541",
        coming,
    )


def test_a_day_of_making_serves_as_a_date_code() -> None:
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PX", "16D20251009")).date_code == "2541"


def test_the_earlier_of_best_before_and_expiry_counts() -> None:
    suggestion = bag_receipts.suggest_receipt("(01)09521234543213(17)280601(15)280301")
    assert suggestion.best_before == date(2028, 3, 1)


def test_a_container_counts_as_much_as_the_suppliers_pack_holds() -> None:
    flux = a_part("Flux", "consumable", unit="ml", kept="by level", number="CF-1")
    supplier_id = an_offer(flux, "NG-900", pack=250)
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("30PNG-900", "Q2"))
    assert (suggestion.quantity, suggestion.supplier_id) == (500, supplier_id)
    unsure = bag_receipts.suggest_receipt(iso15434_envelope("PCF-1", "Q2"))
    assert unsure.quantity is None
    assert unsure.doubts == ("It says 2, and this part is kept in ml: type how much that is, with its unit.",)


def test_it_chooses_the_line_of_the_order_that_the_code_names() -> None:
    part = a_part(maker_number="WB-H4")
    an_order(part, 50)
    named = an_order(part, 20, "Quayside Spares", reference="QS 90210")
    for field in (f"K{named.number}", "1KQS 90210", "Kqs  90210"):
        suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q20", field))
        assert suggestion.line is not None
        assert suggestion.line.order.id == named.id
        assert suggestion.supplier_id == named.supplier_id
        assert suggestion.doubts == ()


def test_it_chooses_the_only_line_that_is_open_and_no_line_when_two_suppliers_owe_some() -> None:
    part = a_part(maker_number="WB-H4")
    only = an_order(part, 50)
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q50"))
    assert suggestion.line is not None
    assert suggestion.line.order.id == only.id
    an_order(part, 10, "Quayside Spares")
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q50")).line is None


def test_a_suppliers_number_points_to_that_suppliers_line() -> None:
    part = a_part()
    an_order(part, 50, "Quayside Spares")
    supplier_id = an_offer(part, "NG-558")
    theirs = an_order(part, 50)
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("30PNG-558", "Q50"))
    assert suggestion.line is not None
    assert (suggestion.line.order.id, suggestion.supplier_id) == (theirs.id, supplier_id)


def test_it_says_when_the_bag_and_the_order_disagree() -> None:
    part = a_part(maker_number="WB-H4")
    order = an_order(part, 20)
    too_many = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q25"))
    assert too_many.doubts == (f"It says 25 pieces, and order {order.number} expects 20 pieces: count the bag.",)
    unknown = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q20", "K9999"))
    assert unknown.line is None
    assert unknown.doubts == ("It says order 9999, and no open order with that number expects this part.",)


def test_it_says_when_the_very_same_code_was_received_before() -> None:
    part = a_part(maker_number="WB-H4")
    code = iso15434_envelope("1PWB-H4", "Q25", "S0001")
    assert bag_receipts.suggest_receipt(code).again == ()
    lot = received(part, code)
    assert [lot.id for lot in bag_receipts.suggest_receipt(code).again] == [lot]


def test_the_raw_text_is_kept_with_the_lot_and_reads_the_same_again() -> None:
    part = a_part(maker_number="WB-H4")
    lot = lots.lot(received(part, iso15434_envelope("1PWB-H4", "Q25")))
    assert lot.raw_code == "[)>{RS}06{GS}1PWB-H4{GS}Q25{RS}{EOT}"
    assert bag_receipts.suggest_receipt(lot.raw_code).quantity == 25


def test_a_single_piece_takes_the_serial_from_its_bag() -> None:
    fan = a_part("Fan", "fan", kept="individually", maker_number="F60")
    box = a_bin(fan)
    receipt = receive.receive(fan.id, 1, box.id, raw_code=iso15434_envelope("1PF60", "Q1", "S00417"))
    several = receive.receive(fan.id, 2, box.id, raw_code=iso15434_envelope("1PF60", "Q2", "S00418"))
    assert [piece.serial for piece in (*receipt.made_pieces, *several.made_pieces)] == ["00417", "", ""]


def test_what_somebody_says_it_is_stands() -> None:
    part, other = a_part(maker_number="WB-H4"), a_part("Something else")
    suggestion = bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4", "Q25"), other.id)
    assert (suggestion.part, suggestion.quantity, suggestion.sentence) == (other, 25, "You said which part it is.")
    assert "that is another part" in suggestion.doubts[0]
    assert bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4"), part.id).doubts == ()
    with pytest.raises(NotFound):
        bag_receipts.suggest_receipt(iso15434_envelope("1PWB-H4"), 999)


# ---- what cannot be right --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        (iso15434_envelope("Q0"), "The code says that the bag holds 0 pieces: count it and type the quantity."),
        ("[)>06PXQ25", "The scanner left out the separators between the fields. Set it to type {GS} for them (its "
         "manual calls them control characters or function codes), or take a photo of the code."),
        (f"[)>{RS}07{GS}1PX{RS}{EOT}", "This envelope holds format '07'; only 05 and 06 can be read: type the bag."),
        (f"[)>{RS}06{GS}{RS}{EOT}", "The code holds nothing that can be used here: type the bag by hand."),
        ("(01)09521234543214", "The check digit of 09521234543214 is wrong: scan it again, or type what is missing."),
        ("https://shop.example/item?id=7", "This is a web address, not a bag code: look for the supplier's other "
         "code on the bag."),
        ("   ", "Nothing was scanned: scan the code on the bag."),
        ("[)>" + "x" * 3000, "3003 characters are no bag code: scan one code at a time."),
    ],
)  # fmt: skip
def test_it_refuses_what_it_cannot_read_with_a_sentence(code: str, sentence: str) -> None:
    with pytest.raises(Invalid) as refusal:
        bag_receipts.suggest_receipt(code)
    assert refusal.value.sentence == sentence
    assert refusal.value.reason == "bad_bag_code"


def test_one_field_that_cannot_be_does_not_cost_the_rest_of_the_bag() -> None:
    part = a_part(maker_number="WB-H4-200")
    suggestion = bag_receipts.suggest_receipt(
        iso15434_envelope("1PWB-H4-200", "Q0", "14D20280230", "16D20261301", "1TNG881")
    )
    assert (suggestion.part, suggestion.maker_lot) == (part, "NG881")
    assert (suggestion.quantity, suggestion.best_before, suggestion.date_code) == (None, None, "")
    assert list(suggestion.to_type) == ["quantity", "best_before", "date_code"]
    assert suggestion.doubts == (
        "The code says that the bag holds 0 pieces: count it and type the quantity.",
        "'20280230' is no last day that exists: read the bag and type it.",
        "'20261301' is no day of making that exists: read the bag and type it.",
    )


def test_a_lot_that_is_too_long_is_shortened_and_that_is_said() -> None:
    suggestion = bag_receipts.suggest_receipt(
        iso15434_envelope("1PWB-H4-200", "1T" + "L" * 400, "9DWEEK-31-OF-THE-YEAR-26")
    )
    assert (suggestion.maker_lot, suggestion.date_code) == ("L" * 80, "WEEK-31-OF-THE-YEAR-")
    assert suggestion.doubts == (
        "The lot has 400 characters; the first 80 are taken, and the code itself is kept whole.",
        "The date code has 22 characters; the first 20 are taken, and the code itself is kept whole.",
    )
    assert "L" * 400 in suggestion.text


_PARTS = st.sampled_from(
    ["1PWB-H4", "PHS-1", "Q25", "Q0", "1T", "K7", "14D20280101", "9D2541", "S1", "'; DROP TABLE", "مروحة"]
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(_PARTS | st.text(max_size=12), max_size=6))
def test_whatever_a_bag_says_it_is_read_or_refused(fields: list[str]) -> None:
    try:
        suggestion = bag_receipts.suggest_receipt(iso15434_envelope(*fields))
    except Invalid as refusal:
        assert refusal.sentence.endswith((".", "!"))  # noqa: PT017 - both outcomes are right
    else:
        assert suggestion.quantity is None or suggestion.quantity > 0
