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
from inventory.domain.common.errors import Conflict, Invalid, Stale
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import PART_KINDS, check_field_names, clean_text, get_row, validated_choice
from inventory.domain.proof.built_in_procedures import BUILT_IN_PROCEDURES
from inventory.domain.proof.proof_records import CheckRecord, ProcedureRecord
from inventory.domain.proof.readings import parse_decimal
from inventory.reckoning.common.value_checks import check_chance
from inventory.store.connection import transaction
from inventory.store.tables import Part, Procedure, ProcedureCheck
from shared.hazards import sort_hazards

TEXT_LIMITS = {"name": 120, "steps": 5000, "source": 300}
DEFAULT_SENSITIVITY, DEFAULT_SPECIFICITY = 0.90, 0.98  # assumed, where the procedure says nothing else
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
        given = _validated_fields(
            {
                "name": name, "kind": kind, "part_id": part_id, "steps": steps, "hazards": hazards,
                "source": source, "sensitivity": sensitivity, "specificity": specificity,
            }
        )  # fmt: skip
        kept = _validated_checks(checks, given["kind"])
        return _create_edition(given, kept, edition=1)


def edit_procedure(procedure_id: int, **changes: Any) -> ProcedureRecord:
    """Make the next edition of a procedure, with the *changes* that ``add_procedure`` takes but its name.

    Raises Stale when *procedure_id* is not the newest edition.
    """
    with transaction():
        found = get_row(Procedure, procedure_id, "procedure")
        _require_newest_edition(found)
        now = {n: getattr(found, n) for n in _EDITABLE}
        checks = changes.pop("checks", None)
        given = _validated_fields({**now, **changes})
        if given["name"] != found.name:
            raise Invalid("A procedure keeps its name: add another one instead.", errors={"name": ["fixed"]})
        kept = _validated_checks(
            [vars(record) for record in _check_records(found)] if checks is None else checks, given["kind"]
        )
        Procedure.update(retired=True).where(Procedure.id == found.id).execute()
        return _create_edition(given, kept, edition=found.edition + 1)


def retire_procedure(procedure_id: int, retired: bool = True) -> ProcedureRecord:
    """Offer a procedure no longer, or again. Proofs by it stay."""
    with transaction():
        found = get_row(Procedure, procedure_id, "procedure")
        _require_newest_edition(found)
        Procedure.update(retired=bool(retired)).where(Procedure.id == found.id).execute()
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
    found = _records(query.order_by(Procedure.name))
    return sorted(found, key=lambda one: (one.part_id is None, not one.kind))  # the most particular first


def install_built_in() -> list[ProcedureRecord]:
    """Add the built-in procedures that this bench does not have yet, by name; return those added."""
    with transaction():
        known = {procedure.name for procedure in Procedure.select(Procedure.name)}
        return [add_procedure(**procedure) for procedure in BUILT_IN_PROCEDURES if procedure["name"] not in known]


# ---- checks of what was given ----------------------------------------------------------------------------

_EDITABLE = ("name", "kind", "part_id", "steps", "hazards", "source", "sensitivity", "specificity")


def _validated_fields(given: dict[str, Any]) -> dict[str, Any]:
    check_field_names(given, _EDITABLE, "A procedure has no {}.")
    kept: dict[str, Any] = {n: clean_text(given[n], n, most, required=n == "name") for n, most in TEXT_LIMITS.items()}
    kept["kind"] = validated_choice(given["kind"], "kind", ("", *PART_KINDS))
    kept["part_id"] = given["part_id"]
    if given["part_id"] is not None:  # a procedure for one part is of that part's kind
        kept["kind"] = get_row(Part, given["part_id"], "part").kind
    kept["hazards"] = _validated_hazards(given["hazards"])
    for name in ("sensitivity", "specificity"):
        kept[name] = _validated_rate(given[name], name)
    if kept["sensitivity"] + kept["specificity"] <= 1.0:
        sentence = "A test that fails good pieces as often as bad ones says nothing: raise one of the two shares."
        raise Invalid(sentence, errors={"sensitivity": [sentence]})
    return kept


def _validated_hazards(keys: Iterable[str]) -> list[str]:
    try:
        return list(sort_hazards(keys))
    except ValueError as unknown:
        raise Invalid(str(unknown), errors={"hazards": [str(unknown)]}) from None


