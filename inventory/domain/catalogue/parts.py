"""Parts: what can be stocked, what each fits, its substitutes and its tips."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from typing import Any

from inventory.domain.catalogue.attributes import attributes_text, validated_attributes
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid, invalid_field
from inventory.domain.common.paging import contains_words, paginate
from inventory.domain.common.records import (
    LessonRecord,
    PartRecord,
    ResultPage,
    SubstituteRecord,
    UnitModelRecord,
    from_row,
)
from inventory.domain.common.validation import (
    KEPT_MODES,
    MAX_QUANTITY,
    MAX_TARGET,
    MIN_TARGET,
    PART_KINDS,
    PROMISES,
    check_field_names,
    clean_text,
    clean_texts,
    conflict_if_taken,
    get_row,
    update_versioned,
    validated_choice,
    validated_number,
)
from inventory.store.connection import transaction
from inventory.store.tables import Job, Lesson, Movement, Part, PartFit, Substitute, UnitModel
from shared.hazards import HAZARDS, implied_hazards
from shared.quantities import UNIT_FACTORS

TEXT_LIMITS = text_limits(PartRecord)
REQUIRED = ("number", "name")


def add_part(
    number: str, name: str, kind: str, *, kept: str = "counted", unit: str = "piece",
    hazards: Sequence[str] | None = None, fits: Iterable[str] = (), catalogued_for: int | None = None,
    **more: Any,
) -> PartRecord:  # fmt: skip
    """Add a part. *more* takes the other columns that ``edit_part`` takes.

    *hazards* left out are those its kind and attributes imply; *catalogued_for* is the job that caused it.
    """
    with transaction():
        values = check_part(number=number, name=name, kind=kind, kept=kept, unit=unit, hazards=hazards, **more)
        if catalogued_for is not None:
            get_row(Job, catalogued_for, "job")
        with _conflict_if_number_taken(values["number"]):
            row = Part.create(
                **values, search=_search_text(values), catalogued=clock.now(), catalogued_for_id=catalogued_for
            )
        _set_fits(row.id, fits)
        return from_row(PartRecord, row)


def check_part(*, hazards: Sequence[str] | None = None, **fields: Any) -> dict[str, Any]:
    """Return the columns of a new part without adding it; raise as ``add_part`` does, but not for a taken number."""
    values = _validated_fields(None, {"kept": "counted", "unit": "piece", **fields})
    implied = implied_hazards(values["kind"], values["attributes"], values["name"])
    return {**values, "hazards": _validated_hazards(implied if hazards is None else hazards)}


def edit_part(part_id: int, version: int | None = None, **changes: Any) -> PartRecord:
    """Edit a part. Its unit and how it is kept cannot change once it has movements."""
    with transaction():
        row = get_row(Part, part_id, "part")
        fits = changes.pop("fits", None)
        current = {name: getattr(row, name) for name in _EDITABLE}
        values = _validated_fields(row, {**current, **changes})
        values["hazards"] = _validated_hazards(values["hazards"])
        with _conflict_if_number_taken(values["number"]):
            update_versioned(row, "part", version, **values, search=_search_text(values))
        if fits is not None:
            _set_fits(part_id, fits)
        return part(part_id)


_EDITABLE = (
    *("number", "name", "kind", "kept", "unit", "maker", "maker_number", "attributes", "hazards", "caution"),
    *("note", "level", "target", "promise", "rated_matings", "retired"),
)


def _validated_fields(row: Part | None, fields: dict[str, Any]) -> dict[str, Any]:
    """Return the columns that *fields* make of a part; *row* is the part that is edited, None for a new one."""
    check_field_names(fields, _EDITABLE, "A part has no {}.")
    values: dict[str, Any] = {**clean_texts(fields, TEXT_LIMITS, REQUIRED)}
    values["kind"] = validated_choice(fields["kind"], "kind", PART_KINDS)
    values["kept"] = validated_choice(fields["kept"], "kept", KEPT_MODES)
    values["unit"] = validated_choice(fields["unit"], "unit", tuple(UNIT_FACTORS))
    values["attributes"] = validated_attributes(values["kind"], fields.get("attributes") or {})
    values["hazards"] = fields.get("hazards", [])
    for name, least in (("level", 0), ("rated_matings", 1)):
        sentence = f"The {name.replace('_', ' ')} must be a whole number of {least} or more."
        values[name] = validated_number(fields.get(name), name, least, MAX_QUANTITY, sentence, optional=True)
    values["target"] = validated_number(
        fields.get("target"), "target", MIN_TARGET, MAX_TARGET,
        f"The promise must be a share from {MIN_TARGET} to {MAX_TARGET}, such as 0.95.", whole=False, optional=True,
    )  # fmt: skip
    promise = fields.get("promise")
    values["promise"] = None if promise is None else validated_choice(promise, "promise", PROMISES)
    values["retired"] = bool(fields.get("retired", False))
    _check_unit_unchanged(row, values)
    return values


def _check_unit_unchanged(row: Part | None, values: dict[str, Any]) -> None:
    if values["kept"] == "individually" and values["unit"] != "piece":
        raise Invalid("A part kept individually is counted in pieces.", errors={"unit": ["must be piece"]})
    if row is None or (row.kept, row.unit) == (values["kept"], values["unit"]):
        return
    if Movement.select().where(Movement.part == row.id).exists():
        raise Conflict("This part has movements: its unit and way of keeping stay. Add a new part instead.")


def _validated_hazards(hazards: Iterable[str]) -> list[str]:
    keys = list(dict.fromkeys(hazards))
    unknown = [key for key in keys if key not in HAZARDS]
    if unknown:
        raise invalid_field("hazards", f"Unknown hazard {unknown[0]!r}; known are: {', '.join(HAZARDS)}.")
    return keys


def _conflict_if_number_taken(number: str) -> AbstractContextManager[None]:
    return conflict_if_taken(f"a part {number}", "open it, or choose another number")


def _search_text(values: dict[str, Any]) -> str:
    texts = [values[name] for name in ("number", "name", "maker", "maker_number", "kind", "note")]
    return " ".join([*texts, attributes_text(values["kind"], values["attributes"])]).casefold()


def part(part_id: int) -> PartRecord:
    """Return one part."""
    return from_row(PartRecord, get_row(Part, part_id, "part"))


def parts_by_id(part_ids: Iterable[int]) -> dict[int, PartRecord]:
    """Return parts by their ids, as many as there are."""
    return {row.id: from_row(PartRecord, row) for row in Part.select().where(Part.id << list(part_ids))}


def parts(
    *, find: str = "", kind: str | None = None, fits: int | None = None, retired: bool = False,
    after: str | None = None, limit: int = 50,
) -> ResultPage:  # fmt: skip
    """Return parts by number; *find* holds words to look for, *fits* is a unit model."""
    query = Part.select().where(Part.retired == retired)
    if find.strip():
        query = query.where(contains_words(Part.search, find))
    if kind:
        query = query.where(Part.kind == kind)
    if fits is not None:
        query = query.where(Part.id.in_(PartFit.select(PartFit.part).where(PartFit.unit_model == fits)))
    return paginate(query, Part.number, after, limit, lambda row: from_row(PartRecord, row))


# ---- fits, substitutes, lessons --------------------------------------------------------------------------


def _set_fits(part_id: int, names: Iterable[str]) -> None:
    PartFit.delete().where(PartFit.part == part_id).execute()
    for unit_model_id in dict.fromkeys(get_or_create_unit_model(name).id for name in names):
        PartFit.create(part=part_id, unit_model=unit_model_id)


def get_or_create_unit_model(name: str) -> UnitModelRecord:
    """Return the unit model called *name*, adding it if it is new."""
    name = clean_text(name, "unit model", 120, required=True)
    with transaction():
        row, _ = UnitModel.get_or_create(name=name)
    return from_row(UnitModelRecord, row)


def unit_model(unit_model_id: int) -> UnitModelRecord:
    """Return one unit model."""
    return from_row(UnitModelRecord, get_row(UnitModel, unit_model_id, "unit model"))


def unit_models(find: str = "") -> list[UnitModelRecord]:
    """Return the unit models whose name holds *find*, by name."""
    query = UnitModel.select().order_by(UnitModel.name)
    if find.strip():
        query = query.where(contains_words(UnitModel.name, find))
    return [from_row(UnitModelRecord, row) for row in query]


def unit_models_of_part(part_id: int) -> list[UnitModelRecord]:
    """Return the unit models that a part fits."""
    query = UnitModel.select().join(PartFit).where(PartFit.part == part_id).order_by(UnitModel.name)
    return [from_row(UnitModelRecord, row) for row in query]


def set_substitute(part_id: int, instead_id: int, differs: str = "") -> None:
    """Note that *instead_id* may be used for *part_id*, and how it differs."""
    if part_id == instead_id:
        raise Invalid("A part cannot stand in for itself: choose another one.")
    with transaction():
        get_row(Part, part_id, "part")
        get_row(Part, instead_id, "part")
        differs = clean_text(differs, "difference", 300)
        Substitute.insert(part=part_id, instead=instead_id, differs=differs).on_conflict(
            conflict_target=[Substitute.part, Substitute.instead], update={Substitute.differs: differs}
        ).execute()


def drop_substitute(part_id: int, instead_id: int) -> None:
    """Remove *instead_id* from the substitutes of *part_id*."""
    with transaction():
        Substitute.delete().where(Substitute.part == part_id, Substitute.instead == instead_id).execute()


def substitutes_of(part_id: int) -> list[SubstituteRecord]:
    """Return the substitutes of a part, each with its stock on the shelf."""
    rows = Substitute.select(Substitute, Part).join(Part, on=Substitute.instead).where(Substitute.part == part_id)
    return [
        SubstituteRecord(from_row(PartRecord, row.instead), row.differs, stock_of(row.instead.id).on_shelf)
        for row in rows.order_by(Part.number)
    ]


def parts_replaced_by(part_id: int) -> list[tuple[PartRecord, str]]:
    """Return the parts that a part may be used in place of, each with how it differs."""
    rows = Substitute.select(Substitute, Part).join(Part, on=Substitute.part).where(Substitute.instead == part_id)
    return [(from_row(PartRecord, row.part), row.differs) for row in rows]


def add_lesson(
    text: str, *, part_id: int | None = None, unit_model_id: int | None = None, job_id: int | None = None,
    by: int | None = None,
) -> LessonRecord:  # fmt: skip
    """Keep a tip that is shown with a part, a unit model, or both."""
    text = clean_text(text, "lesson", 1000, required=True)
    if part_id is None and unit_model_id is None:
        raise Invalid("Say which part or unit model the lesson is about.")
    with transaction():
        for table, key, what in ((Part, part_id, "part"), (UnitModel, unit_model_id, "unit model")):
            if key is not None:
                get_row(table, key, what)
        row = Lesson.create(
            text=text, part=part_id, unit_model=unit_model_id, job_id=job_id, person=by, at=clock.now()
        )
    return _lesson(row)


def lessons(part_id: int | None = None, unit_model_id: int | None = None) -> list[LessonRecord]:
    """Return the lessons about a part or a unit model, newest first."""
    about = (Lesson.part == part_id) if part_id is not None else (Lesson.unit_model == unit_model_id)
    return [_lesson(row) for row in Lesson.select().where(about).order_by(Lesson.at.desc())]


def _lesson(row: Any) -> LessonRecord:
    return from_row(LessonRecord, row, person=row.person.shown_as if row.person else "")
