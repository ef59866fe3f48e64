"""Procedures: named ways to test a piece, with what to read and between which limits.

A procedure that was used is never changed: an edit makes its next edition, and old proofs keep theirs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from peewee import IntegrityError

from inventory.domain.catalogue.attributes import ATTRIBUTES
from inventory.domain.common import clock
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid, Stale, invalid_field
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import PART_KINDS, clean_text, get_row, validated_choice
from inventory.domain.proof.built_in_procedures import BUILT_IN_PROCEDURES
from inventory.domain.proof.proof_records import (
    DEFAULT_SENSITIVITY,
    DEFAULT_SPECIFICITY,
    CheckRecord,
    ProcedureRecord,
)
from inventory.domain.proof.readings import parse_decimal
from inventory.reckoning.common.value_checks import check_chance
from inventory.store.connection import transaction
from inventory.store.tables import Part, Procedure, ProcedureCheck
from shared.hazards import sort_hazards

TEXT_LIMITS = text_limits(ProcedureRecord)
MAX_CHECKS = 40


def add_procedure(
    name: str, checks: Sequence[Mapping[str, Any]], *, kind: str = "", part_id: int | None = None, steps: str = "",
    hazards: Iterable[str] = (), source: str = "", sensitivity: float = DEFAULT_SENSITIVITY,
    specificity: float = DEFAULT_SPECIFICITY,
) -> ProcedureRecord:  # fmt: skip
    """Add a procedure, for one part, for a *kind* of part, or for any.

    Each check has a *name*, and either nothing else (answered yes or no) or a *unit* and limits *low*, *high*
    or both, as decimal text; with *times_rated* they are shares of that attribute of the part. *sensitivity*
    is P(fails | bad), *specificity* P(passes | good).
    """
    with transaction():
        values = _validated_fields(
            {
                "name": name, "kind": kind, "part_id": part_id, "steps": steps, "hazards": hazards,
                "source": source, "sensitivity": sensitivity, "specificity": specificity,
            }
        )  # fmt: skip
        clean_checks = _validated_checks(checks, values["kind"])
        return _create_edition(values, clean_checks, edition=1)


def edit_procedure(procedure_id: int, **changes: Any) -> ProcedureRecord:
    """Make the next edition of a procedure, with the *changes* that ``add_procedure`` takes but its name.

    Raises Stale when *procedure_id* is not the newest edition.
    """
    with transaction():
        row = get_row(Procedure, procedure_id, "procedure")
        _require_newest_edition(row)
        current = {n: getattr(row, n) for n in _EDITABLE}
        checks = changes.pop("checks", None)
        values = _validated_fields({**current, **changes})
        if values["name"] != row.name:
            raise Invalid("A procedure keeps its name: add another one instead.", errors={"name": ["fixed"]})
        clean_checks = _validated_checks(
            [vars(check) for check in _record(row).checks] if checks is None else checks, values["kind"]
        )
        Procedure.update(retired=True).where(Procedure.id == row.id).execute()
        return _create_edition(values, clean_checks, edition=row.edition + 1)


def retire_procedure(procedure_id: int, retired: bool = True) -> ProcedureRecord:
    """Retire a procedure, or bring it back into use. Proofs by it stay."""
    with transaction():
        row = get_row(Procedure, procedure_id, "procedure")
        _require_newest_edition(row)
        Procedure.update(retired=bool(retired)).where(Procedure.id == row.id).execute()
        return procedure(procedure_id)


def procedure(procedure_id: int) -> ProcedureRecord:
    """Return one procedure, in the edition asked for."""
    return _record(get_row(Procedure, procedure_id, "procedure"))


def editions(procedure_id: int) -> list[ProcedureRecord]:
    """Return every edition of a procedure, newest first."""
    name = get_row(Procedure, procedure_id, "procedure").name
    return _records(Procedure.select().where(Procedure.name == name).order_by(Procedure.edition.desc()))


def procedures(*, kind: str | None = None, part_id: int | None = None) -> list[ProcedureRecord]:
    """Return the procedures in use, by name: all, those for a *kind*, or those that may prove a part."""
    query = Procedure.select().where(~Procedure.retired)
    if part_id is not None:
        part = get_row(Part, part_id, "part")
        query = query.where(
            (Procedure.part == part_id) | (Procedure.part.is_null() & (Procedure.kind << ("", part.kind)))
        )
    if kind is not None:
        query = query.where(Procedure.kind == validated_choice(kind, "kind", PART_KINDS))
    records = _records(query.order_by(Procedure.name))
    return sorted(records, key=lambda record: (record.part_id is None, not record.kind))  # the most particular first


def install_built_in() -> list[ProcedureRecord]:
    """Add the built-in procedures that this bench does not have yet, by name; return those added."""
    with transaction():
        known = {procedure.name for procedure in Procedure.select(Procedure.name)}
        return [add_procedure(**procedure) for procedure in BUILT_IN_PROCEDURES if procedure["name"] not in known]


# ---- validation ------------------------------------------------------------------------------------------

_EDITABLE = ("name", "kind", "part_id", "steps", "hazards", "source", "sensitivity", "specificity")


def _validated_fields(values: dict[str, Any]) -> dict[str, Any]:
    unknown = set(values) - set(_EDITABLE)
    if unknown:
        raise Invalid(f"A procedure has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
    clean: dict[str, Any] = {
        n: clean_text(values[n], n, most, required=n == "name") for n, most in TEXT_LIMITS.items()
    }
    clean["kind"] = validated_choice(values["kind"], "kind", ("", *PART_KINDS))
    clean["part_id"] = values["part_id"]
    if values["part_id"] is not None:  # a procedure for one part is of that part's kind
        clean["kind"] = get_row(Part, values["part_id"], "part").kind
    clean["hazards"] = _validated_hazards(values["hazards"])
    for name in ("sensitivity", "specificity"):
        clean[name] = _validated_rate(values[name], name)
    if clean["sensitivity"] + clean["specificity"] <= 1.0:
        sentence = "A test that fails good pieces as often as bad ones says nothing: raise one of the two shares."
        raise invalid_field("sensitivity", sentence)
    return clean


def _validated_hazards(keys: Iterable[str]) -> list[str]:
    try:
        return list(sort_hazards(keys))
    except ValueError as error:
        raise invalid_field("hazards", str(error)) from None


def validated_chance(value: Any, field: str, what: str) -> float:
    """Return a probability from 0 to 1; raise Invalid about *field*, in a sentence that starts with *what*."""
    try:
        return check_chance(value, what)
    except ValueError as error:
        raise invalid_field(field, str(error)) from None


def _validated_rate(value: Any, name: str) -> float:
    """Return a chance that is neither 0 nor 1: no test of a bench is that sure."""
    rate = validated_chance(value, name, f"The {name}")
    if not 0.0 < rate < 1.0:
        raise invalid_field(name, f"The {name} lies between 0 and 1, such as 0.95: no test is that sure.")
    return rate


def _validated_checks(checks: Sequence[Mapping[str, Any]], kind: str) -> list[dict[str, Any]]:
    if not 1 <= len(checks) <= MAX_CHECKS:
        raise Invalid(f"A procedure has 1 to {MAX_CHECKS} checks.", errors={"checks": ["1 to 40"]})
    clean = [_validated_check(number, check, kind) for number, check in enumerate(checks, start=1)]
    names = [check["name"].casefold() for check in clean]
    twice = next((check["name"] for check in clean if names.count(check["name"].casefold()) > 1), None)
    if twice is not None:
        raise invalid_field("checks", f"Two checks are called {twice}: name them apart.")
    return clean


def _validated_check(position: int, values: Mapping[str, Any], kind: str) -> dict[str, Any]:
    unknown = set(values) - {"name", "unit", "low", "high", "times_rated", "position"}
    if unknown:
        raise invalid_field("checks", f"A check has no {', '.join(sorted(unknown))}.")
    name = clean_text(values.get("name", ""), "check", 120, required=True)
    unit = clean_text(values.get("unit", ""), "unit", 20)
    low, high = (_limit_text(values.get(side, ""), name) for side in ("low", "high"))
    rated = clean_text(values.get("times_rated", ""), "rating", 30)
    if not low and not high and (unit or rated):
        raise invalid_field(
            "checks", f"{name} has a unit and no limit: give it a lower or an upper one, or make it yes or no."
        )
    if low and high and Decimal(low) > Decimal(high):
        raise invalid_field("checks", f"{name} goes from {low} to {high}: swap the limits.")
    if rated:
        _require_rating(name, rated, unit, kind)
    return {"position": position, "name": name, "unit": unit, "low": low, "high": high, "times_rated": rated}


def _limit_text(value: Any, name: str) -> str:
    return "" if value in (None, "") else f"{parse_decimal(value, name):f}"


def _require_rating(name: str, key: str, unit: str, kind: str) -> None:
    ratings = {
        attribute.key: attribute
        for attribute in ATTRIBUTES.get(kind, ())
        if not attribute.words and not attribute.free
    }
    if key not in ratings:
        known = f"a {kind} has {', '.join(ratings)}" if ratings else "choose the kind of part first"
        raise invalid_field("checks", f"{name} is held against {key!r}, which is no rating: {known}.")
    if ratings[key].unit != unit:
        raise invalid_field(
            "checks", f"{name} is read in {unit!r}, but {key} is in {ratings[key].unit!r}: use the same unit."
        )


def _require_newest_edition(row: Procedure) -> None:
    newer = Procedure.get_or_none(Procedure.name == row.name, Procedure.edition > row.edition)
    if newer is not None:
        raise Stale(f"There is a newer edition of {row.name}: open that one, then repeat your edit.")


def _create_edition(values: dict[str, Any], checks: list[dict[str, Any]], edition: int) -> ProcedureRecord:
    columns = {("part" if name == "part_id" else name): value for name, value in values.items()}
    try:
        row = Procedure.create(**columns, edition=edition, created=clock.now())
    except IntegrityError:
        raise Conflict(
            f"There is a procedure {values['name']} already: edit that one, or choose another name.", reason="taken"
        ) from None
    for check in checks:
        ProcedureCheck.create(procedure=row.id, **check)
    return _record(row)


# ---- records ---------------------------------------------------------------------------------------------


def _record(row: Any) -> ProcedureRecord:
    return _records([row])[0]


def _records(query: Iterable[Any]) -> list[ProcedureRecord]:
    rows = list(query)
    checks: dict[int, list[CheckRecord]] = {row.id: [] for row in rows}
    of_procedures = ProcedureCheck.select().where(ProcedureCheck.procedure << list(checks))
    for check in of_procedures.order_by(ProcedureCheck.position):
        checks[check.procedure_id].append(from_row(CheckRecord, check))
    return [from_row(ProcedureRecord, row, checks=tuple(checks[row.id])) for row in rows]
