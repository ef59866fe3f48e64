"""Suggests a receipt from a supplier's bag code: part, quantity, lot, dates, order line, supplier.

The person with the bag in hand confirms it; what they add is learned.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from peewee import fn

from inventory.domain.buying.bag_pairings import delete_pairing, learn_pairings, normalize_number, pairings_learned_at
from inventory.domain.buying.bag_parts import BagContents, PartMatch, identify_part, numbers_to_learn
from inventory.domain.buying.orders import ExpectedDelivery, expected_deliveries
from inventory.domain.catalogue.parts import part
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.common.records import LotRecord, PartRecord, from_row
from inventory.reckoning.stock.shelf_life import last_good_day
from inventory.store.tables import Lot, Movement
from shared.bag_code import BadBagCode, BagCode
from shared.bag_code_reader import element_string_from_gtin, looks_like_bag_code, parse_bag_code
from shared.keyboard_layouts import keyboard_remedy
from shared.quantities import BadQuantity, parse_quantity
from shared.scanner_input import spell_separators

MAX_CODE_LENGTH = 2000
_MAX_SERIAL, _MAX_LOT, _MAX_DATE_CODE = 80, 80, 20  # what a lot keeps of each
_MAX_LOTS_SEARCHED = 50  # lots whose code has the same letters, when a receipt is undone
_RECEIPT_FIELDS = {
    "quantity": "quantity", "lot": "maker_lot", "made": "date_code", "best_before": "best_before",
    "expires": "best_before",
}  # fmt: skip
"""The receipt's field for each field of the code."""


@dataclass(frozen=True)
class BagSuggestion:
    """What a bag's code says, and what the records add to it.

    ``text`` is the code as kept with the lot. ``part`` None: not known, or the numbers disagree; ``matches`` are
    then the candidates, and otherwise how it is known. ``quantity`` is in base units of the part. ``again``: lots
    received under the same code. ``doubts``: warnings, as sentences.
    """

    text: str
    code: BagCode
    part: PartRecord | None
    matches: tuple[PartMatch, ...]
    quantity: int | None
    line: ExpectedDelivery | None
    supplier_id: int | None
    maker_lot: str
    date_code: str
    best_before: date | None
    again: tuple[LotRecord, ...]
    doubts: tuple[str, ...]

    @property
    def to_type(self) -> dict[str, str]:
        """Return the receipt's fields to type because the code's value cannot be right, each with a sentence."""
        return {
            _RECEIPT_FIELDS[field.field]: field.sentence
            for field in self.code.unread
            if field.field in _RECEIPT_FIELDS
        }

    @property
    def sentence(self) -> str:
        """What to say about the part."""
        if self.part is not None:
            return f"{self.matches[0].words}." if self.matches else "You said which part it is."
        if not self.matches:
            numbers = " or ".join(self.code.part_numbers) or "no number"
            return f"No part here has {numbers}. Say which part it is, once: the next bag is known."
        if all(match.nearly for match in self.matches):
            return "A number here is nearly the same. Say whether it is this part, once: the next bag is known."
        return "Its numbers mean several parts. Say which one it is, once: the next bag is known."


def is_bag_text(text: str) -> bool:
    """Tell whether a scanned text is a supplier's code: neither one of our codes nor plain text."""
    return looks_like_bag_code(text)


def resolve_bag_code(text: str) -> BagCode:
    """Read a bag's code as scanned, pasted or photographed; raise Invalid with a sentence (reason bad_bag_code).

    The bare digits of a product's bar code are taken as a GTIN.
    """
    if not isinstance(text, str) or not text.strip():
        raise _unreadable_code("Nothing was scanned: scan the code on the bag.")
    try:
        code = parse_bag_code(element_string_from_gtin(text) or spell_separators(text), clock.today())
    except BadBagCode as bad:
        raise _unreadable_code(str(bad)) from None
    remedy = keyboard_remedy(text)
    return replace(code, doubts=(*code.doubts, remedy)) if remedy else code


