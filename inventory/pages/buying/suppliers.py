"""Suppliers, and what each sells a part for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import suppliers as stock
from inventory.pages import pages
from inventory.pages.buying import supplier_screen
from inventory.pages.buying.dead_on_arrival_chart import dead_chart
from inventory.pages.context import money, settings
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Breaks, Money
from inventory.pages.forms import Form, Key, Text, Tick, Whole, read_form, read_query
from inventory.web.access import for_role


class Paged(Form):
    """Which suppliers, and where a list goes on."""

    q = Text()
    gone = Tick()
    after = Text()


class Describe(Form):
    """A supplier as somebody describes it."""

    name = Text(needed="Give the supplier a name.")
    lead_days = Whole(load_default=5)
    shipping_minor = Money()
    email = Text()
    note = Text()
    active = Tick()
    version = Key()


class About(Form):
    """What a new offer is for."""

    part = Key()
    supplier = Key()


class Offer(Form):
    """What a supplier sells a part for."""

    supplier_number = Text()
    pack = Text()
    minimum = Text()
    price_minor = Money(needed="Say what a pack costs.")
    breaks = Breaks()
    lead_days = Whole()
    preferred = Tick()


class NewOffer(Offer):
    """A new offer: of which part, by whom."""

    part = Text(needed="Say which part it is.")
    supplier = Key(required=True, allow_none=False, error_messages={"required": "Choose who sells it."})


class SameOffer(Offer):
    """An offer that is changed."""

    active = Tick()
    version = Key()


@pages.app_template_filter()
def named(things: Iterable[Any]) -> list[tuple[int, str]]:
    """Return things that have a name, to choose from."""
    return [(one.id, one.name) for one in things]


@pages.app_template_filter()
def price_breaks(breaks: Iterable[tuple[int, int]]) -> str:
    """Write price breaks as they are typed, one to a line: "10: 8.50"."""
    return "\n".join(f"{packs}: {money(price).removesuffix(settings().currency).strip()}" for packs, price in breaks)


@pages.get("/suppliers")
def suppliers() -> str:
    """List suppliers by name."""
    asked = read_query(Paged)
    found = stock.suppliers(find=asked["q"], active=not asked["gone"], after=asked["after"] or None)
    return render_template("buying/supplier_list.html", found=found, asked=asked)


def _new() -> str:
    return render_template("buying/supplier_form.html", supplier=None)


@pages.get("/suppliers/new")
@for_role("tech")
def new_supplier() -> str:
    """Ask about a new supplier."""
    return _new()


@pages.post("/suppliers/new")
@acts(_new)
def add_supplier() -> Response:
    """Add a supplier."""
    typed = _described()
    for name in ("version", "active"):
        typed.pop(name)
    made = stock.add_supplier(**typed)
    flash(f"{made.name} is added: note what it sells.", "good")
    return to_thing("supplier", made.id)


def _described() -> dict[str, Any]:
    typed = read_form(Describe)
    return {**typed, "shipping_minor": typed["shipping_minor"] or 0}


def _show(key: int) -> str:
    at = supplier_screen.at_supplier(key, read_query(Paged)["after"])
    return render_template("buying/supplier.html", at=at, supplier=at.supplier, dead_picture=dead_chart(at.dead))


@pages.get("/suppliers/<int:key>")
def supplier(key: int) -> str:
    """Show a supplier: what it sells, how long it takes, what was ordered."""
    return _show(key)


@pages.post("/suppliers/<int:key>/edit")
@acts(_show)
def edit_supplier(key: int) -> Response:
    """Change a supplier."""
    typed = _described()
    changed = stock.edit_supplier(key, typed.pop("version"), **typed)
    flash(f"{changed.name} is changed.", "good")
    return to_thing("supplier", key)


def _new_offer() -> str:
    asked = read_query(About)
    return render_template("buying/offer.html", at=supplier_screen.at_offer(part_id=asked["part"]), asked=asked)


@pages.get("/offers/new")
@for_role("tech")
def new_offer() -> str:
    """Ask what a supplier sells a part for."""
    return _new_offer()


@pages.post("/offers/new")
@acts(_new_offer)
def note_offer() -> Response:
    """Note an offer."""
    typed = read_form(NewOffer)
    made = supplier_screen.note_offer(typed.pop("part"), typed.pop("supplier"), typed)
    flash(f"Noted: {made.supplier} sells it.", "good")
    return redirect(url_for("pages.reckoning", key=made.part_id), 303)


def _offer(key: int) -> str:
    return render_template("buying/offer.html", at=supplier_screen.at_offer(key), asked={})


@pages.get("/offers/<int:key>")
def offer(key: int) -> str:
    """Show an offer."""
    return _offer(key)


@pages.post("/offers/<int:key>")
@acts(_offer)
def change_offer(key: int) -> Response:
    """Change an offer."""
    typed = read_form(SameOffer)
    changed = supplier_screen.change_offer(key, typed.pop("version"), typed)
    flash("The offer is changed.", "good")
    return redirect(url_for("pages.reckoning", key=changed.part_id), 303)
