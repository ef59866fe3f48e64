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
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import parse_optional_quantity
from inventory.domain.common.records import BinRecord, LessonRecord, PartRecord, UnitModelRecord
from inventory.domain.movements.overview import PartOverview, part_overview
from inventory.domain.movements.substitute_records import SubstituteSuggestions
from inventory.domain.movements.suggested_substitutes import suggest_substitutes
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.proof_records import STANDINGS_BEST_FIRST, CautionRecord, PieceStatus
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.reorder import reorder_list, usage
from inventory.domain.stocktake.level_readings import LevelMethodRecord, level_method
from shared.bag_code import BagCode

MAX_PIECES = 100
DAYS_BACK = 400  # of the stock over time


@dataclass(frozen=True)
class PartScreen:
    """A part as its page shows it."""

    overview: PartOverview
    cautions: tuple[CautionRecord, ...]
    pieces: tuple[PieceStatus, ...]  # those that can be trusted most first
    reckoning: AdviceExplanation
    over_time: StockOverTime
    offers: tuple[OfferRecord, ...]
    expected: tuple[OrderLineRecord, ...]
    stand_in_for: tuple[tuple[PartRecord, str], ...]  # each with how this one differs
    part_lines: tuple[str, ...]  # to pick a substitute from
    now: datetime
    storage: PartStorageRecord
    level_method: LevelMethodRecord
    pairings: tuple[PairingRecord, ...]
    substitutes: SubstituteSuggestions | None  # what fits in its place, when none is on the shelf
    incoming: IncomingPlanRecord | None  # how deliveries of it are checked, where it has a plan of its own

    @property
    def advice(self) -> ReorderAdvice:
        """What to keep of it and what to do now."""
        return self.reckoning.advice


def part_screen(part_id: int) -> PartScreen:
    """Gather everything about a part."""
    overview = part_overview(part_id)
    pieces = piece_statuses([piece.id for piece in overview.pieces[:MAX_PIECES]])
    return PartScreen(
        overview,
        cautions_for(overview.part),
        tuple(sorted(pieces, key=lambda one: (STANDINGS_BEST_FIRST.index(one.standing.word), -one.standing.p_good))),
        reorder_list.explain_advice(part_id),
        usage.stock_over_time(part_id, DAYS_BACK),
        tuple(suppliers.offers(part_id=part_id).items),
        tuple(open_order_lines(part_id)),
        tuple(parts.parts_replaced_by(part_id)),
        tuple(part_choices()),
        clock.now(),
        part_storage(part_id),
        level_method(part_id),
        tuple(pairings(part_id=part_id).items),
        None if overview.stock.on_shelf else suggest_substitutes(part_id),
        find_plan(part_id=part_id),
    )


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
    record = None if part_id is None else parts.part(part_id)
    chosen = kind if kind in ATTRIBUTES else (record.kind if record else "")
    return PartForm(
        chosen,
        ATTRIBUTES.get(chosen, ()),
        record,
        tuple(parts.unit_models_of_part(part_id)) if part_id is not None else (),
        tuple(model.name for model in parts.unit_models()),
        None if bin_id is None else get_bin(bin_id),
        resolve_bag_code(bag_text) if bag_text else None,
        next_number(chosen) if chosen and record is None else "",
    )


def add_part_from_form(
    data: Mapping[str, Any], attributes: Mapping[str, str], *, bin_id: int | None = None, job_id: int | None = None
) -> PartRecord:
    """Add a part as typed (what ``add_part`` takes, the level as text); *bin_id* becomes its bin."""
    with atomic():
        columns = _with_parsed_level(data, data["unit"])
        record = parts.add_part(**columns, attributes=dict(attributes), catalogued_for=job_id)
        bin_ = None if bin_id is None else get_bin(bin_id)
        if bin_ is not None and bin_.name is not None and not bin_.mixed:
            edit_bin(bin_.id, part_id=record.id)
        return record


def edit_part_from_form(
    part_id: int, version: int | None, data: Mapping[str, Any], attributes: Mapping[str, str]
) -> PartRecord:
    """Change a part as typed."""
    with atomic():
        unit = data.get("unit") or parts.part(part_id).unit
        return parts.edit_part(part_id, version, **_with_parsed_level(data, unit), attributes=dict(attributes))


def _with_parsed_level(data: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Read the fixed level in the unit of the part; left blank, it is worked out."""
    columns = dict(data)
    if "level" in columns:
        columns["level"] = parse_optional_quantity(columns["level"], unit, "level", minimum=0)
    return columns


def set_stock_target(
    part_id: int, version: int | None, level: str, target: float | None, promise: str | None = None
) -> PartRecord:  # fmt: skip
    """Fix the level of a part as typed (blank: worked out), its promise and how often it holds (None: the shop's)."""
    with atomic():
        unit = parts.part(part_id).unit
        quantity = parse_optional_quantity(level, unit, "level", minimum=0)
        return parts.edit_part(part_id, version, level=quantity, target=target, promise=promise)


def add_substitute(part_id: int, part_text: str, differs: str, *, both_ways: bool = False) -> PartRecord:
    """Note that the part meant by *part_text* may be used instead (and the other way round)."""
    with atomic():
        instead = resolve_part(part_text)
        parts.set_substitute(part_id, instead.id, differs)
        if both_ways:
            parts.set_substitute(instead.id, part_id, differs)
        return instead


def add_part_lesson(part_id: int, text: str, *, by: int, model: str = "") -> LessonRecord:
    """Keep a sentence about a part (and a unit model, if one is named)."""
    if not text.strip():
        sentence = "Write the lesson in a sentence first."
        raise Invalid(sentence, errors={"text": [sentence]})
    with atomic():
        about = parts.get_or_create_unit_model(model).id if model.strip() else None
        return parts.add_lesson(text, part_id=part_id, unit_model_id=about, by=by)
