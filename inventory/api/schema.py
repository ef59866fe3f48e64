"""What all schemas share: bodies and queries refuse what they do not know, answers always hold every field."""

from __future__ import annotations

from typing import Any

from marshmallow import EXCLUDE, RAISE, Schema, ValidationError, fields, validates_schema


class BodySchema(Schema):
    """Base of what programs send."""

    error_messages = {
        "unknown": "This is not known here: leave it out.",
        "type": "Send a JSON object: {...}.",
    }

    class Meta:
        unknown = RAISE


class EditSchema(BodySchema):
    """Base of the body of an edit: what is left out stays as it is, and something must be there.

    Its subclasses take the fields of what is added, none of them required.
    """

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Require nothing."""
        field_obj.required = False

    @validates_schema(skip_on_field_errors=True)
    def _not_empty(self, data: dict[str, Any], **_: Any) -> None:
        if not data:
            raise ValidationError("Nothing to change: send at least one field.")


class QuerySchema(Schema):
    """Base of the query part of an address."""

    error_messages = {
        "unknown": "This address does not take that: leave it out, or see /api/ for what it takes.",
    }

    class Meta:
        unknown = RAISE


class ResponseSchema(Schema):
    """Base of what is answered: every field is always there, empty or null when there is nothing to say."""

    class Meta:
        unknown = EXCLUDE

    def on_bind_field(self, field_name: str, field_obj: fields.Field[Any]) -> None:
        """Say in the document that the field is always there."""
        field_obj.required = True
