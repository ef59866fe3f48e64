"""Parts: what can be stocked, how they are told apart, what they fit, what may stand in for them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from peewee import IntegrityError

from inventory.domain.catalogue.attributes import attributes_text, validated_attributes
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.described import text_limits
from inventory.domain.common.errors import Conflict, Invalid
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
    PART_KINDS,
    PROMISES,
    clean_text,
    get_row,
    update_versioned,
    validated_choice,
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
        given = check_part(
            **{"number": number, "name": name, "kind": kind, "kept": kept, "unit": unit, "hazards": hazards, **more}
        )
        if catalogued_for is not None:
            get_row(Job, catalogued_for, "job")
        try:
            made = Part.create(
                **given, search=_search_text(given), catalogued=clock.now(), catalogued_for_id=catalogued_for
            )
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        _set_fits(made.id, fits)
        return from_row(PartRecord, made)


def check_part(*, hazards: Sequence[str] | None = None, **given: Any) -> dict[str, Any]:
    """Return what a new part would be kept as, without adding it; raise as ``add_part`` does, but for its number."""
    kept = _validated_fields(None, {"kept": "counted", "unit": "piece", **given})
    implied = implied_hazards(kept["kind"], kept["attributes"], kept["name"])
    return {**kept, "hazards": _validated_hazards(implied if hazards is None else hazards)}


def edit_part(part_id: int, version: int | None = None, **changes: Any) -> PartRecord:
    """Change a part. Its way of being kept and its unit stay once it has movements."""
    with transaction():
        found = get_row(Part, part_id, "part")
        fits = changes.pop("fits", None)
        now = {name: getattr(found, name) for name in _EDITABLE}
        given = _validated_fields(found, {**now, **changes})
        given["hazards"] = _validated_hazards(given["hazards"])
        try:
            update_versioned(found, "part", version, **given, search=_search_text(given))
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        if fits is not None:
            _set_fits(part_id, fits)
        return part(part_id)


_EDITABLE = (
    *("number", "name", "kind", "kept", "unit", "maker", "maker_number", "attributes", "hazards", "caution"),
    *("note", "level", "target", "promise", "rated_matings", "retired"),
)


def _validated_fields(found: Part | None, given: dict[str, Any]) -> dict[str, Any]:
    unknown = set(given) - set(_EDITABLE)
    if unknown:
        raise Invalid(f"A part has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
    kept: dict[str, Any] = {
        name: clean_text(given.get(name, ""), name.replace("_", " "), most, required=name in REQUIRED)
        for name, most in TEXT_LIMITS.items()
    }
    kept["kind"] = validated_choice(given["kind"], "kind", PART_KINDS)
    kept["kept"] = validated_choice(given["kept"], "kept", KEPT_MODES)
    kept["unit"] = validated_choice(given["unit"], "unit", tuple(UNIT_FACTORS))
    kept["attributes"] = validated_attributes(kept["kind"], given.get("attributes") or {})
    kept["hazards"] = given.get("hazards", [])
    kept["level"] = _optional_int(given.get("level"), "level")
    kept["rated_matings"] = _optional_int(given.get("rated_matings"), "rated matings", least=1)
    kept["target"] = _optional_share(given.get("target"))
    kept["promise"] = (
        None if given.get("promise") is None else validated_choice(given["promise"], "promise", PROMISES)
    )
    kept["retired"] = bool(given.get("retired", False))
    _check_unit_unchanged(found, kept)
    return kept


def _check_unit_unchanged(found: Part | None, given: dict[str, Any]) -> None:
    if given["kept"] == "individually" and given["unit"] != "piece":
        raise Invalid("A part kept individually is counted in pieces.", errors={"unit": ["must be piece"]})
    if found is None or (found.kept, found.unit) == (given["kept"], given["unit"]):
        return
    if Movement.select().where(Movement.part == found.id).exists():
        raise Conflict("This part has movements: its unit and way of keeping stay. Add a new part instead.")


def _optional_int(value: Any, name: str, least: int = 0) -> int | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MAX_QUANTITY:
        sentence = f"The {name} must be a whole number of {least} or more."
        raise Invalid(sentence, errors={name.replace(" ", "_"): [sentence]})
    return value


def _optional_share(value: Any) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.5 <= value <= 0.999:
        sentence = "The promise must be a share from 0.5 to 0.999, such as 0.95."
        raise Invalid(sentence, errors={"target": [sentence]})
    return float(value)


def _validated_hazards(hazards: Iterable[str]) -> list[str]:
    kept = list(dict.fromkeys(hazards))
    unknown = [one for one in kept if one not in HAZARDS]
    if unknown:
        sentence = f"Unknown hazard {unknown[0]!r}; known are: {', '.join(HAZARDS)}."
        raise Invalid(sentence, errors={"hazards": [sentence]})
    return kept


def _number_taken(number: str) -> Conflict:
    return Conflict(f"There is a part {number} already: open it, or choose another number.", reason="taken")


def _search_text(given: dict[str, Any]) -> str:
    texts = [given[name] for name in ("number", "name", "maker", "maker_number", "kind", "note")]
    return " ".join([*texts, attributes_text(given["kind"], given["attributes"])]).casefold()


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
    return paginate(query, Part.number, after, limit, lambda one: from_row(PartRecord, one))


# ---- fits, substitutes, lessons --------------------------------------------------------------------------


def _set_fits(part_id: int, names: Iterable[str]) -> None:
    PartFit.delete().where(PartFit.part == part_id).execute()
    for name in dict.fromkeys(clean_text(name, "unit model", 120, required=True) for name in names):
        PartFit.create(part=part_id, unit_model=get_or_create_unit_model(name).id)


def get_or_create_unit_model(name: str) -> UnitModelRecord:
    """Return the unit model called *name*, adding it if it is new."""
    wanted = clean_text(name, "unit model", 120, required=True)
    with transaction():
        found, _ = UnitModel.get_or_create(name=wanted)
    return from_row(UnitModelRecord, found)


def unit_model(unit_model_id: int) -> UnitModelRecord:
    """Return one unit model."""
    return from_row(UnitModelRecord, get_row(UnitModel, unit_model_id, "unit model"))


def unit_models(find: str = "") -> list[UnitModelRecord]:
    """Return the unit models whose name holds *find*, by name."""
    query = UnitModel.select().order_by(UnitModel.name)
    if find.strip():
        query = query.where(contains_words(UnitModel.name, find))
    return [from_row(UnitModelRecord, one) for one in query]


def unit_models_of_part(part_id: int) -> list[UnitModelRecord]:
    """Return the unit models that a part goes into."""
    query = UnitModel.select().join(PartFit).where(PartFit.part == part_id).order_by(UnitModel.name)
    return [from_row(UnitModelRecord, one) for one in query]


def set_substitute(part_id: int, instead_id: int, differs: str = "") -> None:
    """Note that *instead_id* may be used for *part_id*, and how it differs."""
    if part_id == instead_id:
        raise Invalid("A part cannot stand in for itself: choose another one.")
    with transaction():
        get_row(Part, part_id, "part")
        get_row(Part, instead_id, "part")
        kept = clean_text(differs, "difference", 300)
        Substitute.insert(part=part_id, instead=instead_id, differs=kept).on_conflict(
            conflict_target=[Substitute.part, Substitute.instead], update={Substitute.differs: kept}
        ).execute()


def drop_substitute(part_id: int, instead_id: int) -> None:
    """Note that *instead_id* may not be used for *part_id* after all."""
    with transaction():
        Substitute.delete().where(Substitute.part == part_id, Substitute.instead == instead_id).execute()


def substitutes_of(part_id: int) -> list[SubstituteRecord]:
    """Return what may be used instead of a part, with what is on the shelf of it."""
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
    """Keep a sentence to be seen again with a part, a unit model, or both."""
    kept = clean_text(text, "lesson", 1000, required=True)
    if part_id is None and unit_model_id is None:
        raise Invalid("Say which part or unit model the lesson is about.")
    with transaction():
        for table, key, what in ((Part, part_id, "part"), (UnitModel, unit_model_id, "unit model")):
            if key is not None:
                get_row(table, key, what)
        made = Lesson.create(
            text=kept, part=part_id, unit_model=unit_model_id, job_id=job_id, person=by, at=clock.now()
        )
    return _lesson(made)


def lessons(part_id: int | None = None, unit_model_id: int | None = None) -> list[LessonRecord]:
    """Return the lessons about a part or a unit model, newest first."""
    about = (Lesson.part == part_id) if part_id is not None else (Lesson.unit_model == unit_model_id)
    return [_lesson(lesson) for lesson in Lesson.select().where(about).order_by(Lesson.at.desc())]


def _lesson(found: Any) -> LessonRecord:
    return from_row(LessonRecord, found, person=found.person.shown_as if found.person else "")
