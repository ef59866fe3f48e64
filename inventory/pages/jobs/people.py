"""People: who may sign in and as what, passphrases, and keys for programs. And one's own sign-in."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.common.records import ROLES
from inventory.domain.jobs import people as domain
from inventory.pages import pages
from inventory.pages.form_actions import form_action
from inventory.pages.forms import CheckboxField, Form, IdField, TextField, form_value, load_form
from inventory.pages.jobs import people_screen
from inventory.web import access
from inventory.web.access import current_person, require_role

# Forms with a passphrase send no key for doing things once: its record would keep a quick digest of what was typed.


class NewPersonForm(Form):
    """A new person."""

    name = TextField(needed="Give the name to sign in with.")
    shown_as = TextField()
    role = TextField()
    passphrase = TextField()


class PersonForm(Form):
    """What can be edited of a person."""

    shown_as = TextField(needed="Say how the pages name this person.")
    role = TextField()
    active = CheckboxField()
    version = IdField()


class PassphraseForm(Form):
    """A new passphrase."""

    passphrase = TextField()


class OwnPassphraseForm(PassphraseForm):
    """A new own passphrase."""

    old = TextField(needed="Type the passphrase you have now.")


@pages.get("/people")
@require_role("owner")
def people() -> str:
    """Show who may sign in."""
    return render_template("jobs/people_list.html", people=people_screen.people_screen(), roles=ROLES)


@pages.post("/people")
@require_role("owner")
@form_action(people)
def add_person() -> Response:
    """Add a person."""
    record = domain.add_person(**load_form(NewPersonForm))
    flash(f"{record.shown_as} may sign in as {record.name}.", "good")
    return redirect(url_for("pages.person", key=record.id), 303)


@pages.get("/people/<int:key>")
@require_role("owner")
def person(key: int) -> str:
    """Show a person's role, sign-in and keys."""
    return render_template("jobs/person.html", screen=people_screen.person_screen(key), roles=ROLES)


def _redirect_to_person(key: int) -> Response:
    return redirect(url_for("pages.person", key=key), 303)


@pages.post("/people/<int:key>/edit")
@require_role("owner")
@form_action(person)
def edit_person(key: int) -> Response:
    """Change a person's role, name on pages, or whether they may sign in."""
    data = load_form(PersonForm)
    changed = domain.edit_person(key, data.pop("version"), **data)
    flash(f"{changed.shown_as} is {changed.role}{'' if changed.active else ', and may not sign in'}.", "good")
    return redirect(url_for("pages.people"), 303) if key != current_person().id else _redirect_to_person(key)


@pages.post("/people/<int:key>/passphrase")
@require_role("owner")
@form_action(person)
def set_passphrase(key: int) -> Response:
    """Set a person's passphrase."""
    domain.set_passphrase(key, load_form(PassphraseForm)["passphrase"])
    flash("The passphrase is changed, and everybody signed in with the old one is signed out.", "good")
    return _redirect_to_person(key)


@pages.post("/people/<int:key>/sign-out")
@require_role("owner")
@form_action(person)
def sign_out_everywhere(key: int) -> Response:
    """End all sessions of a person."""
    domain.end_sessions(domain.person(key).id)
    flash("Signed out everywhere.", "good")
    return _redirect_to_person(key)


@pages.post("/people/<int:key>/tokens")
@require_role("owner")
@form_action(person)
def add_token(key: int) -> Response:
    """Make a key for a program; it is shown once, on the page that follows."""
    token = domain.add_token(
        key, form_value("label", TextField(needed="Say what the key is for, such as price import."))
    )
    flash("Copy this key now, and keep it like a passphrase: it is not shown again.", "warn")
    flash(f"{token.label}: {token.secret}", "secret")
    return _redirect_to_person(key)


@pages.post("/people/<int:key>/tokens/<int:token>/end")
@require_role("owner")
@form_action(lambda key, token: person(key))
def revoke_token(key: int, token: int) -> Response:
    """End a key for good."""
    domain.revoke_token(token, key)
    flash("The key is ended: no program gets in with it.", "good")
    return _redirect_to_person(key)


@pages.get("/my-sign-in")
def own_sign_in() -> str:
    """Show one's own sign-in."""
    return render_template("jobs/own_sign_in.html", screen=people_screen.person_screen(current_person().id))


@pages.post("/my-sign-in")
@require_role("viewer")
@form_action(own_sign_in)
def change_own_passphrase() -> Response:
    """Change one's own passphrase; this browser stays signed in."""
    data = load_form(OwnPassphraseForm)
    changed, mark = people_screen.change_own_passphrase(
        current_person().id, data["old"], data["passphrase"], request.remote_addr or ""
    )
    access.start_session(changed, mark)
    g.person = changed
    flash("Your passphrase is changed; other browsers are signed out.", "good")
    return redirect(url_for("pages.own_sign_in"), 303)


@pages.post("/my-sign-in/sign-out-everywhere")
@require_role("viewer")
@form_action(own_sign_in)
def own_sign_out_everywhere() -> Response:
    """End all of one's own sessions, this one too."""
    domain.end_sessions(current_person().id)
    access.end_session()
    return redirect(url_for("pages.sign_in"), 303)