def _unreadable_code(sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_bag_code", errors={"text": [sentence]})


def suggest_receipt(text: str, part_id: int | None = None) -> BagSuggestion:
    """Return what a bag's code suggests for a receipt; *part_id* is the part that a person chose, if any.

    Raises Invalid for a code that cannot be read, NotFound for an unknown part.
    """
    code = resolve_bag_code(text)
    contents = identify_part(code) if part_id is None else _contents_as_stated(code, part_id)
    units, unit_doubts = _base_units(code, contents)
    line = _choose_order_line(code, contents) if contents.part else None
    supplier_ids = {match.supplier_id for match in contents.matches if match.supplier_id is not None}
    return BagSuggestion(
        code.raw, code, contents.part, contents.matches, units, line,
        line.order.supplier_id if line else supplier_ids.pop() if len(supplier_ids) == 1 else None,
        code.lot[:_MAX_LOT], _date_code(code), last_good_day(code.best_before, code.expires),
        tuple(_lots_with_code(code.raw)),
        (*code.doubts, *_truncation_warnings(code), *unit_doubts, *_contradiction_doubts(contents),
         *_order_doubts(code, contents, line, units)),
    )  # fmt: skip


def _contents_as_stated(code: BagCode, part_id: int) -> BagContents:
    contents, stated = identify_part(code), part(part_id)
    matches = tuple(match for match in (*contents.matches, *contents.against) if match.part.id == part_id)
    return BagContents(
        stated, matches, tuple(match for match in contents.matches if contents.part and match.part.id != part_id)
    )


def _base_units(code: BagCode, contents: BagContents) -> tuple[int | None, tuple[str, ...]]:
    """Turn the bag's count into base units: pieces as they are, containers by the size of the offer's pack."""
    if code.amount and contents.part is not None:
        return _amount_in_base_units(code.amount, contents.part)
    if code.quantity is None or contents.part is None or contents.part.unit == "piece":
        return code.quantity, ()
    packs = {match.pack for match in contents.matches if match.pack}
    if len(packs) == 1:
        return code.quantity * packs.pop(), ()
    unit = contents.part.unit
    return None, (f"It says {code.quantity}, and this part is kept in {unit}: type how much that is, with its unit.",)


def _amount_in_base_units(amount: str, known: PartRecord) -> tuple[int | None, tuple[str, ...]]:
    """Turn an amount such as "100 m" into base units of the part, if it is kept in that kind of unit."""
    try:
        return parse_quantity(amount, known.unit), ()
    except BadQuantity:
        return None, (f"It says {amount}, and this part is kept in {known.unit}: type how much that is.",)


def _truncation_warnings(code: BagCode) -> Iterator[str]:
    for name, value, limit in (("lot", code.lot, _MAX_LOT), ("date code", code.date_code, _MAX_DATE_CODE)):
        if len(value) > limit:
            advice = f"the first {limit} are taken, and the code itself is kept whole"
            yield f"The {name} has {len(value)} characters; {advice}."


def _date_code(code: BagCode) -> str:
    """Return the date code, or the week of making written as one (YYWW, ISO 8601 weeks)."""
    if code.date_code or code.made is None:
        return code.date_code[:_MAX_DATE_CODE]
    return f"{code.made:%G%V}"[2:]


def _lots_with_code(text: str) -> Iterator[LotRecord]:
    for lot in Lot.select().where(Lot.raw_code == text).order_by(Lot.id.desc()).limit(5):
        yield from_row(LotRecord, lot)


# ---- the order it came on --------------------------------------------------------------------------------


def _choose_order_line(code: BagCode, contents: BagContents) -> ExpectedDelivery | None:
    """Choose the order line: of the order that the code names, else of the supplier it is known from, else the
    only supplier that owes some.
    """
    assert contents.part is not None
    lines = expected_deliveries(contents.part.id)
    named_lines = [line for line in lines if _names_order(line, code)]
    if named_lines or code.order:
        return named_lines[0] if named_lines else None
    supplier_ids = {match.supplier_id for match in contents.matches if match.supplier_id is not None}
    candidates = [line for line in lines if line.order.supplier_id in supplier_ids] if supplier_ids else lines
    return candidates[0] if len({candidate.order.supplier_id for candidate in candidates}) == 1 else None


def _names_order(delivery: ExpectedDelivery, code: BagCode) -> bool:
    numbers = {normalize_number(delivery.order.number), normalize_number(delivery.order.reference)} - {""}
    return bool(numbers & {normalize_number(code.order), normalize_number(code.supplier_order)})


def _order_doubts(
    code: BagCode, contents: BagContents, line: ExpectedDelivery | None, units: int | None
) -> Iterator[str]:
    if contents.part is None:
        return
    if code.order and line is None:
        yield f"It says order {code.order}, and no open order with that number expects this part."
    if line is not None and units is not None and units > line.line.outstanding:
        outstanding = quantity_text(line.line.outstanding, contents.part)
        yield (
            f"It says {quantity_text(units, contents.part)}, "
            f"and order {line.order.number} expects {outstanding}: count the bag."
        )


def _contradiction_doubts(contents: BagContents) -> Iterator[str]:
    for match in contents.against:
        other = match.part
        yield f"{match.words}, and that is another part: {other.name} ({other.number}). Look at what is inside."


# ---- learning --------------------------------------------------------------------------------------------


def learn_from_receipt(lot: Any, by: int | None) -> None:
    """Learn from a receipt which part the numbers on its bag mean, unless they are known to mean it.

    Call it inside the transaction of the receipt. A lot's raw code that is no bag code teaches nothing.
    """
    try:
        code = resolve_bag_code(lot.raw_code)
    except Invalid:
        return
    contents = identify_part(code)
    if contents.part is None or contents.part.id != lot.part_id:
        learn_pairings(numbers_to_learn(code), lot.part_id, supplier_id=lot.supplier_id, by=by, at=lot.received)


def unlearn_receipt(lot: Any) -> tuple[str, ...]:
    """Undo what the receipt of a lot taught; return a sentence for each number whose meaning changes.

    Call it inside the transaction that undoes the receipt. A number then means the part of the newest other lot
    whose bag carried it; without one its pairing is deleted.
    """
    sentences = []
    for pairing in pairings_learned_at(_numbers_on_bag(lot), lot.part_id, lot.received):
        previous = next(_other_lots_with_number(pairing.number, lot), None)
        if previous is None:
            delete_pairing(pairing.id)
            sentences.append(
                f"{pairing.number} is no longer taken for it: the next bag that carries it is asked about."
            )
        elif previous.part_id != lot.part_id:
            learn_pairings(
                [pairing.number],
                previous.part_id,
                supplier_id=previous.supplier_id,
                by=pairing.person_id,
                at=previous.received,
            )
            sentences.append(f"{pairing.number} means {previous.part.name} again.")
    return tuple(sentences)


def _other_lots_with_number(number: str, lot: Any) -> Iterator[Any]:
    """Yield the other lots whose bags carried a number and whose receipts were not undone, newest first."""
    reversal = Movement.alias()
    undone = reversal.select().where(reversal.reverses == Movement.id)
    receipt = Movement.select().where(Movement.lot == Lot.id, Movement.kind == "receive", ~fn.EXISTS(undone))
    similar = Lot.select().where(Lot.id != lot.id, Lot.raw_code.contains(number), fn.EXISTS(receipt))
    for other in similar.order_by(Lot.id.desc()).limit(_MAX_LOTS_SEARCHED):
        if number in _numbers_on_bag(other):
            yield other


def _numbers_on_bag(lot: Any) -> list[str]:
    try:
        return numbers_to_learn(resolve_bag_code(lot.raw_code))
    except Invalid:
        return []


def serial_on_bag(text: str) -> str:
    """Return the serial number that a bag's code gives, or ""."""
    try:
        return resolve_bag_code(text).serial[:_MAX_SERIAL]
    except Invalid:
        return ""
