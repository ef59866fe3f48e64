"""Which parts a stock list names: the bench's own or new ones, and what its rows say of each taken together."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.catalogue.attributes import ATTRIBUTES, validated_attributes
from inventory.domain.catalogue.parts import TEXT_LIMITS, check_part
from inventory.domain.common.errors import Invalid
from inventory.domain.common.quantity_text import quantity_text
from inventory.domain.stocktake.stock_list_rows import ParsedRow, base_unit
from inventory.domain.stocktake.stock_list_snapshot import BenchSnapshot, check_not_retired
from shared.quantities import UNIT_FACTORS, parse_quantity


@dataclass
class PartPlan:
    """A part that rows name. ``known`` is the bench's own; of a new one, ``said`` is what the rows say of it."""

    number: str
    known: Any
    rows: list[ParsedRow] = field(default_factory=list)
    said: dict[str, Any] = field(default_factory=dict)
    by: dict[str, ParsedRow] = field(default_factory=dict)  # by column, the row that said it first
    written_unit: str = ""

    @property
    def kind(self) -> str:
        """The kind that it is, or will be."""
        return str(self.known.kind if self.known else self.said.get("kind", "other"))

    @property
    def kept(self) -> str:
        """The way in which it is, or will be, kept."""
        return str(self.known.kept if self.known else self.said.get("kept", "counted"))

    @property
    def unit(self) -> str:
        """Its base unit."""
        return str(self.known.unit if self.known else base_unit(self.written_unit or "piece"))

    @property
    def name(self) -> str:
        """What it is called."""
        return str(self.known.name if self.known else self.said.get("name", ""))

    def quantity(self, text: str, written: str = "", *, least: int = 0) -> int:
        """Read a quantity of it in base units; a bare number is in the unit that the list says, if it says one."""
        unit = written or self.written_unit
        bare = not any(one.isalpha() for one in text)
        return parse_quantity(
            f"{text} {unit}" if bare and unit in UNIT_FACTORS[self.unit] else text, self.unit, minimum=least
        )


class PartPlans:
    """The parts of a list, gathered row by row and then checked; what is wrong goes to the row that says it."""

    def __init__(self, bench: BenchSnapshot) -> None:
        self._bench = bench
        self._of_maker: dict[str, list[PartPlan]] = defaultdict(list)
        self.plans: dict[str, PartPlan] = {}

    def of(self, said: ParsedRow) -> PartPlan | None:
        """Return the part that a row is about, None for none or one that cannot be told."""
        if not (said.part or said.attributes or said.unit or said.level):
            return None
        if said.wrongly("number") or said.wrongly("maker_number"):
            return None
        with said.cell(""):
            plan = self._found(said)
            plan.rows.append(said)
            if plan.known:
                _compare_row(plan, said)
            else:
                _merge_row(plan, said)
            return plan
        return None

    def _found(self, said: ParsedRow) -> PartPlan:
        number, made = said.part.get("number", ""), said.part.get("maker_number", "")
        if number in self.plans:
            return self.plans[number]
        known = self._known(said, number, made)
        if known is None and not number:
            if (own := self._own(said, made)) is not None:
                return own
            number = self._number_of_maker(said, made)
        check_not_retired(known, "Part", known.number if known else "")
        return self._plan(said, known.number if known else number, known)

    def _plan(self, said: ParsedRow, number: str, known: Any) -> PartPlan:
        if number not in self.plans:
            self.plans[number] = PartPlan(number, known)
            if known is None and (near := self._bench.almost("parts", number)):
                said.mind.append(f"There is a part {near} here, which is not the same as {number}.")
            if known is None and said.part.get("maker_number"):
                self._of_maker[said.part["maker_number"].casefold()].append(self.plans[number])
        return self.plans[number]

    def _known(self, said: ParsedRow, number: str, made: str) -> Any:
        """Return the bench's own part: by number, else by maker and maker's number."""
        if number in self._bench.parts:
            return self._bench.parts[number]
        maker = said.part.get("maker", "")
        found = self._bench.made_by(maker, made) if made and (maker or not number) else []
        if len(found) == 1:
            if number:
                said.mind.append(f"It is known here as {found[0].number}, by its maker's number.")
            return found[0]
        if found and not number:
            raise Invalid("Several parts here have this maker's number: give the number of the one that is meant.")
        return None

    def _own(self, said: ParsedRow, made: str) -> PartPlan | None:
        """Return the part of an earlier row that has the same maker's number."""
        maker = said.part.get("maker", "").casefold()
        found = [
            one for one in self._of_maker.get(made.casefold(), [])
            if made and maker in ("", str(one.said.get("maker", "")).casefold())
        ]  # fmt: skip
        if len(found) > 1:
            raise Invalid("Several rows above have this maker's number: give the number of the part that is meant.")
        return found[0] if found else None

    def _number_of_maker(self, said: ParsedRow, made: str) -> str:
        if not made:
            raise Invalid("Nothing says which part this is: give its number, or its maker's number.")
        if made in self._bench.parts or made in self.plans or len(made) > TEXT_LIMITS["number"]:
            raise Invalid(f"This part needs a number of its own: {made[:60]} cannot be it.")
        said.mind.append(f"It has no number: its maker's, {made}, is taken.")
        return made

    def check(self) -> None:
        """Check every new part as it will be added."""
        for plan in self.plans.values():
            if plan.known is None:
                _check_new_part(plan)


