"""People and their tokens."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.api.schema import BodySchema
from inventory.domain.common.records import PersonRecord, TokenRecord
from inventory.domain.jobs.people import MIN_PASSPHRASE_LENGTH

PersonOut = response_schema(PersonRecord)


def _passphrase_field() -> fields.Text:
    return fields.Text(
        f"At least {MIN_PASSPHRASE_LENGTH} characters: a few words are best.",
        minimum=MIN_PASSPHRASE_LENGTH,
        maximum=200,
        required=True,
    )


class PassphraseIn(BodySchema):
    """A new passphrase."""

    passphrase = _passphrase_field()


PersonIn = body_schema(PersonRecord, passphrase=_passphrase_field())
PersonEdit = edit_schema(PersonRecord, shown_as=fields.Text("What pages call them.", minimum=1, maximum=80))


class JobInHandIn(BodySchema):
    """The job to work on."""

    job_id = fields.Id("The job; null: none.", nullable=True, required=True)


TokenIn = body_schema(TokenRecord)
TokenOut = response_schema(TokenRecord, leave_out=("secret",))
NewTokenOut = response_schema(TokenRecord, name="NewTokenOut")
