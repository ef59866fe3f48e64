"""The fields of bodies, queries and answers: each says what it is for, and refuses in a sentence.

Marshmallow's own fields are lenient ("1" is a number, "yes" is true); a program that sends text where a number
belongs has made a mistake, and is told so here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from math import isfinite
from typing import Any

from marshmallow import ValidationError, fields, validate

from shared.quantities import MAX_QUANTITY

MAX_ID = 2**31 - 1
_COMMON_ERRORS: dict[str, str | list[Any] | dict[Any, Any]] = {
    "required": "This is missing: send it.",
    "null": "This cannot be null: send a value, or leave it out.",
}
_FORBIDDEN_CHARACTERS = re.compile("[\x00\ud800-\udfff]")  # what no database keeps: NUL, and halves of UTF-16 pairs
_DIGITS = re.compile(r"-?[0-9]{1,18}", re.ASCII)


def _field_options(about: str, more: dict[str, Any], **metadata: Any) -> dict[str, Any]:
    """Return a field's options: *about* and *metadata* go into the document, *more* to marshmallow."""
    nullable = more.pop("nullable", False)
    told = {name: more.pop(name) for name in ("default", "example") if name in more}
    errors = {**_COMMON_ERRORS, **more.pop("error_messages", {})}
    return {
        **more, "allow_none": nullable, "error_messages": errors,
        "metadata": {"description": about, **metadata, **told},
    }  # fmt: skip


class Text(fields.String):
    """Text of *minimum* to *maximum* characters, or one of *choices*."""

    def __init__(
        self, about: str, *, minimum: int = 0, maximum: int | None = None, choices: Sequence[str] = (), **more: Any
    ) -> None:
        checks: list[Any] = []
        if choices:
            checks.append(
                validate.OneOf(choices, error=f"This must be one of: {', '.join(w or '(empty)' for w in choices)}.")
            )
        elif minimum or maximum is not None:
            said = f"at least {minimum} and " if minimum else ""
            limit = "" if maximum is None else f"at most {maximum}"
            checks.append(
                validate.Length(minimum or None, maximum, error=f"This must have {said}{limit} characters.")
            )
        super().__init__(
            validate=checks,
            **_field_options(about, {"error_messages": {"invalid": "This must be text: put it in quotes."}, **more}),
        )

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if _FORBIDDEN_CHARACTERS.search(text):
            raise ValidationError("This holds a character that is no text (NUL or half a pair): take it out.")
        return text


class Integer(fields.Integer):
    """A whole number from *minimum* to *maximum*, never text."""

    def __init__(
        self, about: str, *, minimum: int | None = 0, maximum: int | None = MAX_QUANTITY, **more: Any
    ) -> None:
        said = " ".join(
            text for text, bound in ((f"from {minimum}", minimum), (f"to {maximum}", maximum)) if bound is not None
        )
        sentence = f"This must be a whole number {said}, without quotes.".replace(" ,", ",")
        super().__init__(
            strict=True, validate=validate.Range(minimum, maximum, error=sentence),
            **_field_options(about, {"error_messages": {"invalid": sentence, "too_large": sentence}, **more}),
        )  # fmt: skip


class QueryInteger(Integer):
    """A whole number of the query part of an address, where everything is text."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if not _DIGITS.fullmatch(str(value)):
            raise self.make_error("invalid", input=value)
        return int(value)


class Id(Integer):
    """The id of something: what stands in its address."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, minimum=1, maximum=MAX_ID, **more)


class QueryId(QueryInteger):
    """The id of something in the query part of an address."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, minimum=1, maximum=MAX_ID, **more)


class BoundedNumber(fields.Float):
    """A number from *minimum* to *maximum*, never text."""

    def __init__(self, about: str, *, minimum: float | None = 0.0, maximum: float | None = 1.0, **more: Any) -> None:
        bounds = "" if minimum is None and maximum is None else f" from {minimum} to {maximum}"
        self.sentence = f"This must be a number{bounds}, without quotes."
        checks = (
            [] if minimum is None and maximum is None else [validate.Range(minimum, maximum, error=self.sentence)]
        )
        super().__init__(validate=checks, **_field_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(self.sentence)
        return float(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        """Return the number; JSON knows no infinity, which is answered as null."""
        return None if value is None or not isfinite(value) else float(value)


class Number(BoundedNumber):
    """Any number, as answered."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, minimum=None, maximum=None, **more)


class Boolean(fields.Boolean):
    """True or false, and nothing that looks like it."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_field_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise ValidationError("This must be true or false, without quotes.")
        return value

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        """Return the answer as JSON knows it, whatever kind of truth value it is."""
        return None if value is None else bool(value)


class QueryBoolean(Boolean):
    """True or false in the query part of an address."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if value not in ("true", "false"):
            raise ValidationError("This must be true or false.")
        return bool(value == "true")


class Date(fields.Date):
    """A calendar day: 2026-03-31."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_field_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value, re.ASCII):
                return date.fromisoformat(value)
        except ValueError:
            pass
        raise ValidationError("This must be a day such as 2026-03-31.")


class DateTime(fields.DateTime):
    """A moment in UTC: 2026-03-31T09:30:00Z. One with another offset is understood; one without is refused."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_field_options(about, more))

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else value.astimezone(UTC).isoformat().replace("+00:00", "Z")

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            moment = datetime.fromisoformat(value)
            if "T" in value.upper() and moment.tzinfo is not None:
                return moment.astimezone(UTC)
        except (ValueError, TypeError, AttributeError, OverflowError):
            pass
        raise ValidationError("This must be a moment with its zone, such as 2026-03-31T09:30:00Z.")


class List(fields.List[Any]):
    """A list of at most *maximum* of something."""

    def __init__(self, inner: Any, about: str, *, minimum: int = 0, maximum: int | None = None, **more: Any) -> None:
        checks: list[Any] = []
        if minimum or maximum is not None:
            checks.append(validate.Length(minimum or None, maximum, error=f"Send {minimum} to {maximum} of these."))
        super().__init__(
            inner, validate=checks,
            **_field_options(about, {"error_messages": {"invalid": "This must be a list: [ ... ]."}, **more}),
        )  # fmt: skip


class Nested(fields.Nested):
    """A thing inside a thing; *about* says which."""

    def __init__(self, schema: Any, about: str, *, many: bool = False, **more: Any) -> None:
        super().__init__(schema, many=many, **_field_options(about, more))


class _AttributeValue(fields.Field[Any]):
    """The value of a trade attribute: a word or a number."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise ValidationError("The value of an attribute is text or a number.")
        if isinstance(value, str) and _FORBIDDEN_CHARACTERS.search(value):
            raise ValidationError("This holds a character that is no text (NUL or half a pair): take it out.")
        return value


class Attributes(fields.Dict):
    """The trade attributes of a part, by key."""

    def __init__(self, about: str, **more: Any) -> None:
        values = _AttributeValue(metadata={"type": ["string", "number"]}, error_messages=_COMMON_ERRORS)
        super().__init__(
            keys=fields.String(), values=values,
            **_field_options(about, {"error_messages": {"invalid": "Send pairs of a name and a value."}, **more}),
        )  # fmt: skip
