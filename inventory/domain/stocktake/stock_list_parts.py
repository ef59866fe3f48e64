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
    """A part that rows name. ``existing`` is the bench's own; ``values`` are what the rows say of a new one."""

    number: str
    existing: Any
    rows: list[ParsedRow] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    by: dict[str, ParsedRow] = field(default_factory=dict)  # by column, the row that said it first
    written_unit: str = ""

    @property
    def kind(self) -> str:
        """The kind that it is, or will be."""
        return str(self.existing.kind if self.existing else self.values.get("kind", "other"))

    @property
    def kept(self) -> str:
        """The way in which it is, or will be, kept."""
        return str(self.existing.kept if self.existing else self.values.get("kept", "counted"))

    @property
    def unit(self) -> str:
        """Its base unit."""
        return str(self.existing.unit if self.existing else base_unit(self.written_unit or "piece"))

    @property
    def name(self) -> str:
        """What it is called."""
        return str(self.existing.name if self.existing else self.values.get("name", ""))

    def quantity(self, text: str, written: str = "", *, least: int = 0) -> int:
        """Read a quantity of it in base units; a bare number is in the unit that the list says, if it says one."""
        unit = written or self.written_unit
        bare = not any(character.isalpha() for character in text)
        return parse_quantity(
            f"{text} {unit}" if bare and unit in UNIT_FACTORS[self.unit] else text, self.unit, minimum=least
        )


class PartPlans:
    """The parts of a list, gathered row by row and then checked; what is wrong goes to the row that says it."""

    def __init__(self, bench: BenchSnapshot) -> None:
        self._bench = bench
        self._of_maker: dict[str, list[PartPlan]] = defaultdict(list)
        self.plans: dict[str, PartPlan] = {}

    def of(self, parsed: ParsedRow) -> PartPlan | None:
        """Return the part that a row is about, None for none or one that cannot be told."""
        if not (parsed.part or parsed.attributes or parsed.unit or parsed.level):
            return None
        if parsed.wrongly("number") or parsed.wrongly("maker_number"):
            return None
        with parsed.cell(""):
            plan = self._found(parsed)
            plan.rows.append(parsed)
            if plan.existing:
                _compare_row(plan, parsed)
            else:
                _merge_row(plan, parsed)
            return plan
        return None

    def _found(self, parsed: ParsedRow) -> PartPlan:
        number, maker_number = parsed.part.get("number", ""), parsed.part.get("maker_number", "")
        if number in self.plans:
            return self.plans[number]
        existing = self._known(parsed, number, maker_number)
        if existing is None and not number:
            if (earlier := self._own(parsed, maker_number)) is not None:
                return earlier
            number = self._number_of_maker(parsed, maker_number)
        check_not_retired(existing, "Part", existing.number if existing else "")
        return self._plan(parsed, existing.number if existing else number, existing)

    def _plan(self, parsed: ParsedRow, number: str, existing: Any) -> PartPlan:
        if number not in self.plans:
            self.plans[number] = PartPlan(number, existing)
            if existing is None and (near := self._bench.almost("parts", number)):
                parsed.notes.append(f"There is a part {near} here, which is not the same as {number}.")
            if existing is None and parsed.part.get("maker_number"):
                self._of_maker[parsed.part["maker_number"].casefold()].append(self.plans[number])
        return self.plans[number]

    def _known(self, parsed: ParsedRow, number: str, maker_number: str) -> Any:
        """Return the bench's own part: by number, else by maker and maker's number."""
        if number in self._bench.parts:
            return self._bench.parts[number]
        maker = parsed.part.get("maker", "")
        matches = self._bench.made_by(maker, maker_number) if maker_number and (maker or not number) else []
        if len(matches) == 1:
            if number:
                parsed.notes.append(f"It is known here as {matches[0].number}, by its maker's number.")
            return matches[0]
        if matches and not number:
            raise Invalid("Several parts here have this maker's number: give the number of the one that is meant.")
        return None

    def _own(self, parsed: ParsedRow, maker_number: str) -> PartPlan | None:
        """Return the part of an earlier row that has the same maker's number."""
        maker = parsed.part.get("maker", "").casefold()
        plans = [
            plan for plan in self._of_maker.get(maker_number.casefold(), [])
            if maker_number and maker in ("", str(plan.values.get("maker", "")).casefold())
        ]  # fmt: skip
        if len(plans) > 1:
            raise Invalid("Several rows above have this maker's number: give the number of the part that is meant.")
        return plans[0] if plans else None

    def _number_of_maker(self, parsed: ParsedRow, maker_number: str) -> str:
        if not maker_number:
            raise Invalid("Nothing says which part this is: give its number, or its maker's number.")
        if (
            maker_number in self._bench.parts
            or maker_number in self.plans
            or len(maker_number) > TEXT_LIMITS["number"]
        ):
            raise Invalid(f"This part needs a number of its own: {maker_number[:60]} cannot be it.")
        parsed.notes.append(f"It has no number: its maker's, {maker_number}, is taken.")
        return maker_number

    def check(self) -> None:
        """Check every new part as it will be added."""
        for plan in self.plans.values():
            if plan.existing is None:
                _check_new_part(plan)


