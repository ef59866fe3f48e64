"""Suppliers, and what each sells a part for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from inventory.domain.buying import suppliers as domain
from inventory.pages import pages
from inventory.pages.buying import supplier_screen
from inventory.pages.buying.dead_on_arrival_chart import dead_on_arrival_chart
from inventory.pages.context import money, settings
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MoneyField, PriceBreaksField
from inventory.pages.forms import CheckboxField, Form, IdField, IntegerField, TextField, load_form, load_query
from inventory.web.access import require_role


class SupplierFilter(Form):
    """Which suppliers, and where a list goes on."""

    q = TextField()
    gone = CheckboxField()
    after = TextField()


class SupplierForm(Form):
    """A supplier as typed."""

    name = TextField(needed="Give the supplier a name.")
    lead_days = IntegerField(load_default=5)
    shipping_minor = MoneyField()
    email = TextField()
    note = TextField()
    active = CheckboxField()
    version = IdField()


class NewOfferQuery(Form):
    """What a new offer is for."""

    part = IdField()
    supplier = IdField()


class OfferForm(Form):
    """What a supplier sells a part for."""

    supplier_number = TextField()
    pack = TextField()
    minimum = TextField()
    price_minor = MoneyField(needed="Say what a pack costs.")
    breaks = PriceBreaksField()
    lead_days = IntegerField()
    preferred = CheckboxField()


class NewOfferForm(OfferForm):
    """A new offer: of which part, by whom."""

    part = TextField(needed="Say which part it is.")
    supplier = IdField(required=True, allow_none=False, error_messages={"required": "Choose who sells it."})


class EditOfferForm(OfferForm):
    """An offer that is changed."""

    active = CheckboxField()
    version = IdField()


@pages.app_template_filter()
def name_choices(things: Iterable[Any]) -> list[tuple[int, str]]:
    """Return things that have a name, to choose from."""
    return [(thing.id, thing.name) for thing in things]


@pages.app_template_filter()
def price_breaks(breaks: Iterable[tuple[int, int]]) -> str:
    """Write price breaks as they are typed, one to a line: "10: 8.50"."""
    return "\n".join(f"{packs}: {money(price).removesuffix(settings().currency).strip()}" for packs, price in breaks)


@pages.get("/suppliers")
def suppliers() -> str:
    """List suppliers by name."""
    query = load_query(SupplierFilter)
    page = domain.suppliers(find=query["q"], active=not query["gone"], after=query["after"] or None)
    return render_template("buying/supplier_list.html", page=page, query=query)


@pages.get("/suppliers/new")
@require_role("tech")
def new_supplier() -> str:
    """Ask about a new supplier."""
    return render_template("buying/supplier_form.html", supplier=None)


@pages.post("/suppliers/new")
@form_action(new_supplier)
def add_supplier() -> Response:
    """Add a supplier."""
    data = _supplier_data()
    for name in ("version", "active"):
        data.pop(name)
    record = domain.add_supplier(**data)
    flash(f"{record.name} is added: note what it sells.", "good")
    return redirect_to("supplier", record.id)


def _supplier_data() -> dict[str, Any]:
    data = load_form(SupplierForm)
    return {**data, "shipping_minor": data["shipping_minor"] or 0}


@pages.get("/suppliers/<int:key>")
def supplier(key: int) -> str:
    """Show a supplier: what it sells, how long it takes, what was ordered."""
    screen = supplier_screen.supplier_screen(key, load_query(SupplierFilter)["after"])
    return render_template(
        "buying/supplier.html",
        screen=screen,
        supplier=screen.supplier,
        dead_picture=dead_on_arrival_chart(screen.dead),
    )


@pages.post("/suppliers/<int:key>/edit")
@form_action(supplier)
def edit_supplier(key: int) -> Response:
    """Change a supplier."""
    data = _supplier_data()
    changed = domain.edit_supplier(key, data.pop("version"), **data)
    flash(f"{changed.name} is changed.", "good")
    return redirect_to("supplier", key)


@pages.get("/offers/new")
@require_role("tech")
def new_offer() -> str:
    """Ask what a supplier sells a part for."""
    query = load_query(NewOfferQuery)
    return render_template(
        "buying/offer.html", screen=supplier_screen.offer_screen(part_id=query["part"]), query=query
    )


@pages.post("/offers/new")
@form_action(new_offer)
def add_offer() -> Response:
    """Note an offer."""
    data = load_form(NewOfferForm)
    record = supplier_screen.add_offer_from_form(data.pop("part"), data.pop("supplier"), data)
    flash(f"Noted: {record.supplier} sells it.", "good")
    return redirect(url_for("pages.reckoning", key=record.part_id), 303)


@pages.get("/offers/<int:key>")
def offer(key: int) -> str:
    """Show an offer."""
    return render_template("buying/offer.html", screen=supplier_screen.offer_screen(key), query={})


@pages.post("/offers/<int:key>")
@form_action(offer)
def edit_offer(key: int) -> Response:
    """Change an offer."""
    data = load_form(EditOfferForm)
    changed = supplier_screen.edit_offer_from_form(key, data.pop("version"), data)
    flash("The offer is changed.", "good")
    return redirect(url_for("pages.reckoning", key=changed.part_id), 303)
