"""Schemas made from described records (``inventory.domain.common.described``).

``PartRecord`` gives ``PartOut``, ``PartIn`` and ``PartEdit``. A record inside a record is answered by the schema that
was made of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import is_dataclass
from datetime import date, datetime
from inspect import cleandoc
from types import NoneType
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from marshmallow import Schema
from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.common.described import About, Sent

Field = ma.Field[Any]
_SCHEMAS: dict[type, type[Schema]] = {}
_BOUNDS = ("minimum", "maximum")
_FIELDS: dict[Any, Callable[..., Field]] = {
    str: fields.Text, int: fields.Integer, float: fields.Number, bool: fields.Boolean,
    datetime: fields.DateTime, date: fields.Date,
}  # fmt: skip


def response_schema(
    record: type, *properties: str, name: str = "", leave_out: Sequence[str] = (), **more: Field
) -> type[Schema]:
    """Return the schema that answers a record: its described fields, these *properties*, and *more*.

    The first one made of a record also answers it inside other records.
    """
    made = {
        field: _make_field(field, kind, about)
        for field, kind, about, _ in _described(record)
        if field not in leave_out
    }
    for field in properties:
        kind, about, _ = _read_annotation(get_type_hints(getattr(record, field).fget, include_extras=True)["return"])
        text = cleandoc(getattr(record, field).__doc__)
        made[field] = _make_field(field, kind, About(text, **(about.facts if about else {})))
    schema = ResponseSchema.from_dict(_in_order(record, made | more), name=name or _stem(record) + "Out")
    _SCHEMAS.setdefault(record, schema)
    return schema


def body_schema(record: type, *, name: str = "", **more: Field) -> type[Schema]:
    """Return the schema of the body that adds such a record."""
    made = _sent_fields(record, lambda sent: sent.add)
    return BodySchema.from_dict(_in_order(record, made | more), name=name or _stem(record) + "In")


def edit_schema(record: type, *, name: str = "", **more: Field) -> type[Schema]:
    """Return the schema of the body that edits such a record."""
    made = _sent_fields(record, lambda sent: sent.edit)
    return EditSchema.from_dict(_in_order(record, made | more), name=name or _stem(record) + "Edit")


def _stem(record: type) -> str:
    return record.__name__.removesuffix("Record")


def _in_order(record: type, made: dict[str, Field]) -> dict[str, Field]:
    """Return the fields in the order of the record, and then the others."""
    return {field: made[field] for field in dict.fromkeys((*get_type_hints(record), *made)) if field in made}


def _described(record: type) -> Iterator[tuple[str, Any, About, Sent | None]]:
    for field, annotation in get_type_hints(record, include_extras=True).items():
        kind, about, sent = _read_annotation(annotation)
        if about:
            yield field, kind, about, sent


def _read_annotation(annotation: Any) -> tuple[Any, About | None, Sent | None]:
    """Return a field's type, its description and what may be sent of it."""
    if get_origin(annotation) is not Annotated:
        return annotation, None, None
    kind, *notes = get_args(annotation)
    sent = next((note for note in notes if isinstance(note, Sent)), None)
    about = next((note for note in notes if isinstance(note, str | About) and note is not sent), None)
    return kind, About(about) if isinstance(about, str) else about, sent


def _sent_fields(record: type, wanted: Callable[[Sent], bool]) -> dict[str, Field]:
    return {
        field: _make_field(field, kind, _sent_description(about, sent))
        for field, kind, about, sent in _described(record)
        if sent and wanted(sent)
    }


def _sent_description(about: About, sent: Sent) -> About:
    facts: Any = {**about.facts, **sent.facts}
    return About(sent.text or about.text, **facts)


def _make_field(field: str, kind: Any, about: About) -> Field:
    facts: dict[str, Any] = dict(about.facts)
    each = facts.pop("each", "")
    if NoneType in get_args(kind):
        facts.setdefault("nullable", True)
        (kind,) = (option for option in get_args(kind) if option is not NoneType)
    if is_dataclass(kind):
        return fields.Nested(_schema_of(kind), about.text, **facts)
    if get_origin(kind) is dict:
        return fields.Attributes(about.text, **facts)
    if get_args(kind):
        item = get_args(kind)[0]
        if is_dataclass(item):
            return fields.Nested(_schema_of(item), about.text, many=True, **facts)
        return fields.List(_make_item(field, item, each), about.text, **facts)
    return _plain_field(field, kind, facts)(about.text, **facts)


def _make_item(field: str, kind: Any, each: str) -> Field:
    """Return what one item of a list is: described by *each*, or any text or whole number."""
    if each:
        return _plain_field(field.removesuffix("s"), kind, {})(each)
    return ma.Integer() if kind is int else ma.String()


def _plain_field(field: str, kind: Any, facts: Mapping[str, Any]) -> Callable[..., Field]:
    bounded = bool(facts.keys() & set(_BOUNDS))
    if kind is int and not bounded and (field == "id" or field.endswith("_id")):
        return fields.Id
    if kind is float and bounded:
        return fields.BoundedNumber
    return _FIELDS[kind]


def _schema_of(record: Any) -> Callable[[], type[Schema]]:
    """Return what finds the schema that answers a record, once all are made."""
    return lambda: _SCHEMAS[record] if record in _SCHEMAS else response_schema(record)
