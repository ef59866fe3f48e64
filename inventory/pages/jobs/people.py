"""People: who may sign in and as what, passphrases, and keys for programs. And one's own sign-in."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from inventory.domain.jobs import people as stock
from inventory.pages import pages
from inventory.pages.form_actions import acts
from inventory.pages.forms import Form, Key, Text, Tick, read_form
from inventory.pages.jobs import people_screen
from inventory.web import access
from inventory.web.access import caller, for_role

# Forms with a passphrase send no key for doing things once: its record would keep a quick digest of what was typed.


class New(Form):
    """Somebody who may sign in from now on."""

    name = Text(needed="Give the name to sign in with.")
    shown_as = Text()
    role = Text()
    passphrase = Text()


class Edit(Form):
    """What is noted of somebody."""

    shown_as = Text(needed="Say how the pages name this person.")
    role = Text()
    active = Tick()
    version = Key()


class Passphrase(Form):
    """A new passphrase for somebody."""

    passphrase = Text()


class OwnPassphrase(Passphrase):
    """A new passphrase of one's own."""

    old = Text(needed="Type the passphrase you have now.")


class NewToken(Form):
    """What a key for a program is for."""

    label = Text(needed="Say what the key is for, such as price import.")


def _everybody() -> str:
    return render_template("jobs/people_list.html", everybody=people_screen.everybody(), roles=stock.ROLES)


@pages.get("/people")
@for_role("owner")
def people() -> str:
    """Show who may sign in."""
    return _everybody()


@pages.post("/people")
@for_role("owner")
@acts(_everybody)
def add_person() -> Response:
    """Let somebody sign in from now on."""
    made = stock.add_person(**read_form(New))
    flash(f"{made.shown_as} may sign in as {made.name}.", "good")
    return redirect(url_for("pages.person", key=made.id), 303)


def _show(key: int) -> str:
    return render_template("jobs/person.html", at=people_screen.at_person(key), roles=stock.ROLES)


@pages.get("/people/<int:key>")
@for_role("owner")
def person(key: int) -> str:
    """Show somebody's role, sign-in and keys."""
    return _show(key)


def _back(key: int) -> Response:
    return redirect(url_for("pages.person", key=key), 303)


@pages.post("/people/<int:key>/edit")
@for_role("owner")
@acts(_show)
def edit_person(key: int) -> Response:
    """Change somebody's role, name on pages, or whether they may sign in."""
    typed = read_form(Edit)
    changed = stock.edit_person(key, typed.pop("version"), **typed)
    flash(f"{changed.shown_as} is {changed.role}{'' if changed.active else ', and may not sign in'}.", "good")
    return redirect(url_for("pages.people"), 303) if key != caller().id else _back(key)


@pages.post("/people/<int:key>/passphrase")
@for_role("owner")
@acts(_show)
def set_passphrase(key: int) -> Response:
    """Give somebody a new passphrase."""
    stock.set_passphrase(key, read_form(Passphrase)["passphrase"])
    flash("The passphrase is changed, and everybody signed in with the old one is signed out.", "good")
    return _back(key)


@pages.post("/people/<int:key>/sign-out")
@for_role("owner")
@acts(_show)
def sign_out_everywhere(key: int) -> Response:
    """End all sessions of somebody."""
    stock.end_sessions(stock.person(key).id)
    flash("Signed out everywhere.", "good")
    return _back(key)


@pages.post("/people/<int:key>/tokens")
@for_role("owner")
@acts(_show)
def add_token(key: int) -> Response:
    """Make a key for a program; it is shown once, on the page that follows."""
    made = stock.add_token(key, read_form(NewToken)["label"])
    flash("Copy this key now, and keep it like a passphrase: it is not shown again.", "warn")
    flash(f"{made.label}: {made.secret}", "secret")
    return _back(key)


@pages.post("/people/<int:key>/tokens/<int:token>/end")
@for_role("owner")
@acts(lambda key, token: _show(key))
def end_token(key: int, token: int) -> Response:
    """End a key for good."""
    people_screen.revoke(key, token)
    flash("The key is ended: no program gets in with it.", "good")
    return _back(key)


def _own() -> str:
    return render_template("jobs/own_sign_in.html", at=people_screen.at_person(caller().id))


@pages.get("/my-sign-in")
def own_sign_in() -> str:
    """Show one's own sign-in."""
    return _own()


@pages.post("/my-sign-in")
@for_role("viewer")
@acts(_own)
def change_own_passphrase() -> Response:
    """Change one's own passphrase; this browser stays signed in."""
    typed = read_form(OwnPassphrase)
    changed, mark = people_screen.change_own_passphrase(
        caller().id, typed["old"], typed["passphrase"], request.remote_addr or ""
    )
    access.let_in(changed, mark)
    g.person = changed
    flash("Your passphrase is changed; other browsers are signed out.", "good")
    return redirect(url_for("pages.own_sign_in"), 303)


@pages.post("/my-sign-in/sign-out-everywhere")
@for_role("viewer")
@acts(_own)
def own_sign_out_everywhere() -> Response:
    """End all of one's own sessions, this one too."""
    stock.end_sessions(caller().id)
    access.let_out()
    return redirect(url_for("pages.sign_in"), 303)
