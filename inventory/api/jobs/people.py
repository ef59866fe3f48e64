"""/people and /me: who works here, and who is asking."""

from __future__ import annotations

from typing import Any

from inventory.api.jobs.people_schemas import JobInHandIn, PassphraseIn, PersonEdit, PersonIn, PersonOut
from inventory.api.pagination import PageQuery
from inventory.api.resource import Resource, location_header
from inventory.domain.common.records import PersonRecord
from inventory.domain.jobs import people as domain
from inventory.web.access import current_person, require_role

resource = Resource("people", "Who works here, and what they may do.")
PERSON = PersonOut()


@resource.get("/me")
@resource.response(200, PERSON)
def me() -> PersonRecord:
    """Read whom the token acts as."""
    return current_person()


@resource.put("/me/job-in-hand")
@resource.arguments(JobInHandIn())
@resource.response(200, PERSON, with_etag=False)
def set_job_in_hand(data: dict[str, Any]) -> PersonRecord:
    """Take a job in hand, or none."""
    return domain.set_job_in_hand(current_person().id, **data)


@resource.get("/people")
@resource.arguments(PageQuery(), location="query")
@resource.listed(PERSON, key="id")
def people(params: dict[str, Any]) -> list[PersonRecord]:
    """List people by name."""
    return domain.list_people()


@resource.post("/people")
@require_role("owner")
@resource.arguments(PersonIn())
@resource.response(201, PERSON)
def add_person(data: dict[str, Any]) -> Any:
    """Let somebody in."""
    person = domain.add_person(**data)
    return person, location_header("person", person.id)


@resource.get("/people/<key:person_id>")
@resource.response(200, PERSON)
def person(person_id: int) -> PersonRecord:
    """Read a person."""
    return domain.person(person_id)


@resource.patch("/people/<key:person_id>")
@require_role("owner")
@resource.arguments(PersonEdit())
@resource.edited(PERSON, domain.person)
def edit_person(data: dict[str, Any], person_id: int, version: int | None) -> PersonRecord:
    """Change somebody's role, name on pages, or whether they may sign in. The last owner stays one (409)."""
    return domain.edit_person(person_id, version, **data)


@resource.put("/people/<key:person_id>/passphrase")
@require_role("owner")
@resource.arguments(PassphraseIn())
@resource.response(204)
def set_passphrase(data: dict[str, Any], person_id: int) -> None:
    """Give somebody a new passphrase, and sign them out everywhere."""
    domain.set_passphrase(person_id, **data)


@resource.post("/people/<key:person_id>/sign-out")
@require_role("owner")
@resource.response(204)
def sign_out_everywhere(person_id: int) -> None:
    """Sign somebody out everywhere."""
    domain.end_sessions(domain.person(person_id).id)
