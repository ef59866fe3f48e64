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

from shared.quantities import MOST

LARGEST_ID = 2**31 - 1
_ALWAYS: dict[str, str | list[Any] | dict[Any, Any]] = {
    "required": "This is missing: send it.",
    "null": "This cannot be null: send a value, or leave it out.",
}
_NOT_TEXT = re.compile("[\x00\ud800-\udfff]")  # what no database keeps: NUL, and halves of UTF-16 pairs
_DIGITS = re.compile(r"-?[0-9]{1,18}", re.ASCII)


def _options(about: str, more: dict[str, Any], **metadata: Any) -> dict[str, Any]:
    """Return a field's options: *about* and *metadata* go into the document, *more* to marshmallow."""
    nullable = more.pop("nullable", False)
    told = {name: more.pop(name) for name in ("default", "example") if name in more}
    errors = {**_ALWAYS, **more.pop("error_messages", {})}
    return {
        **more, "allow_none": nullable, "error_messages": errors,
        "metadata": {"description": about, **metadata, **told},
    }  # fmt: skip


class Text(fields.String):
    """Text of *least* to *most* characters, or one of *words*."""

    def __init__(
        self, about: str, *, least: int = 0, most: int | None = None, words: Sequence[str] = (), **more: Any
    ) -> None:
        checks: list[Any] = []
        if words:
            checks.append(
                validate.OneOf(words, error=f"This must be one of: {', '.join(w or '(empty)' for w in words)}.")
            )
        elif least or most is not None:
            said = f"at least {least} and " if least else ""
            limit = "" if most is None else f"at most {most}"
            checks.append(validate.Length(least or None, most, error=f"This must have {said}{limit} characters."))
        super().__init__(
            validate=checks,
            **_options(about, {"error_messages": {"invalid": "This must be text: put it in quotes."}, **more}),
        )

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if _NOT_TEXT.search(text):
            raise ValidationError("This holds a character that is no text (NUL or half a pair): take it out.")
        return text


class Whole(fields.Integer):
    """A whole number from *least* to *most*, never text."""

    def __init__(self, about: str, *, least: int | None = 0, most: int | None = MOST, **more: Any) -> None:
        said = " ".join(text for text, bound in ((f"from {least}", least), (f"to {most}", most)) if bound is not None)
        sentence = f"This must be a whole number {said}, without quotes.".replace(" ,", ",")
        super().__init__(
            strict=True, validate=validate.Range(least, most, error=sentence),
            **_options(about, {"error_messages": {"invalid": sentence, "too_large": sentence}, **more}),
        )  # fmt: skip


class Asked(Whole):
    """A whole number of the query part of an address, where everything is text."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if not _DIGITS.fullmatch(str(value)):
            raise self.make_error("invalid", input=value)
        return int(value)


class Ident(Whole):
    """The id of something: what stands in its address."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, least=1, most=LARGEST_ID, **more)


class AskedIdent(Asked):
    """The id of something in the query part of an address."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, least=1, most=LARGEST_ID, **more)


class Share(fields.Float):
    """A number from *least* to *most*, never text."""

    def __init__(self, about: str, *, least: float | None = 0.0, most: float | None = 1.0, **more: Any) -> None:
        bounds = "" if least is None and most is None else f" from {least} to {most}"
        self.sentence = f"This must be a number{bounds}, without quotes."
        checks = [] if least is None and most is None else [validate.Range(least, most, error=self.sentence)]
        super().__init__(validate=checks, **_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(self.sentence)
        return float(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        """Return the number; JSON knows no infinity, which is answered as null."""
        return None if value is None or not isfinite(value) else float(value)


class Number(Share):
    """Any number, as answered."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(about, least=None, most=None, **more)


class Flag(fields.Boolean):
    """True or false, and nothing that looks like it."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise ValidationError("This must be true or false, without quotes.")
        return value

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        """Return the answer as JSON knows it, whatever kind of truth value it is."""
        return None if value is None else bool(value)


class AskedFlag(Flag):
    """True or false in the query part of an address."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if value not in ("true", "false"):
            raise ValidationError("This must be true or false.")
        return bool(value == "true")


class Day(fields.Date):
    """A calendar day: 2026-03-31."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_options(about, more))

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value, re.ASCII):
                return date.fromisoformat(value)
        except ValueError:
            pass
        raise ValidationError("This must be a day such as 2026-03-31.")


class Moment(fields.DateTime):
    """A moment in UTC: 2026-03-31T09:30:00Z. One with another offset is understood; one without is refused."""

    def __init__(self, about: str, **more: Any) -> None:
        super().__init__(**_options(about, more))

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


class Many(fields.List[Any]):
    """A list of at most *most* of something."""

    def __init__(self, inner: Any, about: str, *, least: int = 0, most: int | None = None, **more: Any) -> None:
        checks: list[Any] = []
        if least or most is not None:
            checks.append(validate.Length(least or None, most, error=f"Send {least} to {most} of these."))
        super().__init__(
            inner, validate=checks,
            **_options(about, {"error_messages": {"invalid": "This must be a list: [ ... ]."}, **more}),
        )  # fmt: skip


class Inner(fields.Nested):
    """A thing inside a thing; *about* says which."""

    def __init__(self, schema: Any, about: str, *, many: bool = False, **more: Any) -> None:
        super().__init__(schema, many=many, **_options(about, more))


class _Value(fields.Field[Any]):
    """The value of a trade attribute: a word or a number."""

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise ValidationError("The value of an attribute is text or a number.")
        if isinstance(value, str) and _NOT_TEXT.search(value):
            raise ValidationError("This holds a character that is no text (NUL or half a pair): take it out.")
        return value


class Attributes(fields.Dict):
    """The trade attributes of a part, by key."""

    def __init__(self, about: str, **more: Any) -> None:
        values = _Value(metadata={"type": ["string", "number"]}, error_messages=_ALWAYS)
        super().__init__(
            keys=fields.String(), values=values,
            **_options(about, {"error_messages": {"invalid": "Send pairs of a name and a value."}, **more}),
        )  # fmt: skip
