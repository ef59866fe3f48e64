"""At a part: everything about it on one page, and describing it from what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.bag_pairings import PairingRecord, pairings
from inventory.domain.buying.bag_receipts import resolve_bag_code
from inventory.domain.buying.incoming_plans import find_plan
from inventory.domain.buying.incoming_records import IncomingPlanRecord
from inventory.domain.buying.order_records import (
    AdviceExplanation,
    OfferRecord,
    OrderLineRecord,
    ReorderAdvice,
    StockOverTime,
)
from inventory.domain.buying.orders import open_order_lines
from inventory.domain.catalogue import parts
from inventory.domain.catalogue.attributes import ATTRIBUTES, Attribute
from inventory.domain.catalogue.bins import edit_bin, get_bin
from inventory.domain.catalogue.moisture import PartStorageRecord, part_storage
from inventory.domain.catalogue.numbering import next_number
from inventory.domain.catalogue.resolve import part_choices, resolve_part
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_input import parse_quantity_field
from inventory.domain.common.records import (
    BinRecord,
    LessonRecord,
    PartRecord,
    SubstituteRecord,
    UnitModelRecord,
    from_row,
)
from inventory.domain.common.validation import get_row
from inventory.domain.movements.overview import PartOverview, part_overview
from inventory.domain.movements.substitute_records import SubstituteSuggestions
from inventory.domain.movements.suggested_substitutes import suggest_substitutes
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.proof_records import CautionRecord, PieceStatus
from inventory.domain.proof.standings import most_trusted_first, piece_statuses
from inventory.domain.reorder import reorder_list, usage
from inventory.domain.stocktake.level_readings import LevelMethodRecord, level_method
from inventory.store.connection import transaction
from inventory.store.tables import Bin, Substitute
from shared.bag_code import BagCode

MAX_PIECES = 100
DAYS_BACK = 400  # of the stock over time


@dataclass(frozen=True)
class PartScreen:
    """A part as its page shows it."""

    look: PartOverview
    cautions: tuple[CautionRecord, ...]
    pieces: tuple[PieceStatus, ...]  # those that can be trusted most first
    reckoning: AdviceExplanation
    over_time: StockOverTime
    offers: tuple[OfferRecord, ...]
    expected: tuple[OrderLineRecord, ...]
    stands_in_for: tuple[SubstituteRecord, ...]
    part_lines: tuple[str, ...]  # to pick a stand-in from
    now: datetime
    keeping: PartStorageRecord
    way: LevelMethodRecord
    pairings: tuple[PairingRecord, ...]
    instead: SubstituteSuggestions | None  # what fits in its place, when none is on the shelf
    incoming: IncomingPlanRecord | None  # how deliveries of it are checked, where it has a plan of its own

    @property
    def advice(self) -> ReorderAdvice:
        """What to keep of it and what to do now."""
        return self.reckoning.advice


def part_screen(part_id: int) -> PartScreen:
    """Gather everything about a part."""
    look = part_overview(part_id)
    pieces = piece_statuses([piece.id for piece in look.pieces[:MAX_PIECES]])
    return PartScreen(
        look,
        cautions_for(look.part),
        tuple(most_trusted_first(pieces)),
        reorder_list.explain_advice(part_id),
        usage.stock_over_time(part_id, DAYS_BACK),
        tuple(suppliers.offers(part_id=part_id).items),
        tuple(open_order_lines(part_id)),
        tuple(_substitute_for(part_id)),
        tuple(part_choices()),
        clock.now(),
        part_storage(part_id),
        level_method(part_id),
        tuple(pairings(part_id=part_id).items),
        None if look.stock.on_shelf else suggest_substitutes(part_id),
        find_plan(part_id=part_id),
    )


def _substitute_for(part_id: int) -> list[SubstituteRecord]:
    rows = Substitute.select().where(Substitute.instead == part_id)
    return [SubstituteRecord(from_row(PartRecord, row.part), row.differs, 0) for row in rows]


# ---- describing a part -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class PartForm:
    """What the form that describes a part starts from; ``part`` is None for a new one.

    ``bin`` waits for the new one, ``bag`` is the supplier's code on what came of it.
    """

    kind: str
    attributes: tuple[Attribute, ...]
    part: PartRecord | None
    fits: tuple[UnitModelRecord, ...]
    models: tuple[str, ...]  # to pick from
    bin: BinRecord | None
    bag: BagCode | None
    number: str  # suggested for a new one


def load_part_form(
    kind: str = "", part_id: int | None = None, bin_id: int | None = None, bag_text: str = ""
) -> PartForm:
    """Gather what the form needs: the attributes of the *kind* (left out: of the part)."""
    found = None if part_id is None else parts.part(part_id)
    chosen = kind if kind in ATTRIBUTES else (found.kind if found else "")
    return PartForm(
        chosen,
        ATTRIBUTES.get(chosen, ()),
        found,
        tuple(parts.unit_models_of_part(part_id)) if part_id is not None else (),
        tuple(model.name for model in parts.unit_models()),
        None if bin_id is None else get_bin(bin_id),
        resolve_bag_code(bag_text) if bag_text else None,
        next_number(chosen) if chosen and found is None else "",
    )


def add_part_from_form(
    typed: Mapping[str, Any], attributes: Mapping[str, str], *, bin_id: int | None = None, job_id: int | None = None
) -> PartRecord:
    """Add a part as typed (what ``add_part`` takes, the level as text); *bin_id* becomes its bin."""
    with transaction():
        given = _with_parsed_level(typed, typed["unit"])
        made = parts.add_part(**given, attributes=dict(attributes), catalogued_for=job_id)
        found = None if bin_id is None else get_row(Bin, bin_id, "bin")
        if found is not None and found.name is not None and not found.mixed:
            edit_bin(found.id, part_id=made.id)
        return made


def edit_part_from_form(
    part_id: int, version: int | None, typed: Mapping[str, Any], attributes: Mapping[str, str]
) -> PartRecord:
    """Change a part as typed."""
    with transaction():
        unit = typed.get("unit") or parts.part(part_id).unit
        return parts.edit_part(part_id, version, **_with_parsed_level(typed, unit), attributes=dict(attributes))


def _with_parsed_level(typed: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Read the fixed level in the unit of the part; left blank, it is worked out."""
    given = dict(typed)
    if "level" in given:
        text = given["level"].strip()
        given["level"] = parse_quantity_field(text, unit, "level", minimum=0) if text else None
    return given


