"""People and their tokens."""

from __future__ import annotations

from inventory.api import fields
from inventory.api.schema import Answer, Body, Edit
from inventory.domain.jobs.people import ROLES, SHORTEST_PASSPHRASE


class PersonOut(Answer):
    """Somebody who may sign in."""

    id = fields.Ident("Their id.")
    name = fields.Text("What they sign in as.")
    shown_as = fields.Text("What pages call them.")
    role = fields.Text("What they may do.", words=ROLES)
    active = fields.Flag("They may sign in.")
    job_in_hand_id = fields.Ident("The job they work on.", nullable=True)
    created = fields.Moment("When they were added.")
    version = fields.Whole("Counts the edits.")


class PassphraseIn(Body):
    """A new passphrase."""

    passphrase = fields.Text(
        f"At least {SHORTEST_PASSPHRASE} characters: a few words are best.", least=SHORTEST_PASSPHRASE, most=200,
        required=True,
    )  # fmt: skip


class PersonIn(PassphraseIn):
    """Somebody to be let in."""

    name = fields.Text(
        "What they sign in as: letters, digits, dots and dashes.", least=1, most=60, required=True, example="ines"
    )
    role = fields.Text("What they may do.", words=ROLES, required=True)
    shown_as = fields.Text("What pages call them; left out: their name.", most=80, default="")


class PersonEdit(Edit):
    """What to change of a person."""

    role = fields.Text("What they may do.", words=ROLES)
    active = fields.Flag("They may sign in.")
    shown_as = fields.Text("What pages call them.", least=1, most=80)


class JobInHandIn(Body):
    """The job to work on."""

    job_id = fields.Ident("The job; null: none.", nullable=True, required=True)


class TokenIn(Body):
    """A key for a program."""

    person_id = fields.Ident("Whom the program acts as.", required=True)
    label = fields.Text("What the program is.", least=1, most=80, required=True, example="label printer at bench 2")


class TokenOut(Answer):
    """A key for a program, without its secret."""

    id = fields.Ident("Its id.")
    person_id = fields.Ident("Whom the program acts as.")
    label = fields.Text("What the program is.")
    created = fields.Moment("When it was made.")
    last_used = fields.Moment("When it was last used, to the hour.", nullable=True)
    revoked = fields.Moment("When it was ended.", nullable=True)


class NewTokenOut(TokenOut):
    """A key that was just made."""

    secret = fields.Text("Send it as Authorization: Bearer ... It is shown here and never again.")
