"""The owner's page of people, and everybody's own sign-in."""

from __future__ import annotations

import pytest
from flask import Flask

from inventory.domain.common.errors import NotAllowed
from inventory.domain.jobs import people
from inventory.store.tables import IdempotencyKey
from tests.factories import PASSPHRASE, a_person
from tests.http_clients import PageClient
from tests.pages.page_forms import find_form, follow_redirect, page_text, submit_form

EVIL = "<script>alert('x')</script>'; DROP TABLE people;--"
NEW = "four wet plane trees"


def may_sign_in(name: str, passphrase: str) -> bool:
    """Tell whether the pair opens the door."""
    try:
        people.sign_in(name, passphrase, "192.0.2.7")
    except NotAllowed:
        return False
    return True


def test_it_adds_somebody_who_may_sign_in_then(owner_page: PageClient) -> None:
    page = owner_page.get("/people")
    answer = follow_redirect(
        owner_page, submit_form(owner_page, page, "/people", name="Ines", shown_as="Ines F", passphrase=NEW)
    )
    assert "Ines F may sign in as ines." in page_text(answer)
    assert people.person_by_name("ines").role == "tech"
    assert may_sign_in("ines", NEW)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name": ""}, "Give the name to sign in with."),
        ({"name": "in es"}, "letters, digits, dots and dashes only"),
        ({"name": "taken"}, "There is a 'taken' already"),
        ({"passphrase": "short"}, "A passphrase needs at least 10 characters"),
        ({"passphrase": "x" * 201}, "over 200 characters"),
        ({"role": "king"}, "The role must be one of"),
    ],
)
def test_it_adds_nobody_who_cannot_be_right(owner_page: PageClient, fields: dict[str, str], sentence: str) -> None:
    a_person("tech", "taken")
    before = len(people.list_people())
    refused = submit_form(
        owner_page, owner_page.get("/people"), "/people",
        **{"name": "ines", "passphrase": NEW, "shown_as": "kept words", **fields},
    )  # fmt: skip
    assert refused.status_code in (409, 422)
    assert sentence in page_text(refused)
    data = dict(find_form(refused, "/people").fields)
    assert data["shown_as"] == "kept words"
    assert data["passphrase"] == ""
    assert len(people.list_people()) == before


def test_it_changes_a_role_and_shuts_somebody_out(owner_page: PageClient) -> None:
    tech = a_person("tech", "teo")
    page = owner_page.get(f"/people/{tech.id}")
    follow_redirect(owner_page, submit_form(owner_page, page, "/edit", role="viewer", shown_as="Teo B"))
    assert (people.person(tech.id).role, people.person(tech.id).shown_as) == ("viewer", "Teo B")
    form = find_form(owner_page.get(f"/people/{tech.id}"), "/edit")
    follow_redirect(
        owner_page, owner_page.post(form.action, data=dict(field for field in form.fields if field[0] != "active"))
    )
    assert not may_sign_in("teo", PASSPHRASE)
    assert "may not sign in" in page_text(owner_page.get("/people"))


def test_it_keeps_the_last_owner(owner_page: PageClient) -> None:
    me = owner_page.person
    refused = submit_form(owner_page, owner_page.get(f"/people/{me.id}"), "/edit", role="tech")
    assert refused.status_code == 409
    assert "This is the last owner" in page_text(refused)
    assert people.person(me.id).role == "owner"


def test_it_sets_a_forgotten_passphrase_and_ends_the_sessions(owner_page: PageClient, tech_page: PageClient) -> None:
    tech = tech_page.person
    page = owner_page.get(f"/people/{tech.id}")
    assert submit_form(owner_page, page, "/passphrase", passphrase="short").status_code == 422
    assert tech_page.get("/").status_code == 200
    follow_redirect(owner_page, submit_form(owner_page, page, "/passphrase", passphrase=NEW))
    assert tech_page.get("/").status_code == 302
    assert may_sign_in(tech.name, NEW)
    assert not may_sign_in(tech.name, PASSPHRASE)


def test_it_signs_somebody_out_everywhere(owner_page: PageClient, tech_page: PageClient) -> None:
    page = owner_page.get(f"/people/{tech_page.person.id}")
    follow_redirect(owner_page, submit_form(owner_page, page, "/sign-out"))
    assert tech_page.get("/").status_code == 302


def test_it_shows_a_key_for_a_program_once_and_keeps_none_of_it(app: Flask, owner_page: PageClient) -> None:
    me = owner_page.person
    page = owner_page.get(f"/people/{me.id}")
    answer = submit_form(owner_page, page, "/tokens", label="price import")
    text = page_text(follow_redirect(owner_page, answer))
    secret = text.split("price import: ")[1].split()[0]
    assert secret.startswith("bp_")
    assert secret not in page_text(owner_page.get(f"/people/{me.id}"))
    second_page = submit_form(owner_page, page, "/tokens", label="price import")
    assert secret not in page_text(follow_redirect(owner_page, second_page))
    assert len(people.tokens()) == 1
    assert all(
        secret not in f"{idempotency_key.body}{idempotency_key.headers}"
        for idempotency_key in IdempotencyKey.select()
    )
    response = app.test_client().get("/api/v1/parts", headers={"Authorization": f"Bearer {secret}"})
    assert response.status_code == 200


