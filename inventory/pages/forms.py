"""Reading forms with schemas: what was typed becomes plain values, or a sentence for each invalid field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import g, request
from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate
from werkzeug.datastructures import MultiDict

from inventory.domain.common.errors import DomainError, Invalid, invalid_field
from inventory.domain.common.validation import parse_id

FORM_NAME_FIELD = "form"  # the hidden field that says which form of a page was sent


class Form(Schema):
    """Base of the forms: fields we do not know (the hidden ones) are left alone."""

    class Meta:
        unknown = EXCLUDE


def _blank_is_none(value: Any) -> Any:
    return None if isinstance(value, str) and not value.strip() else value


class TextField(fields.String):
    """Text without surrounding space; left out, it is empty. Its length is checked by the domain."""

    def __init__(self, needed: str = "", **more: Any) -> None:
        """Ask for text; *needed* is the error when it is blank."""
        checks = [validate.Length(min=1, error=needed)] if needed else []
        super().__init__(load_default="", validate=checks, **more)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> Any:
        return str(super()._deserialize(value, attr, data, **more)).strip()


def fields_by_id(prefix: str) -> dict[int, str]:
    """Return the fields of the form that are named *prefix* and an id, such as ``lot-7``, by id."""
    ids = (
        (parse_id(name.removeprefix(prefix)), text) for name, text in request.form.items() if name.startswith(prefix)
    )
    return {key: text for key, text in ids if key is not None}


class IdField(fields.Integer):
    """The number of a thing chosen from a list; left out or blank, it is None, unless it is required."""

    default_error_messages = dict.fromkeys(("invalid", "required", "null"), "Choose one from the list.")

    def __init__(self, *, required: bool = False, needed: str = "", **more: Any) -> None:
        """Ask for a thing's number; *needed* is the error when none is chosen."""
        options: dict[str, Any] = {} if required or needed else {"load_default": None, "allow_none": True}
        if needed:
            options["error_messages"] = {"required": needed, "null": needed}
        super().__init__(required=required or bool(needed), **{**options, **more})

    def deserialize(self, value: Any, *args: Any, **more: Any) -> Any:
        """Read a number; a blank one counts as none."""
        return super().deserialize(_blank_is_none(value), *args, **more)


class IdListField(fields.List[int]):
    """The numbers of several things ticked in a list."""

    def __init__(self) -> None:
        """Ask for any number of things, none included."""
        super().__init__(fields.Integer(error_messages={"invalid": "Tick what is in the list."}), load_default=list)


class JobOrBenchField(fields.Integer):
    """The job something is for, or ``bench``: no job, for the bench itself (None)."""

    BENCH = "bench"
    default_error_messages = {"required": "Choose the job it is for.", "invalid": "Choose the job it is for."}

    def __init__(self) -> None:
        """Ask which job."""
        super().__init__(required=True)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> Any:
        return None if value == self.BENCH else super()._deserialize(value, attr, data, **more)


class IntegerField(IdField):
    """A whole number that a person types."""

    default_error_messages = dict.fromkeys(("invalid", "required", "null"), "Type a whole number, such as 1.")


class CheckboxField(fields.Boolean):
    """A box that is ticked or not."""

    default_error_messages = {"invalid": "Tick the box or leave it."}

    def __init__(self, **more: Any) -> None:
        """Ask for a tick; none is no."""
        super().__init__(load_default=False, **more)


class DateField(fields.Date):
    """A day; left out or blank, it is None."""

    default_error_messages = {"invalid": "Type a day as year-month-day, such as 2026-11-03."}

    def __init__(self, **more: Any) -> None:
        """Ask for a day."""
        super().__init__(load_default=None, allow_none=True, **more)

    def deserialize(self, value: Any, *args: Any, **more: Any) -> Any:
        """Read a day; a blank one counts as none."""
        return super().deserialize(_blank_is_none(value), *args, **more)


def load_form(schema: type[Schema]) -> dict[str, Any]:
    """Return what the form that was sent says, by *schema*; raise Invalid naming each invalid field."""
    return _load(schema, request.form)


def load_query(schema: type[Schema]) -> dict[str, Any]:
    """Return what the address's query says, by *schema*; raise Invalid naming each invalid field."""
    return _load(schema, request.args)


def form_value(name: str, field: fields.Field[Any]) -> Any:
    """Return the one *field* of the form that was sent; raise Invalid naming it."""
    return load_form(Form.from_dict({name: field}))[name]


def query_value(name: str, field: fields.Field[Any]) -> Any:
    """Return one *field* of the address's query; raise Invalid naming it."""
    return load_query(Form.from_dict({name: field}))[name]


def parse_text(text: str, field: fields.Field[Any], name: str) -> Any:
    """Return what a *text* says, by *field*; raise Invalid naming the form's field *name*."""
    try:
        return field.deserialize(text)
    except ValidationError as bad:
        raise invalid_field(name, str(bad.messages[0])) from None


def load_texts(schema: type[Schema], data: Mapping[str, str], ending: str) -> dict[str, Any]:
    """Return what some texts say, by *schema*; raise Invalid naming each invalid one with *ending* after its name."""
    try:
        return _load(schema, MultiDict(data))
    except Invalid as bad:
        raise Invalid(
            bad.sentence, errors={f"{name}{ending}": messages for name, messages in bad.errors.items()}
        ) from None


def _to_plain_dict(schema: type[Schema], values: MultiDict[str, str]) -> dict[str, Any]:
    """Return one text for each field, and a list of texts for each that takes several."""
    several = {name for name, field in schema().fields.items() if isinstance(field, fields.List)}
    return {name: values.getlist(name) if name in several else values[name] for name in values}


def _load(schema: type[Schema], values: MultiDict[str, str]) -> dict[str, Any]:
    try:
        loaded: dict[str, Any] = schema().load(_to_plain_dict(schema, values))
    except ValidationError as bad:
        errors: dict[str, Any] = dict(bad.messages_dict)
        first = next(iter(errors.values()))
        sentence = first if isinstance(first, str) else str(next(iter(first)))
        raise Invalid(sentence, errors=errors) from None
    return loaded


@dataclass(frozen=True)
class FormState:
    """One form of a page as it comes back after a refusal: what was typed, and what is wrong with it."""

    refused: DomainError | None

    @property
    def failed(self) -> bool:
        """Tell whether this is the form that was refused."""
        return self.refused is not None

    def value(self, name: str, default: Any = "") -> Any:
        """Return what was typed into a field, or the *default* of a form not sent yet."""
        return request.form.get(name, "") if self.failed else default

    def ticked(self, name: str, value: str = "1", default: bool = False) -> bool:
        """Tell whether a box (or one choice of several) was ticked."""
        return value in request.form.getlist(name) if self.failed else default

    def error(self, name: str) -> str:
        """Return what is wrong with a field; empty when nothing is."""
        message = getattr(self.refused, "errors", {}).get(name, "")
        return message if isinstance(message, str) else " ".join(str(text) for text in message)


def form_state(name: str) -> FormState:
    """Return the state of the form called *name* on the page being rendered."""
    return FormState(g.get("refused") if request.form.get(FORM_NAME_FIELD) == name else None)