# ---- what rows say of a part -------------------------------------------------------------------------------


def _merge_row(plan: PartPlan, parsed: ParsedRow) -> None:
    """Add what a row says of a new part; what an earlier row says otherwise is wrong."""
    if parsed.unit and not plan.written_unit:
        plan.written_unit = parsed.unit
    for key, value in _part_values(parsed).items():
        if key not in plan.by:
            plan.by[key], plan.values[key] = parsed, value
        elif not _is_same(plan.values[key], value, key):
            parsed.fault(key, f"Row {plan.by[key].row} says otherwise of part {plan.number}: make them agree.")


def _is_same(value: Any, other: Any, key: str) -> bool:
    """Tell whether two rows say the same; the maker and its number are known by, whatever their capitals."""
    folded = key in ("maker", "maker_number")
    return bool(value.casefold() == other.casefold() if folded else value == other)


def _part_values(parsed: ParsedRow) -> dict[str, Any]:
    texts = {key: value for key, value in parsed.part.items() if key != "number"}
    quantities = {"unit": parsed.unit, "level": parsed.level}
    return texts | parsed.attributes | {key: value for key, value in quantities.items() if value}


def _compare_row(plan: PartPlan, parsed: ParsedRow) -> None:
    """Say what a row says otherwise than the bench of a part that it knows. It stays as it is here."""
    if parsed.unit and parsed.unit not in UNIT_FACTORS[plan.unit]:
        parsed.fault(
            "unit", f"Part {plan.number} is kept in {plan.unit} here, not in {parsed.unit}: put the unit right."
        )
        return
    plan.written_unit = plan.written_unit or parsed.unit
    for key, value in parsed.part.items():
        kept = getattr(plan.existing, key)
        if value != kept and key != "number":
            parsed.notes.append(f"{parsed.headings[key]} stays {_quoted(kept)} here; the list says {_quoted(value)}.")
    for key, text in parsed.attributes.items():
        with parsed.cell(key):
            _compare_value(parsed, key, plan.existing.attributes.get(key), _parse_attribute(plan.kind, key, text))
    if parsed.level:
        with parsed.cell("level"):
            level = plan.quantity(parsed.level, parsed.unit)
            if level != plan.existing.level:
                kept = "worked out" if plan.existing.level is None else quantity_text(plan.existing.level, plan)
                parsed.notes.append(
                    f"{parsed.headings['level']} stays {kept} here; the list says {quantity_text(level, plan)}."
                )


def _compare_value(parsed: ParsedRow, key: str, kept: Any, listed: Any) -> None:
    if listed != kept:
        parsed.notes.append(f"{parsed.headings[key]} stays {_quoted(kept)} here; the list says {_quoted(listed)}.")


def _quoted(value: Any) -> str:
    text = ", ".join(value) if isinstance(value, list) else "" if value is None else str(value)
    return f"'{text[:60]}{'…' if len(text) > 60 else ''}'" if text else "empty"


def _check_new_part(plan: PartPlan) -> None:
    first = plan.rows[0]
    if not plan.name and not _has_fault(plan, "name"):
        first.fault("name", f"Part {plan.number} is new here: give it a name.")
    if _has_fault(plan, "kind"):
        return
    if "kind" not in plan.values:
        first.notes.append("No kind is said: it is taken as other.")
    attributes = {key: plan.values.pop(key) for key in list(plan.values) if key not in _PART_FIELDS}
    plan.values["attributes"] = {}
    for key, text in attributes.items():
        with plan.by[key].cell(key):
            plan.values["attributes"][key] = _parse_attribute(plan.kind, key, text)
    if "level" in plan.values:
        with plan.by["level"].cell("level"):
            plan.values["level"] = plan.quantity(plan.values["level"])
    if not any(row.wrong for row in plan.rows):
        with first.cell(""):
            check_part(**new_part_fields(plan))


_PART_FIELDS = (*TEXT_LIMITS, "kind", "kept", "unit", "level", "hazards")


def _has_fault(plan: PartPlan, key: str) -> bool:
    """Tell whether a cell of column *key* in one of a part's rows is wrong."""
    return any(row.wrongly(key) for row in plan.rows)


def _parse_attribute(kind: str, key: str, text: str) -> Any:
    attribute = next((attribute for attribute in ATTRIBUTES[kind] if attribute.key == key), None)
    word_by_fold = {word.casefold(): word for word in attribute.words} if attribute else {}
    return validated_attributes(kind, {key: word_by_fold.get(text.casefold(), text)}).get(key)


def new_part_fields(plan: PartPlan) -> dict[str, Any]:
    """Return what ``add_part`` takes for a new part."""
    return {
        **plan.values,
        "number": plan.number,
        "name": plan.name,
        "kind": plan.kind,
        "kept": plan.kept,
        "unit": plan.unit,
    }