# ---- what rows say of a part -------------------------------------------------------------------------------


def _merge_row(plan: PartPlan, said: ParsedRow) -> None:
    """Add what a row says of a new part; what an earlier row says otherwise is wrong."""
    if said.unit and not plan.written_unit:
        plan.written_unit = said.unit
    for key, value in _part_values(said).items():
        if key not in plan.by:
            plan.by[key], plan.said[key] = said, value
        elif not _is_same(plan.said[key], value, key):
            said.fault(key, f"Row {plan.by[key].row} says otherwise of part {plan.number}: make them agree.")


def _is_same(one: Any, other: Any, key: str) -> bool:
    """Tell whether two rows say the same; the maker and its number are known by, whatever their capitals."""
    folded = key in ("maker", "maker_number")
    return bool(one.casefold() == other.casefold() if folded else one == other)


def _part_values(said: ParsedRow) -> dict[str, Any]:
    told = {key: value for key, value in said.part.items() if key != "number"}
    more = {"unit": said.unit, "level": said.level}
    return told | said.attributes | {key: value for key, value in more.items() if value}


def _compare_row(plan: PartPlan, said: ParsedRow) -> None:
    """Say what a row says otherwise than the bench of a part that it knows. It stays as it is here."""
    if said.unit and said.unit not in UNIT_FACTORS[plan.unit]:
        said.fault("unit", f"Part {plan.number} is kept in {plan.unit} here, not in {said.unit}: put the unit right.")
        return
    plan.written_unit = plan.written_unit or said.unit
    for key, value in said.part.items():
        here = getattr(plan.known, key)
        if value != here and key != "number":
            said.mind.append(f"{said.headings[key]} stays {_quoted(here)} here; the list says {_quoted(value)}.")
    for key, text in said.attributes.items():
        with said.cell(key):
            _compare_value(said, key, plan.known.attributes.get(key), _parse_attribute(plan.kind, key, text))
    if said.level:
        with said.cell("level"):
            level = plan.quantity(said.level, said.unit)
            if level != plan.known.level:
                here = "worked out" if plan.known.level is None else quantity_text(plan.known.level, plan)
                said.mind.append(
                    f"{said.headings['level']} stays {here} here; the list says {quantity_text(level, plan)}."
                )


def _compare_value(said: ParsedRow, key: str, here: Any, listed: Any) -> None:
    if listed != here:
        said.mind.append(f"{said.headings[key]} stays {_quoted(here)} here; the list says {_quoted(listed)}.")


def _quoted(value: Any) -> str:
    text = ", ".join(value) if isinstance(value, list) else "" if value is None else str(value)
    return f"'{text[:60]}{'…' if len(text) > 60 else ''}'" if text else "empty"


def _check_new_part(plan: PartPlan) -> None:
    first = plan.rows[0]
    if not plan.name and not _has_fault(plan, "name"):
        first.fault("name", f"Part {plan.number} is new here: give it a name.")
    if _has_fault(plan, "kind"):
        return
    if "kind" not in plan.said:
        first.mind.append("No kind is said: it is taken as other.")
    attributes = {key: plan.said.pop(key) for key in list(plan.said) if key not in _PART_FIELDS}
    plan.said["attributes"] = {}
    for key, text in attributes.items():
        with plan.by[key].cell(key):
            plan.said["attributes"][key] = _parse_attribute(plan.kind, key, text)
    if "level" in plan.said:
        with plan.by["level"].cell("level"):
            plan.said["level"] = plan.quantity(plan.said["level"])
    if not any(row.wrong for row in plan.rows):
        with first.cell(""):
            check_part(**new_part_fields(plan))


_PART_FIELDS = (*TEXT_LIMITS, "kind", "kept", "unit", "level", "hazards")


def _has_fault(plan: PartPlan, key: str) -> bool:
    """Tell whether a cell of column *key* in one of a part's rows is wrong."""
    return any(row.wrongly(key) for row in plan.rows)


def _parse_attribute(kind: str, key: str, text: str) -> Any:
    attribute = next((attribute for attribute in ATTRIBUTES[kind] if attribute.key == key), None)
    words = {word.casefold(): word for word in attribute.words} if attribute else {}
    return validated_attributes(kind, {key: words.get(text.casefold(), text)}).get(key)


def new_part_fields(plan: PartPlan) -> dict[str, Any]:
    """Return what ``add_part`` takes for a new part."""
    return {
        **plan.said,
        "number": plan.number,
        "name": plan.name,
        "kind": plan.kind,
        "kept": plan.kept,
        "unit": plan.unit,
    }
