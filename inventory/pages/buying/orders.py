"""Orders: drafted from the list or by hand, sent to a supplier, and what came of each."""

from __future__ import annotations

from flask import Response, flash, render_template, request
from marshmallow import ValidationError
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.buying import orders as domain
from inventory.domain.common.errors import Invalid
from inventory.domain.reorder import order_suggestions
from inventory.pages import pages
from inventory.pages.buying import order_screen
from inventory.pages.context import settings
from inventory.pages.form_actions import form_action, redirect_to
from inventory.pages.form_fields import MoneyField
from inventory.pages.forms import (
    DateField,
    Form,
    IdField,
    IdListField,
    TextField,
    fields_by_id,
    load_form,
    load_query,
)
from inventory.web.access import current_person

QUANTITY_PREFIX, COST_PREFIX = "quantity-", "cost-"  # the fields of the lines of a draft: quantity-3, cost-3


class OrderFilter(Form):
    """Where a list goes on."""

    after = TextField()


class NewOrderForm(Form):
    """Whom a new order goes to."""

    supplier = IdField(required=True, allow_none=False, error_messages={"required": "Choose a supplier."})


class SuggestedOrderForm(Form):
    """Which of the parts that a supplier should be asked for."""

    supplier = IdField(required=True, allow_none=False)
    part = IdListField()


class OrderLineForm(Form):
    """A part to be put on a draft."""

    part = TextField(needed="Say which part.")
    amount = TextField(needed="Say how many.")
    version = IdField()


class OrderVersionForm(Form):
    """Which state of the order the lines were typed on."""

    version = IdField()


class PlaceOrderForm(Form):
    """What is known when an order was sent."""

    expected = DateField()
    reference = TextField()
    version = IdField()


class OrderForm(Form):
    """What is noted of an order."""

    number = TextField(needed="An order needs a number.")
    reference = TextField()
    note = TextField()
    shipping_minor = MoneyField()
    expected = DateField()
    version = IdField()


def _render_orders() -> str:
    return render_template(
        "buying/order_list.html", found=order_screen.orders_screen(load_query(OrderFilter)["after"])
    )


@pages.get("/orders")
def orders() -> str:
    """Show orders by what there is to do with them."""
    return _render_orders()


@pages.post("/orders")
@form_action(_render_orders)
def draft_order() -> AnyResponse:
    """Begin an order by hand."""
    made = domain.draft_order(load_form(NewOrderForm)["supplier"], by=current_person().id)
    return redirect_to("order", made.id)


def _render_suggested_orders() -> str:
    from inventory.pages.reorder.reorder import render_reorder

    return render_reorder()


@pages.post("/orders/suggested")
@form_action(_render_suggested_orders)
def draft_suggested_order() -> AnyResponse:
    """Draft the order that the reorder list suggests."""
    typed = load_form(SuggestedOrderForm)
    if not typed["part"]:
        raise Invalid("Tick at least one part for the order.", reason="nothing_ticked")
    made = order_suggestions.draft_suggested_order(typed["supplier"], typed["part"], by=current_person().id)
    flash(f"Order {made.number} is drafted: look it over, then send it.", "good")
    return redirect_to("order", made.id)


def _render_order(key: int) -> str:
    at = order_screen.order_screen(key)
    return render_template("buying/order.html", at=at, order=at.order)


@pages.get("/orders/<int:key>")
def order(key: int) -> str:
    """Show an order with its lines."""
    return _render_order(key)


@pages.post("/orders/<int:key>/lines")
@form_action(_render_order)
def add_order_line(key: int) -> AnyResponse:
    """Put a part on a draft."""
    typed = load_form(OrderLineForm)
    order_screen.add_typed_line(key, typed["part"], typed["amount"], typed["version"])
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/lines/edit")
@form_action(_render_order)
def edit_order_lines(key: int) -> AnyResponse:
    """Change the lines of a draft."""
    order_screen.edit_typed_lines(key, load_form(OrderVersionForm)["version"], _line_changes())
    flash("The lines are saved.", "good")
    return redirect_to("order", key)


def _line_changes() -> dict[int, tuple[str, int | None]]:
    """Return by line what was typed as its quantity and its cost; raise Invalid naming a cost that is none."""
    return {line: (text, _parse_cost(line)) for line, text in fields_by_id(QUANTITY_PREFIX).items()}


def _parse_cost(number: int) -> int | None:
    try:
        cost: int | None = MoneyField().deserialize(request.form.get(f"{COST_PREFIX}{number}", ""))
    except ValidationError as bad:
        sentence = str(bad.messages[0])
        raise Invalid(sentence, errors={f"{COST_PREFIX}{number}": [sentence]}) from None
    return cost


@pages.post("/orders/<int:key>/lines/<int:line>/drop")
@form_action(lambda key, line: _render_order(key))
def drop_order_line(key: int, line: int) -> AnyResponse:
    """Take a part off a draft, or expect no more of it."""
    order_screen.drop_line_of_order(key, line, load_form(OrderVersionForm)["version"])
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/place")
@form_action(_render_order)
def place_order(key: int) -> AnyResponse:
    """Note that the order was sent."""
    typed = load_form(PlaceOrderForm)
    placed = domain.place_order(
        key, typed["version"], expected=typed["expected"], reference=typed["reference"], by=current_person().id
    )
    flash(f"Order {placed.number} is under way. It counts as stock to come from now on.", "good")
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/cancel")
@form_action(_render_order)
def cancel_order(key: int) -> AnyResponse:
    """Expect nothing more of an order."""
    ended = domain.cancel_order(key, load_form(OrderVersionForm)["version"])
    flash(f"Order {ended.number} is {ended.status}: nothing more is expected of it.", "good")
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/edit")
@form_action(_render_order)
def edit_order(key: int) -> AnyResponse:
    """Change what is noted of an order."""
    typed = load_form(OrderForm)
    typed["shipping_minor"] = typed["shipping_minor"] or 0
    domain.edit_order(key, typed.pop("version"), **typed)
    flash("What is noted of the order is saved.", "good")
    return redirect_to("order", key)


@pages.get("/orders/<int:key>/text")
def order_text(key: int) -> Response:
    """Give an order as plain text, to be sent by e-mail."""
    text = order_screen.order_text(key, settings().bench_name, settings().currency)
    return Response(text, content_type="text/plain; charset=utf-8")


@pages.get("/orders/<int:key>/lines.csv")
def order_csv(key: int) -> Response:
    """Give an order's lines as a table for a spreadsheet or a supplier's upload."""
    text = order_screen.order_csv(key, settings().currency)
    made = Response(text, content_type="text/csv; charset=utf-8")
    made.headers.set("Content-Disposition", "attachment", filename=f"order-{domain.order(key).number}.csv")
    return made


@pages.get("/orders/<int:key>/print")
def order_print(key: int) -> str:
    """Show an order as it is printed."""
    at = order_screen.order_screen(key)
    return render_template("buying/order_print.html", at=at, order=at.order)
