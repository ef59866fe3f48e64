"""Parts: what can be stocked, how they are told apart, what they fit, what may stand in for them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from peewee import IntegrityError

from inventory.domain.catalogue.attributes import checked_attributes, in_words
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid
from inventory.domain.common.paging import matching, page_of
from inventory.domain.common.records import LessonRecord, Page, PartRecord, SubstituteRecord, UnitModelRecord, read
from inventory.domain.common.validation import KEPT, KINDS, MOST, PROMISES, clean, edit, one_of, row
from inventory.store.connection import writing
from inventory.store.tables import Job, Lesson, Movement, Part, PartFit, Substitute, UnitModel
from shared.hazards import HAZARDS, implied_hazards
from shared.quantities import UNITS

TEXTS = {"number": 60, "name": 400, "maker": 120, "maker_number": 120, "caution": 500, "note": 5000}
NEEDED = ("number", "name")


def add_part(
    number: str, name: str, kind: str, *, kept: str = "counted", unit: str = "piece",
    hazards: Sequence[str] | None = None, fits: Iterable[str] = (), catalogued_for: int | None = None,
    **more: Any,
) -> PartRecord:  # fmt: skip
    """Add a part. *more* takes the other columns that ``edit_part`` takes.

    *hazards* left out are those its kind and attributes imply; *catalogued_for* is the job that caused it.
    """
    with writing():
        given = check_part(
            **{"number": number, "name": name, "kind": kind, "kept": kept, "unit": unit, "hazards": hazards, **more}
        )
        if catalogued_for is not None:
            row(Job, catalogued_for, "job")
        try:
            made = Part.create(
                **given, search=_search_text(given), catalogued=clock.now(), catalogued_for_id=catalogued_for
            )
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        _set_fits(made.id, fits)
        return read(PartRecord, made)


def check_part(*, hazards: Sequence[str] | None = None, **given: Any) -> dict[str, Any]:
    """Return what a new part would be kept as, without adding it; raise as ``add_part`` does, but for its number."""
    kept = _checked(None, {"kept": "counted", "unit": "piece", **given})
    implied = implied_hazards(kept["kind"], kept["attributes"], kept["name"])
    return {**kept, "hazards": _checked_hazards(implied if hazards is None else hazards)}


def edit_part(part_id: int, version: int | None = None, **changes: Any) -> PartRecord:
    """Change a part. Its way of being kept and its unit stay once it has movements."""
    with writing():
        found = row(Part, part_id, "part")
        fits = changes.pop("fits", None)
        now = {name: getattr(found, name) for name in _EDITABLE}
        given = _checked(found, {**now, **changes})
        given["hazards"] = _checked_hazards(given["hazards"])
        try:
            edit(found, "part", version, **given, search=_search_text(given))
        except IntegrityError:
            raise _number_taken(given["number"]) from None
        if fits is not None:
            _set_fits(part_id, fits)
        return part(part_id)


_EDITABLE = (
    *("number", "name", "kind", "kept", "unit", "maker", "maker_number", "attributes", "hazards", "caution"),
    *("note", "level", "target", "promise", "rated_matings", "retired"),
)


def _checked(found: Part | None, given: dict[str, Any]) -> dict[str, Any]:
    unknown = set(given) - set(_EDITABLE)
    if unknown:
        raise Invalid(f"A part has no {', '.join(sorted(unknown))}.", errors={k: ["unknown"] for k in unknown})
    kept: dict[str, Any] = {
        name: clean(given.get(name, ""), name.replace("_", " "), most, needed=name in NEEDED)
        for name, most in TEXTS.items()
    }
    kept["kind"] = one_of(given["kind"], "kind", KINDS)
    kept["kept"] = one_of(given["kept"], "kept", KEPT)
    kept["unit"] = one_of(given["unit"], "unit", tuple(UNITS))
    kept["attributes"] = checked_attributes(kept["kind"], given.get("attributes") or {})
    kept["hazards"] = given.get("hazards", [])
    kept["level"] = _whole_or_none(given.get("level"), "level")
    kept["rated_matings"] = _whole_or_none(given.get("rated_matings"), "rated matings", least=1)
    kept["target"] = _share_or_none(given.get("target"))
    kept["promise"] = None if given.get("promise") is None else one_of(given["promise"], "promise", PROMISES)
    kept["retired"] = bool(given.get("retired", False))
    _keep_unit(found, kept)
    return kept


def _keep_unit(found: Part | None, given: dict[str, Any]) -> None:
    if given["kept"] == "individually" and given["unit"] != "piece":
        raise Invalid("A part kept individually is counted in pieces.", errors={"unit": ["must be piece"]})
    if found is None or (found.kept, found.unit) == (given["kept"], given["unit"]):
        return
    if Movement.select().where(Movement.part == found.id).exists():
        raise Conflict("This part has movements: its unit and way of keeping stay. Add a new part instead.")


def _whole_or_none(value: Any, name: str, least: int = 0) -> int | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST:
        sentence = f"The {name} must be a whole number of {least} or more."
        raise Invalid(sentence, errors={name.replace(" ", "_"): [sentence]})
    return value


def _share_or_none(value: Any) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.5 <= value <= 0.999:
        sentence = "The promise must be a share from 0.5 to 0.999, such as 0.95."
        raise Invalid(sentence, errors={"target": [sentence]})
    return float(value)


def _checked_hazards(hazards: Iterable[str]) -> list[str]:
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
    return " ".join([*texts, in_words(given["kind"], given["attributes"])]).casefold()


def part(part_id: int) -> PartRecord:
    """Return one part."""
    return read(PartRecord, row(Part, part_id, "part"))


def parts(
    *, find: str = "", kind: str | None = None, fits: int | None = None, retired: bool = False,
    after: str | None = None, limit: int = 50,
) -> Page:  # fmt: skip
    """Return parts by number; *find* holds words to look for, *fits* is a unit model."""
    query = Part.select().where(Part.retired == retired)
    if find.strip():
        query = query.where(matching(Part.search, find))
    if kind:
        query = query.where(Part.kind == kind)
    if fits is not None:
        query = query.where(Part.id.in_(PartFit.select(PartFit.part).where(PartFit.unit_model == fits)))
    return page_of(query, Part.number, after, limit, lambda one: read(PartRecord, one))


# ---- fits, substitutes, lessons --------------------------------------------------------------------------


def _set_fits(part_id: int, names: Iterable[str]) -> None:
    PartFit.delete().where(PartFit.part == part_id).execute()
    for name in dict.fromkeys(clean(one, "unit model", 120, needed=True) for one in names):
        PartFit.create(part=part_id, unit_model=unit_model_named(name).id)


def unit_model_named(name: str) -> UnitModelRecord:
    """Return the unit model called *name*, adding it if it is new."""
    wanted = clean(name, "unit model", 120, needed=True)
    with writing():
        found, _ = UnitModel.get_or_create(name=wanted)
    return read(UnitModelRecord, found)


def unit_model(unit_model_id: int) -> UnitModelRecord:
    """Return one unit model."""
    return read(UnitModelRecord, row(UnitModel, unit_model_id, "unit model"))


def unit_models(find: str = "") -> list[UnitModelRecord]:
    """Return the unit models whose name holds *find*, by name."""
    query = UnitModel.select().order_by(UnitModel.name)
    if find.strip():
        query = query.where(matching(UnitModel.name, find))
    return [read(UnitModelRecord, one) for one in query]


def fits_of(part_id: int) -> list[UnitModelRecord]:
    """Return the unit models that a part goes into."""
    query = UnitModel.select().join(PartFit).where(PartFit.part == part_id).order_by(UnitModel.name)
    return [read(UnitModelRecord, one) for one in query]


def set_substitute(part_id: int, instead_id: int, differs: str = "") -> None:
    """Note that *instead_id* may be used for *part_id*, and how it differs."""
    if part_id == instead_id:
        raise Invalid("A part cannot stand in for itself: choose another one.")
    with writing():
        row(Part, part_id, "part")
        row(Part, instead_id, "part")
        kept = clean(differs, "difference", 300)
        Substitute.insert(part=part_id, instead=instead_id, differs=kept).on_conflict(
            conflict_target=[Substitute.part, Substitute.instead], update={Substitute.differs: kept}
        ).execute()


def drop_substitute(part_id: int, instead_id: int) -> None:
    """Note that *instead_id* may not be used for *part_id* after all."""
    with writing():
        Substitute.delete().where(Substitute.part == part_id, Substitute.instead == instead_id).execute()


def substitutes_of(part_id: int) -> list[SubstituteRecord]:
    """Return what may be used instead of a part, with what is on the shelf of it."""
    rows = Substitute.select(Substitute, Part).join(Part, on=Substitute.instead).where(Substitute.part == part_id)
    return [
        SubstituteRecord(read(PartRecord, one.instead), one.differs, stock_of(one.instead.id).on_shelf)
        for one in rows.order_by(Part.number)
    ]


def add_lesson(
    text: str, *, part_id: int | None = None, unit_model_id: int | None = None, job_id: int | None = None,
    by: int | None = None,
) -> LessonRecord:  # fmt: skip
    """Keep a sentence to be seen again with a part, a unit model, or both."""
    kept = clean(text, "lesson", 1000, needed=True)
    if part_id is None and unit_model_id is None:
        raise Invalid("Say which part or unit model the lesson is about.")
    with writing():
        for table, key, what in ((Part, part_id, "part"), (UnitModel, unit_model_id, "unit model")):
            if key is not None:
                row(table, key, what)
        made = Lesson.create(
            text=kept, part=part_id, unit_model=unit_model_id, job_id=job_id, person=by, at=clock.now()
        )
    return _lesson(made)


def lessons(part_id: int | None = None, unit_model_id: int | None = None) -> list[LessonRecord]:
    """Return the lessons about a part or a unit model, newest first."""
    about = (Lesson.part == part_id) if part_id is not None else (Lesson.unit_model == unit_model_id)
    return [_lesson(one) for one in Lesson.select().where(about).order_by(Lesson.at.desc())]


def _lesson(found: Any) -> LessonRecord:
    return read(LessonRecord, found, person=found.person.shown_as if found.person else "")