def set_stock_target(
    part_id: int, version: int | None, level: str, target: float | None, promise: str | None = None
) -> PartRecord:  # fmt: skip
    """Fix the level of a part as typed (blank: worked out), its promise and how often it holds (None: the shop's)."""
    with transaction():
        unit = parts.part(part_id).unit
        fixed = parse_quantity_field(level, unit, "level", minimum=0) if level.strip() else None
        return parts.edit_part(part_id, version, level=fixed, target=target, promise=promise)


def add_substitute(part_id: int, typed: str, differs: str, *, both_ways: bool = False) -> PartRecord:
    """Note that the part meant by *typed* may be used instead (and the other way round)."""
    with transaction():
        instead = resolve_part(typed)
        parts.set_substitute(part_id, instead.id, differs)
        if both_ways:
            parts.set_substitute(instead.id, part_id, differs)
        return instead


def add_part_lesson(part_id: int, text: str, *, by: int, model: str = "") -> LessonRecord:
    """Keep a sentence about a part (and a unit model, if one is named)."""
    if not text.strip():
        sentence = "Write the lesson in a sentence first."
        raise Invalid(sentence, errors={"text": [sentence]})
    with transaction():
        about = parts.get_or_create_unit_model(model).id if model.strip() else None
        return parts.add_lesson(text, part_id=part_id, unit_model_id=about, by=by)