def test_it_ends_a_key(owner_page: PageClient) -> None:
    me, other = owner_page.person, a_person("tech", "teo")
    token = people.add_token(me.id, "price import")
    assert owner_page.post_form(f"/people/{other.id}/tokens/{token.id}/end").status_code == 409
    follow_redirect(owner_page, submit_form(owner_page, owner_page.get(f"/people/{me.id}"), "/end"))
    assert people.token_person(str(token.secret)) is None


def test_it_refuses_a_key_without_a_word_of_what_it_is_for(owner_page: PageClient) -> None:
    me = owner_page.person
    refused = submit_form(owner_page, owner_page.get(f"/people/{me.id}"), "/tokens", label=" ")
    assert refused.status_code == 422
    assert "Say what the key is for" in page_text(refused)


def test_it_changes_ones_own_passphrase_and_stays_signed_in(viewer_page: PageClient) -> None:
    me = viewer_page.person
    page = viewer_page.get("/my-sign-in")
    refused = submit_form(viewer_page, page, "/my-sign-in", old="not this one", passphrase=NEW)
    assert refused.status_code == 422
    assert "That is not the passphrase you have now" in page_text(refused)
    assert submit_form(viewer_page, page, "/my-sign-in", old=PASSPHRASE, passphrase="short").status_code == 422
    answer = follow_redirect(
        viewer_page, submit_form(viewer_page, page, "/my-sign-in", old=PASSPHRASE, passphrase=NEW)
    )
    assert "Your passphrase is changed" in page_text(answer)
    assert may_sign_in(me.name, NEW)


def test_it_slows_down_somebody_who_guesses_the_old_passphrase(viewer_page: PageClient) -> None:
    page = viewer_page.get("/my-sign-in")
    for _ in range(5):
        submit_form(viewer_page, page, "/my-sign-in", old="a guess", passphrase=NEW)
    refused = submit_form(viewer_page, page, "/my-sign-in", old=PASSPHRASE, passphrase=NEW)
    assert refused.status_code == 429
    assert "Too many wrong tries" in page_text(refused)


def test_it_signs_oneself_out_everywhere(viewer_page: PageClient) -> None:
    answer = submit_form(viewer_page, viewer_page.get("/my-sign-in"), "/sign-out-everywhere")
    assert answer.headers["Location"] == "/sign-in"
    assert viewer_page.get("/").status_code == 302


def test_it_keeps_no_quick_digest_of_a_passphrase(owner_page: PageClient) -> None:
    tech = a_person("tech", "teo")
    submit_form(owner_page, owner_page.get("/people"), "/people", name="ines", passphrase=NEW)
    submit_form(owner_page, owner_page.get(f"/people/{tech.id}"), "/passphrase", passphrase=NEW)
    submit_form(owner_page, owner_page.get("/my-sign-in"), "/my-sign-in", old=PASSPHRASE, passphrase=NEW)
    assert IdempotencyKey.select().count() == 0


def test_it_shows_html_and_sql_in_every_text_as_text(owner_page: PageClient) -> None:
    tech = a_person("tech", "teo")
    people.edit_person(tech.id, shown_as=EVIL)
    people.add_token(tech.id, EVIL)
    for address in ("/people", f"/people/{tech.id}"):
        body = owner_page.get(address).get_data(as_text=True)
        assert "<script>alert" not in body
        assert "&lt;script&gt;alert" in body


def test_it_finds_nobody_who_is_not_there(owner_page: PageClient) -> None:
    assert owner_page.get("/people/999").status_code == 404
    for what in ("edit", "passphrase", "sign-out", "tokens", "tokens/1/end"):
        answer = owner_page.post_form(f"/people/999/{what}", shown_as="x", passphrase=NEW, label="x")
        assert answer.status_code == 404


def test_it_is_for_owners(tech_page: PageClient) -> None:
    other = a_person("tech", "teo")
    for address in ("/people", f"/people/{other.id}"):
        assert tech_page.get(address).status_code == 403
    for what in ("edit", "passphrase", "sign-out", "tokens", "tokens/1/end"):
        assert tech_page.post_form(f"/people/{other.id}/{what}", passphrase=NEW, role="owner").status_code == 403
    assert tech_page.post_form("/people", name="ines", role="owner", passphrase=NEW).status_code == 403
    assert people.person(other.id).role == "tech"


def test_it_takes_no_other_method(owner_page: PageClient) -> None:
    other = a_person("tech", "teo")
    assert owner_page.get(f"/people/{other.id}/sign-out").status_code == 405
    assert owner_page.post_form(f"/people/{other.id}").status_code == 405
