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
from inventory.domain.common.records import read
from inventory.domain.common.validation import KINDS, clean, one_of, row
from inventory.domain.proof.built_in_procedures import BUILT_IN
from inventory.domain.proof.proof_records import CheckRecord, ProcedureRecord
from inventory.domain.proof.readings import exact
from inventory.reckoning.common.value_checks import chance
from inventory.store.connection import writing
from inventory.store.tables import Part, Procedure, ProcedureCheck
from shared.hazards import in_order

TEXTS = {"name": 120, "steps": 5000, "source": 300}
SENSITIVITY, SPECIFICITY = 0.90, 0.98  # assumed, where the procedure says nothing else
MOST_CHECKS = 40


def add_procedure(
    name: str, checks: Sequence[Mapping[str, Any]], *, kind: str = "", part_id: int | None = None, steps: str = "",
    hazards: Iterable[str] = (), source: str = "", sensitivity: float = SENSITIVITY,
    specificity: float = SPECIFICITY,
) -> ProcedureRecord:  # fmt: skip
    """Add a procedure, for one part, for a *kind* of part, or for any.

    Each check has a *name*, and either nothing else (answered yes or no) or a *unit* and limits *low*, *high*
    or both, as decimal text; with *times_rated* they are shares of that attribute of the part. *sensitivity*
    is P(fails | bad), *specificity* P(passes | good).
    """
    with writing():
        given = _checked(
            {
                "name": name, "kind": kind, "part_id": part_id, "steps": steps, "hazards": hazards,
                "source": source, "sensitivity": sensitivity, "specificity": specificity,
            }
        )  # fmt: skip
        kept = _checked_checks(checks, given["kind"])
        return _make(given, kept, edition=1)


def edit_procedure(procedure_id: int, **changes: Any) -> ProcedureRecord:
    """Make the next edition of a procedure, with the *changes* that ``add_procedure`` takes but its name.

    Raises Stale when *procedure_id* is not the newest edition.
    """
    with writing():
        found = row(Procedure, procedure_id, "procedure")
        _must_be_newest(found)
        now = {n: getattr(found, n) for n in _EDITABLE}
        checks = changes.pop("checks", None)
        given = _checked({**now, **changes})
        if given["name"] != found.name:
            raise Invalid("A procedure keeps its name: add another one instead.", errors={"name": ["fixed"]})
        kept = _checked_checks([vars(one) for one in _checks(found)] if checks is None else checks, given["kind"])
        Procedure.update(retired=True).where(Procedure.id == found.id).execute()
        return _make(given, kept, edition=found.edition + 1)


def retire_procedure(procedure_id: int, retired: bool = True) -> ProcedureRecord:
    """Offer a procedure no longer, or again. Proofs by it stay."""
    with writing():
        found = row(Procedure, procedure_id, "procedure")
        _must_be_newest(found)
        Procedure.update(retired=bool(retired)).where(Procedure.id == found.id).execute()
        return procedure(procedure_id)


def procedure(procedure_id: int) -> ProcedureRecord:
    """Return one procedure, in the edition asked for."""
    return _record(row(Procedure, procedure_id, "procedure"))


def editions(procedure_id: int) -> list[ProcedureRecord]:
    """Return every edition of a procedure, newest first."""
    name = row(Procedure, procedure_id, "procedure").name
    return _records(Procedure.select().where(Procedure.name == name).order_by(Procedure.edition.desc()))


def procedures(*, kind: str | None = None, part_id: int | None = None) -> list[ProcedureRecord]:
    """Return the procedures in use, by name: all, those for a *kind*, or those that may prove a part."""
    query = Procedure.select().where(~Procedure.retired)
    if part_id is not None:
        part = row(Part, part_id, "part")
        query = query.where(
            (Procedure.part == part_id) | (Procedure.part.is_null() & (Procedure.kind << ("", part.kind)))
        )
    if kind is not None:
        query = query.where(Procedure.kind == one_of(kind, "kind", KINDS))
    found = _records(query.order_by(Procedure.name))
    return sorted(found, key=lambda one: (one.part_id is None, not one.kind))  # the most particular first


def install_built_in() -> list[ProcedureRecord]:
    """Add the built-in procedures that this bench does not have yet, by name; return those added."""
    with writing():
        known = {one.name for one in Procedure.select(Procedure.name)}
        return [add_procedure(**one) for one in BUILT_IN if one["name"] not in known]


# ---- checks of what was given ----------------------------------------------------------------------------

_EDITABLE = ("name", "kind", "part_id", "steps", "hazards", "source", "sensitivity", "specificity")


