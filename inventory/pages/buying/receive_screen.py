"""Receiving: what its page shows, and recording a receipt as typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.domain.buying.bag_receipts import BagSuggestion, is_bag_text, suggest_receipt
from inventory.domain.buying.order_records import OrderLineRecord, SupplierRecord
from inventory.domain.buying.orders import ExpectedDelivery, expected_deliveries, order_line
from inventory.domain.buying.suppliers import suppliers
from inventory.domain.catalogue import bins
from inventory.domain.catalogue.lots import lot
from inventory.domain.catalogue.parts import part
from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.catalogue.resolve import part_choices, resolve_bin, resolve_part
from inventory.domain.common.atomic import atomic
from inventory.domain.common.code_lookup import resolve_code
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.common.quantity_text import parse_quantity_field
from inventory.domain.common.records import ActionResult, BinRecord, JobRecord, PartRecord, from_row
from inventory.domain.jobs.jobs import jobs
from inventory.domain.movements.bin_list import bin_names
from inventory.domain.movements.receive import receive
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.proof_records import CautionRecord
from shared.bag_code_reader import element_string_from_gtin


@dataclass(frozen=True)
class ReceiveScreen:
    """What is being received, as far as is known; ``part`` is None until it is chosen.

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
        """The default bin: the one scanned, else the part's own, else one that holds some of it."""
        if self.bin is not None:
            return self.bin.shown_as
        known = self.own_bins[0] if self.own_bins else self.lies_in
        return (known.name or "") if known else ""


def receive_screen(
    *, part_id: int | None = None, bin_id: int | None = None, line_id: int | None = None, text: str = "",
    bag_text: str = "", ask: bool = False,
) -> ReceiveScreen:  # fmt: skip
    """Gather what receiving needs, from a part, a bin, an order line, a bag's code, or what was typed or scanned.

    *ask*: the part is to be asked for, whatever the bag or the bin says. Raises Invalid with ``choices`` when what
    was typed may be several parts, or none; and for a bag's code that cannot be read (reason bad_bag_code).
    """
    if is_bag_text(text):
        bag_text, text = text, ""
    part_id, bin_id, bag_text = _starting_point(part_id, bin_id, line_id, text, bag_text, ask)
    in_hand = suggest_receipt(bag_text, part_id) if bag_text else None
    suggested = in_hand.part if in_hand and not ask else None
    known_part = suggested if part_id is None else part(part_id)
    return _build_screen(known_part, in_hand, bin_id, line_id)


def _build_screen(
    known_part: PartRecord | None, in_hand: BagSuggestion | None, bin_id: int | None, line_id: int | None
) -> ReceiveScreen:
    to_come = tuple(expected_deliveries(known_part.id if known_part else None))
    own_bins = () if known_part is None else tuple(bins.bins(part_id=known_part.id).items)
    chosen = next((delivery.line for delivery in to_come if delivery.line.id == line_id), None)
    return ReceiveScreen(
        known_part,
        in_hand,
        () if known_part is None else cautions_for(known_part),
        None if bin_id is None else bins.get_bin(bin_id),
        own_bins,
        None if known_part is None or own_bins else _bin_in_use(known_part.id),
        chosen or (in_hand.line.line if in_hand and in_hand.line else None),
        to_come,
        tuple(suppliers(limit=200).items),
        tuple(jobs(status="not closed", limit=60).items),
        bin_names(),
        tuple(part_choices()) if known_part is None else (),
    )


def home_bin(part_id: int) -> BinRecord | None:
    """Return the default bin of a part: its own, else one that holds some of it."""
    own_bins = bins.bins(part_id=part_id).items
    return own_bins[0] if own_bins else _bin_in_use(part_id)


def _bin_in_use(part_id: int) -> BinRecord | None:
    """Return the bin that some of a part lies in; spares to test with have places of their own."""
    places = pick_sources(part_id)
    if places:
        return from_row(BinRecord, places[0].bin)
    homes = [piece.bin_id for piece in bins.stocked_pieces(part_id=part_id) if not piece.spare]
    return bins.get_bin(homes[0]) if homes and homes[0] is not None else None


def _starting_point(
    part_id: int | None, bin_id: int | None, line_id: int | None, text: str, bag_text: str, ask: bool
) -> tuple[int | None, int | None, str]:
    if line_id is not None:
        return order_line(line_id).part.id, bin_id, bag_text
    if text.strip():
        return _resolve_typed(text, bin_id, bag_text)
    if part_id is None and bin_id is not None and not (bag_text or ask):
        return bins.get_bin(bin_id).part_id, bin_id, bag_text
    return part_id, bin_id, bag_text


def _resolve_typed(text: str, bin_id: int | None, bag_text: str) -> tuple[int | None, int | None, str]:
    """Read what was typed as a part; digits that mean none may be the bar code of a product."""
    try:
        return (*_resolve_scan_or_words(text, bin_id), bag_text)
    except Invalid:
        if bag_text or not element_string_from_gtin(text):
            raise
        return None, bin_id, text


def _resolve_scan_or_words(text: str, bin_id: int | None) -> tuple[int | None, int | None]:
    """Read a scan (a bin's label says the part as well as the place; a lot's says the part), else words."""
    try:
        code = resolve_code(text)
    except DomainError:
        return resolve_part(text).id, bin_id
    if code.what == "bin":
        return bins.get_bin(code.id).part_id, code.id
    if code.what == "lot":
        return lot(code.id).part_id, bin_id
    sentence = f"That is the label of a {code.what}: scan that of a bin or a lot, or type the part."
    raise Invalid(sentence, reason="other_kind", errors={"q": [sentence]})


def receive_from_form(
    part_id: int, amount: str, bin_text: str, *, by: int, new_bin: bool = False, **more: Any
) -> ActionResult:
    """Receive an *amount* as typed into the bin that *bin_text* means; *more* as ``receive`` takes it.

    *new_bin*: there is no such bin yet, add it for this part.
    """
    with atomic(lock_stock=True):
        number = parse_quantity_field(amount, part(part_id).unit)
        bin_ = bins.add_bin(bin_text, part_id) if new_bin else resolve_bin(bin_text)
        return receive(part_id, number, bin_.id, by=by, **more)
