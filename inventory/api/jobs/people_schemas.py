"""People and their tokens."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.schema import BodySchema, EditSchema, ResponseSchema
from inventory.domain.jobs.people import MIN_PASSPHRASE_LENGTH, ROLES


class PersonOut(ResponseSchema):
    """Somebody who may sign in."""

    id = fields.Id("Their id.")
    name = fields.Text("What they sign in as.")
    shown_as = fields.Text("What pages call them.")
    role = fields.Text("What they may do.", choices=ROLES)
    active = fields.Boolean("They may sign in.")
    job_in_hand_id = fields.Id("The job they work on.", nullable=True)
    created = fields.DateTime("When they were added.")
    version = fields.Integer("Counts the edits.")


class PassphraseIn(BodySchema):
    """A new passphrase."""

    passphrase = fields.Text(
        f"At least {MIN_PASSPHRASE_LENGTH} characters: a few words are best.",
        minimum=MIN_PASSPHRASE_LENGTH,
        maximum=200,
        required=True,
    )


class PersonIn(PassphraseIn):
    """Somebody to be let in."""

    name = fields.Text(
        "What they sign in as: letters, digits, dots and dashes.",
        minimum=1,
        maximum=60,
        required=True,
        example="ines",
    )
    role = fields.Text("What they may do.", choices=ROLES, required=True)
    shown_as = fields.Text("What pages call them; left out: their name.", maximum=80, default="")


class PersonEdit(EditSchema):
    """What to change of a person."""

    role = fields.Text("What they may do.", choices=ROLES)
    active = fields.Boolean("They may sign in.")
    shown_as = fields.Text("What pages call them.", minimum=1, maximum=80)


class JobInHandIn(BodySchema):
    """The job to work on."""

    job_id = fields.Id("The job; null: none.", nullable=True, required=True)


class TokenIn(BodySchema):
    """A key for a program."""

    person_id = fields.Id("Whom the program acts as.", required=True)
    label = fields.Text(
        "What the program is.", minimum=1, maximum=80, required=True, example="label printer at bench 2"
    )


class TokenOut(ResponseSchema):
    """A key for a program, without its secret."""

    id = fields.Id("Its id.")
    person_id = fields.Id("Whom the program acts as.")
    label = fields.Text("What the program is.")
    created = fields.DateTime("When it was made.")
    last_used = fields.DateTime("When it was last used, to the hour.", nullable=True)
    revoked = fields.DateTime("When it was ended.", nullable=True)


class NewTokenOut(TokenOut):
    """A key that was just made."""

    secret = fields.Text("Send it as Authorization: Bearer ... It is shown here and never again.")
