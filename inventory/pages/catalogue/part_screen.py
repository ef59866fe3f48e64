"""At a part: everything about it on one page, and describing it from what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.bag_pairings import PairingRecord, pairings
from inventory.domain.buying.bag_receipts import read_text
from inventory.domain.buying.incoming_plans import plan_or_none
from inventory.domain.buying.incoming_records import PlanRecord
from inventory.domain.buying.order_records import Advice, OfferRecord, OrderLineRecord, PartReckoning, StockOverTime
from inventory.domain.buying.orders import expected_lines
from inventory.domain.catalogue import parts
from inventory.domain.catalogue.attributes import ATTRIBUTES, Attribute
from inventory.domain.catalogue.bins import bin_, edit_bin
from inventory.domain.catalogue.moisture import KeepingRecord, keeping
from inventory.domain.catalogue.numbering import next_number
from inventory.domain.catalogue.resolve import listed, part_meant
from inventory.domain.common import clock
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_input import quantity
from inventory.domain.common.records import (
    BinRecord,
    LessonRecord,
    PartRecord,
    SubstituteRecord,
    UnitModelRecord,
    read,
)
from inventory.domain.common.validation import row
from inventory.domain.movements.overview import PartLook, look_at_part
from inventory.domain.movements.substitute_records import InsteadOf
from inventory.domain.movements.suggested_substitutes import instead_of
from inventory.domain.proof.cautions import cautions_of
from inventory.domain.proof.proof_records import CautionRecord, PieceSeen
from inventory.domain.proof.standings import BEST_FIRST, see
from inventory.domain.reorder import reorder_list, usage
from inventory.domain.stocktake.level_readings import WayRecord, way
from inventory.store.connection import writing
from inventory.store.tables import Bin, Substitute
from shared.bag_code_reader import BagCode

MOST_PIECES = 100
DAYS_BACK = 400  # of the stock over time


@dataclass(frozen=True)
class AtPart:
    """A part as its page shows it."""

    look: PartLook
    cautions: tuple[CautionRecord, ...]
    pieces: tuple[PieceSeen, ...]  # those that can be trusted most first
    reckoning: PartReckoning
    over_time: StockOverTime
    offers: tuple[OfferRecord, ...]
    expected: tuple[OrderLineRecord, ...]
    stands_in_for: tuple[SubstituteRecord, ...]
    part_lines: tuple[str, ...]  # to pick a stand-in from
    now: datetime
    keeping: KeepingRecord
    way: WayRecord
    pairings: tuple[PairingRecord, ...]
    instead: InsteadOf | None  # what fits in its place, when none is on the shelf
    incoming: PlanRecord | None  # how deliveries of it are checked, where it has a plan of its own

    @property
    def advice(self) -> Advice:
        """What to keep of it and what to do now."""
        return self.reckoning.advice


def at_part(part_id: int) -> AtPart:
    """Gather everything about a part."""
    look = look_at_part(part_id)
    pieces = see([one.id for one in look.pieces[:MOST_PIECES]])
    return AtPart(
        look, cautions_of(look.part),
        tuple(sorted(pieces, key=lambda one: (BEST_FIRST.index(one.standing.word), -one.standing.p_good))),
        reorder_list.reckoning_of(part_id), usage.stock_over_time(part_id, DAYS_BACK),
        tuple(suppliers.offers(part_id=part_id).items), tuple(expected_lines(part_id)),
        tuple(_stands_in_for(part_id)), tuple(listed()), clock.now(), keeping(part_id), way(part_id),
        tuple(pairings(part_id=part_id).items), None if look.stock.on_shelf else instead_of(part_id),
        plan_or_none(part_id=part_id),
    )  # fmt: skip


def _stands_in_for(part_id: int) -> list[SubstituteRecord]:
    rows = Substitute.select().where(Substitute.instead == part_id)
    return [SubstituteRecord(read(PartRecord, one.part), one.differs, 0) for one in rows]


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


def part_form(kind: str = "", part_id: int | None = None, bin_id: int | None = None, bag_text: str = "") -> PartForm:
    """Gather what the form needs: the attributes of the *kind* (left out: of the part)."""
    found = None if part_id is None else parts.part(part_id)
    chosen = kind if kind in ATTRIBUTES else (found.kind if found else "")
    return PartForm(
        chosen, ATTRIBUTES.get(chosen, ()), found, tuple(parts.fits_of(part_id)) if part_id is not None else (),
        tuple(one.name for one in parts.unit_models()), None if bin_id is None else bin_(bin_id),
        read_text(bag_text) if bag_text else None, next_number(chosen) if chosen and found is None else "",
    )  # fmt: skip


def describe_new(
    typed: Mapping[str, Any], attributes: Mapping[str, str], *, bin_id: int | None = None, job_id: int | None = None
) -> PartRecord:
    """Add a part as typed (what ``add_part`` takes, the level as text); *bin_id* becomes its bin."""
    with writing():
        given = _with_level(typed, typed["unit"])
        made = parts.add_part(**given, attributes=dict(attributes), catalogued_for=job_id)
        found = None if bin_id is None else row(Bin, bin_id, "bin")
        if found is not None and found.name is not None and not found.mixed:
            edit_bin(found.id, part_id=made.id)
        return made


def describe_again(
    part_id: int, version: int | None, typed: Mapping[str, Any], attributes: Mapping[str, str]
) -> PartRecord:
    """Change a part as typed."""
    with writing():
        unit = typed.get("unit") or parts.part(part_id).unit
        return parts.edit_part(part_id, version, **_with_level(typed, unit), attributes=dict(attributes))


def _with_level(typed: Mapping[str, Any], unit: str) -> dict[str, Any]:
    """Read the fixed level in the unit of the part; left blank, it is worked out."""
    given = dict(typed)
    if "level" in given:
        text = given["level"].strip()
        given["level"] = quantity(text, unit, "level", least=0) if text else None
    return given


def keep_on(
    part_id: int, version: int | None, level: str, target: float | None, promise: str | None = None
) -> PartRecord:  # fmt: skip
    """Fix the level of a part as typed (blank: worked out), its promise and how often it holds (None: the shop's)."""
    with writing():
        unit = parts.part(part_id).unit
        fixed = quantity(level, unit, "level", least=0) if level.strip() else None
        return parts.edit_part(part_id, version, level=fixed, target=target, promise=promise)


def stand_in(part_id: int, typed: str, differs: str, *, both_ways: bool = False) -> PartRecord:
    """Note that the part meant by *typed* may be used instead (and the other way round)."""
    with writing():
        instead = part_meant(typed)
        parts.set_substitute(part_id, instead.id, differs)
        if both_ways:
            parts.set_substitute(instead.id, part_id, differs)
        return instead


def learn(part_id: int, text: str, *, by: int, model: str = "") -> LessonRecord:
    """Keep a sentence about a part (and a unit model, if one is named)."""
    if not text.strip():
        sentence = "Write the lesson in a sentence first."
        raise Invalid(sentence, errors={"text": [sentence]})
    with writing():
        about = parts.unit_model_named(model).id if model.strip() else None
        return parts.add_lesson(text, part_id=part_id, unit_model_id=about, by=by)