def _validated_rate(value: Any, name: str) -> float:
    """Return a chance that is neither 0 nor 1: no test of a bench is that sure."""
    try:
        found = check_chance(value, f"The {name}")
    except ValueError as bad:
        raise Invalid(str(bad), errors={name: [str(bad)]}) from None
    if not 0.0 < found < 1.0:
        sentence = f"The {name} lies between 0 and 1, such as 0.95: no test is that sure."
        raise Invalid(sentence, errors={name: [sentence]})
    return found


def _validated_checks(checks: Sequence[Mapping[str, Any]], kind: str) -> list[dict[str, Any]]:
    if not 1 <= len(checks) <= MAX_CHECKS:
        raise Invalid(f"A procedure has 1 to {MAX_CHECKS} checks.", errors={"checks": ["1 to 40"]})
    kept = [_validated_check(number, one, kind) for number, one in enumerate(checks, start=1)]
    names = [one["name"].casefold() for one in kept]
    twice = next((one["name"] for one in kept if names.count(one["name"].casefold()) > 1), None)
    if twice is not None:
        raise _invalid_check(f"Two checks are called {twice}: name them apart.")
    return kept


def _validated_check(position: int, given: Mapping[str, Any], kind: str) -> dict[str, Any]:
    unknown = set(given) - {"name", "unit", "low", "high", "times_rated", "position"}
    if unknown:
        raise _invalid_check(f"A check has no {', '.join(sorted(unknown))}.")
    name = clean_text(given.get("name", ""), "check", 120, required=True)
    unit = clean_text(given.get("unit", ""), "unit", 20)
    low, high = (_limit_text(given.get(side, ""), name) for side in ("low", "high"))
    rated = clean_text(given.get("times_rated", ""), "rating", 30)
    if not low and not high and (unit or rated):
        raise _invalid_check(
            f"{name} has a unit and no limit: give it a lower or an upper one, or make it yes or no."
        )
    if low and high and Decimal(low) > Decimal(high):
        raise _invalid_check(f"{name} goes from {low} to {high}: swap the limits.")
    if rated:
        _require_rating(name, rated, unit, kind)
    return {"position": position, "name": name, "unit": unit, "low": low, "high": high, "times_rated": rated}


def _limit_text(value: Any, name: str) -> str:
    return "" if value in (None, "") else f"{parse_decimal(value, name):f}"


def _require_rating(name: str, key: str, unit: str, kind: str) -> None:
    ratings = {one.key: one for one in ATTRIBUTES.get(kind, ()) if not one.words and not one.free}
    if key not in ratings:
        known = f"a {kind} has {', '.join(ratings)}" if ratings else "choose the kind of part first"
        raise _invalid_check(f"{name} is held against {key!r}, which is no rating: {known}.")
    if ratings[key].unit != unit:
        raise _invalid_check(f"{name} is read in {unit!r}, but {key} is in {ratings[key].unit!r}: use the same unit.")


def _invalid_check(sentence: str) -> Invalid:
    return Invalid(sentence, errors={"checks": [sentence]})


def _require_newest_edition(found: Procedure) -> None:
    newer = Procedure.get_or_none(Procedure.name == found.name, Procedure.edition > found.edition)
    if newer is not None:
        raise Stale(f"There is a newer edition of {found.name}: open that one, then repeat your edit.")


def _create_edition(given: dict[str, Any], checks: list[dict[str, Any]], edition: int) -> ProcedureRecord:
    columns = {("part" if name == "part_id" else name): value for name, value in given.items()}
    try:
        made = Procedure.create(**columns, edition=edition, created=clock.now())
    except IntegrityError:
        raise Conflict(
            f"There is a procedure {given['name']} already: edit that one, or choose another name.", reason="taken"
        ) from None
    for check in checks:
        ProcedureCheck.create(procedure=made.id, **check)
    return _record(made)


# ---- records ---------------------------------------------------------------------------------------------


def _record(found: Any) -> ProcedureRecord:
    return from_row(ProcedureRecord, found, checks=_check_records(found))


def _check_records(found: Any) -> tuple[CheckRecord, ...]:
    return tuple(from_row(CheckRecord, check) for check in found.checks.order_by(ProcedureCheck.position))


def _records(query: Any) -> list[ProcedureRecord]:
    rows = list(query)
    checks: dict[int, list[CheckRecord]] = {row.id: [] for row in rows}
    for procedure_check in ProcedureCheck.select().where(ProcedureCheck.procedure << list(checks)).order_by(
        ProcedureCheck.position
    ):  # fmt: skip
        checks[procedure_check.procedure_id].append(from_row(CheckRecord, procedure_check))
    return [from_row(ProcedureRecord, row, checks=tuple(checks[row.id])) for row in rows]
