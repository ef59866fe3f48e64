"""People as the owner's pages show them, and changing one's own passphrase."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.common.errors import Invalid, NotAllowed
from inventory.domain.common.records import PersonRecord, TokenRecord
from inventory.domain.jobs import people


@dataclass(frozen=True)
class PersonScreen:
    """A person with the API keys that act as them."""

    person: PersonRecord
    tokens: tuple[TokenRecord, ...]


def person_screen(person_id: int) -> PersonScreen:
    """Return a person with their API keys."""
    record = people.person(person_id)
    return PersonScreen(record, tuple(token for token in people.tokens() if token.person_id == person_id))


def people_screen() -> list[PersonScreen]:
    """Return all people with their keys, by name."""
    tokens = people.tokens()
    return [
        PersonScreen(person, tuple(token for token in tokens if token.person_id == person.id))
        for person in people.list_people()
    ]


def change_own_passphrase(person_id: int, old: str, new: str, address: str) -> tuple[PersonRecord, int]:
    """Change a person's own passphrase, given the *old* one; return the person and the new session mark.

    Everybody signed in as them is signed out. Raises Invalid naming ``old`` or ``passphrase``, SlowDown after
    too many wrong tries.
    """
    name = people.person(person_id).name
    try:
        people.sign_in(name, old, address)
    except NotAllowed:
        sentence = "That is not the passphrase you have now: type it again."
        raise Invalid(sentence, errors={"old": [sentence]}) from None
    people.set_passphrase(person_id, new)
    return people.sign_in(name, new, address)
