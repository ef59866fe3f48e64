"""Bringing in: what the person who opens the post needs to see, and a receipt as they typed it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.bag_receipts import BagSuggestion, is_bag_text, suggest_receipt
from inventory.domain.buying.expected_deliveries import ExpectedDelivery, expected_deliveries
from inventory.domain.buying.order_records import OrderLineRecord, SupplierRecord
from inventory.domain.buying.suppliers import suppliers
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.resolve import part_choices, resolve_bin, resolve_part
from inventory.domain.common.code_lookup import resolve_code
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.common.quantity_input import parse_quantity_field
from inventory.domain.common.records import ActionResult, BinRecord, JobRecord, PartRecord, from_row
from inventory.domain.common.validation import get_row
from inventory.domain.jobs.jobs import jobs
from inventory.domain.movements.receive import receive
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.proof_records import CautionRecord
from inventory.pages.movements.adjustments_screen import bin_names
from inventory.store import ledger
from inventory.store.tables import Bin, Lot, OrderLine
from shared.bag_code_reader import element_string_from_gtin


@dataclass(frozen=True)
class ReceiveScreen:
    """What is being received, as far as is known; ``part`` None: it is still to be said which part.

    ``bag`` is what a supplier's code on it says.
    """

    part: PartRecord | None
    bag: BagSuggestion | None
    cautions: tuple[CautionRecord, ...]
    bin: BinRecord | None
    own_bins: tuple[BinRecord, ...]
    lies_in: BinRecord | None  # where some of it lies, when no bin is its own
    line: OrderLineRecord | None
    expected: tuple[ExpectedDelivery, ...]  # of the part; of every part while it is not known
    suppliers: tuple[SupplierRecord, ...]
    jobs: tuple[JobRecord, ...]
    bin_names: tuple[str, ...]
    part_lines: tuple[str, ...]

    @property
    def bin_now(self) -> str:
        """The bin that the part goes into unless somebody says another: the one scanned, its own, where some lie."""
        if self.bin is not None:
            return self.bin.shown_as
        known = self.own_bins[0] if self.own_bins else self.lies_in
        return (known.name or "") if known else ""


def receive_screen(
    *, part_id: int | None = None, bin_id: int | None = None, line_id: int | None = None, typed: str = "",
    bag_text: str = "", ask: bool = False,
) -> ReceiveScreen:  # fmt: skip
    """Gather what receiving needs, from a part, a bin, an order line, a bag's code, or what was typed or scanned.

    *ask*: the part is to be asked for, whatever the bag or the bin says. Raises Invalid with ``choices`` when what
    was typed may be several parts, or none; and for a bag's code that cannot be read (reason bad_bag_code).
    """
    if is_bag_text(typed):
        bag_text, typed = typed, ""
    part_id, bin_id, bag_text = _starting_point(part_id, bin_id, line_id, typed, bag_text, ask)
    in_hand = suggest_receipt(bag_text, part_id) if bag_text else None
    suggested = in_hand.part if in_hand and not ask else None
    found = suggested if part_id is None else part(part_id)
    return _build_screen(found, in_hand, bin_id, line_id)


def _build_screen(
    found: PartRecord | None, in_hand: BagSuggestion | None, bin_id: int | None, line_id: int | None
) -> ReceiveScreen:
    to_come = tuple(expected_deliveries(found.id if found else None))
    own = () if found is None else tuple(bins.bins(part_id=found.id).items)
    chosen = next((one.line for one in to_come if one.line.id == line_id), None)
    return ReceiveScreen(
        found,
        in_hand,
        () if found is None else cautions_for(found),
        None if bin_id is None else bins.get_bin(bin_id),
        own,
        None if found is None or own else _bin_in_use(found.id),
        chosen or (in_hand.line.line if in_hand and in_hand.line else None),
        to_come,
        tuple(suppliers(limit=200).items),
        tuple(jobs(status="not closed", limit=60).items),
        bin_names(),
        tuple(part_choices()) if found is None else (),
    )


def home_bin(part_id: int) -> BinRecord | None:
    """Return the bin that a part goes into unless somebody says another: its own, else where some of it lies."""
    own = bins.bins(part_id=part_id).items
    return own[0] if own else _bin_in_use(part_id)


def _bin_in_use(part_id: int) -> BinRecord | None:
    """Return the bin that some of a part lies in; spares to test with have places of their own."""
    places = pick_sources(part_id)
    if places:
        return from_row(BinRecord, places[0].bin)
    homes = [piece.bin_id for piece in bins.stocked_pieces(part_id=part_id) if not piece.spare]
    return bins.get_bin(homes[0]) if homes and homes[0] is not None else None


def _starting_point(
    part_id: int | None, bin_id: int | None, line_id: int | None, typed: str, bag_text: str, ask: bool
) -> tuple[int | None, int | None, str]:
    if line_id is not None:
        return get_row(OrderLine, line_id, "order line").part_id, bin_id, bag_text
    if typed.strip():
        return _resolve_typed(typed, bin_id, bag_text)
    if part_id is None and bin_id is not None and not (bag_text or ask):
        return bins.get_bin(bin_id).part_id, bin_id, bag_text
    return part_id, bin_id, bag_text


def _resolve_typed(typed: str, bin_id: int | None, bag_text: str) -> tuple[int | None, int | None, str]:
    """Read what was typed as a part; digits that mean none may be the bar code of a product."""
    try:
        return (*_resolve_scan_or_words(typed, bin_id), bag_text)
    except Invalid:
        if bag_text or not element_string_from_gtin(typed):
            raise
        return None, bin_id, typed


def _resolve_scan_or_words(typed: str, bin_id: int | None) -> tuple[int | None, int | None]:
    """Read a scan (a bin's label says the part as well as the place; a lot's says the part), else words."""
    try:
        found = resolve_code(typed)
    except DomainError:
        return resolve_part(typed).id, bin_id
    if found.what == "bin":
        return get_row(Bin, found.id, "bin").part_id, found.id
    if found.what == "lot":
        return get_row(Lot, found.id, "lot").part_id, bin_id
    sentence = f"That is the label of a {found.what}: scan that of a bin or a lot, or type the part."
    raise Invalid(sentence, reason="other_kind", errors={"q": [sentence]})


def receive_typed(
    part_id: int, amount: str, bin_typed: str, *, by: int, new_bin: bool = False, **more: Any
) -> ActionResult:
    """Receive an *amount* as typed into the bin that *bin_typed* means; *more* as ``receive`` takes it.

    *new_bin*: there is no such bin yet, add it for this part.
    """
    with ledger.ledger_transaction():
        number = parse_quantity_field(amount, part(part_id).unit)
        into = bins.add_bin(bin_typed, part_id) if new_bin else resolve_bin(bin_typed)
        return receive(part_id, number, into.id, by=by, **more)
