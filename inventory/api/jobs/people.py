"""/people and /me: who works here, and who is asking."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.people_schemas import JobInHandIn, PassphraseIn, PersonEdit, PersonIn, PersonOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, at
from inventory.domain.common.records import PersonRecord
from inventory.domain.jobs import people as stock
from inventory.web.access import caller, for_role

resource = Resource("people", "Who works here, and what they may do.")
PERSON = PersonOut()


@resource.get("/me")
@resource.response(200, PERSON)
def me() -> PersonRecord:
    """Read whom the token acts as."""
    return caller()


@resource.put("/me/job-in-hand")
@resource.arguments(JobInHandIn())
@resource.response(200, PERSON, entity=False)
def take_in_hand(given: dict[str, Any]) -> PersonRecord:
    """Take a job in hand, or none."""
    return stock.take_in_hand(caller().id, **given)


@resource.get("/people")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PERSON, key=lambda one: one.id)
def people(asked: dict[str, Any]) -> list[PersonRecord]:
    """List people by name."""
    return stock.everybody()


@resource.post("/people")
@for_role("owner")
@resource.arguments(PersonIn())
@resource.response(201, PERSON)
def add_person(given: dict[str, Any]) -> Any:
    """Let somebody in."""
    made = stock.add_person(**given)
    return made, at("person", made.id)


@resource.get("/people/<key:person_id>")
@resource.response(200, PERSON)
def person(person_id: int) -> PersonRecord:
    """Read a person."""
    return stock.person(person_id)


@resource.patch("/people/<key:person_id>")
@for_role("owner")
@resource.arguments(PersonEdit())
@resource.edited(PERSON, stock.person)
def edit_person(given: dict[str, Any], person_id: int, version: int | None) -> PersonRecord:
    """Change somebody's role, name on pages, or whether they may sign in. The last owner stays one (409)."""
    return stock.edit_person(person_id, version, **given)


@resource.put("/people/<key:person_id>/passphrase")
@for_role("owner")
@resource.arguments(PassphraseIn())
@resource.response(204)
def set_passphrase(given: dict[str, Any], person_id: int) -> None:
    """Give somebody a new passphrase, and sign them out everywhere."""
    stock.set_passphrase(person_id, **given)


@resource.post("/people/<key:person_id>/sign-out")
@for_role("owner")
@resource.response(204)
def end_sessions(person_id: int) -> None:
    """Sign somebody out everywhere."""
    stock.end_sessions(stock.person(person_id).id)