def _checked(given: dict[str, Any]) -> dict[str, Any]:
    unknown = set(given) - set(_EDITABLE)
    if unknown:
        raise Invalid(f"A procedure has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
    kept: dict[str, Any] = {n: clean(given[n], n, most, needed=n == "name") for n, most in TEXTS.items()}
    kept["kind"] = one_of(given["kind"], "kind", ("", *KINDS))
    kept["part_id"] = given["part_id"]
    if given["part_id"] is not None:  # a procedure for one part is of that part's kind
        kept["kind"] = row(Part, given["part_id"], "part").kind
    kept["hazards"] = _hazards(given["hazards"])
    for name in ("sensitivity", "specificity"):
        kept[name] = _share(given[name], name)
    if kept["sensitivity"] + kept["specificity"] <= 1.0:
        sentence = "A test that fails good pieces as often as bad ones says nothing: raise one of the two shares."
        raise Invalid(sentence, errors={"sensitivity": [sentence]})
    return kept


def _hazards(keys: Iterable[str]) -> list[str]:
    try:
        return list(in_order(keys))
    except ValueError as unknown:
        raise Invalid(str(unknown), errors={"hazards": [str(unknown)]}) from None


def _share(value: Any, name: str) -> float:
    """Return a chance that is neither 0 nor 1: no test of a bench is that sure."""
    try:
        found = chance(value, f"The {name}")
    except ValueError as bad:
        raise Invalid(str(bad), errors={name: [str(bad)]}) from None
    if not 0.0 < found < 1.0:
        sentence = f"The {name} lies between 0 and 1, such as 0.95: no test is that sure."
        raise Invalid(sentence, errors={name: [sentence]})
    return found


def _checked_checks(checks: Sequence[Mapping[str, Any]], kind: str) -> list[dict[str, Any]]:
    if not 1 <= len(checks) <= MOST_CHECKS:
        raise Invalid(f"A procedure has 1 to {MOST_CHECKS} checks.", errors={"checks": ["1 to 40"]})
    kept = [_checked_check(number, one, kind) for number, one in enumerate(checks, start=1)]
    names = [one["name"].casefold() for one in kept]
    twice = next((one["name"] for one in kept if names.count(one["name"].casefold()) > 1), None)
    if twice is not None:
        raise _bad_check(f"Two checks are called {twice}: name them apart.")
    return kept


def _checked_check(position: int, given: Mapping[str, Any], kind: str) -> dict[str, Any]:
    unknown = set(given) - {"name", "unit", "low", "high", "times_rated", "position"}
    if unknown:
        raise _bad_check(f"A check has no {', '.join(sorted(unknown))}.")
    name = clean(given.get("name", ""), "check", 120, needed=True)
    unit = clean(given.get("unit", ""), "unit", 20)
    low, high = (_limit(given.get(side, ""), name) for side in ("low", "high"))
    rated = clean(given.get("times_rated", ""), "rating", 30)
    if not low and not high and (unit or rated):
        raise _bad_check(f"{name} has a unit and no limit: give it a lower or an upper one, or make it yes or no.")
    if low and high and Decimal(low) > Decimal(high):
        raise _bad_check(f"{name} goes from {low} to {high}: swap the limits.")
    if rated:
        _must_be_a_rating(name, rated, unit, kind)
    return {"position": position, "name": name, "unit": unit, "low": low, "high": high, "times_rated": rated}


def _limit(value: Any, name: str) -> str:
    return "" if value in (None, "") else f"{exact(value, name):f}"


def _must_be_a_rating(name: str, key: str, unit: str, kind: str) -> None:
    ratings = {one.key: one for one in ATTRIBUTES.get(kind, ()) if not one.words and not one.free}
    if key not in ratings:
        known = f"a {kind} has {', '.join(ratings)}" if ratings else "choose the kind of part first"
        raise _bad_check(f"{name} is held against {key!r}, which is no rating: {known}.")
    if ratings[key].unit != unit:
        raise _bad_check(f"{name} is read in {unit!r}, but {key} is in {ratings[key].unit!r}: use the same unit.")


def _bad_check(sentence: str) -> Invalid:
    return Invalid(sentence, errors={"checks": [sentence]})


def _must_be_newest(found: Procedure) -> None:
    newer = Procedure.get_or_none(Procedure.name == found.name, Procedure.edition > found.edition)
    if newer is not None:
        raise Stale(f"There is a newer edition of {found.name}: open that one, then repeat your edit.")


def _make(given: dict[str, Any], checks: list[dict[str, Any]], edition: int) -> ProcedureRecord:
    columns = {("part" if name == "part_id" else name): value for name, value in given.items()}
    try:
        made = Procedure.create(**columns, edition=edition, created=clock.now())
    except IntegrityError:
        raise Conflict(
            f"There is a procedure {given['name']} already: edit that one, or choose another name.", reason="taken"
        ) from None
    for one in checks:
        ProcedureCheck.create(procedure=made.id, **one)
    return _record(made)


# ---- records ---------------------------------------------------------------------------------------------


def _record(found: Any) -> ProcedureRecord:
    return read(ProcedureRecord, found, checks=_checks(found))


def _checks(found: Any) -> tuple[CheckRecord, ...]:
    return tuple(read(CheckRecord, one) for one in found.checks.order_by(ProcedureCheck.position))


def _records(query: Any) -> list[ProcedureRecord]:
    rows = list(query)
    checks: dict[int, list[CheckRecord]] = {one.id: [] for one in rows}
    for one in ProcedureCheck.select().where(ProcedureCheck.procedure << list(checks)).order_by(
        ProcedureCheck.position
    ):  # fmt: skip
        checks[one.procedure_id].append(read(CheckRecord, one))
    return [read(ProcedureRecord, one, checks=tuple(checks[one.id])) for one in rows]
