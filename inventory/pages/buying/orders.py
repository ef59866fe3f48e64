"""Orders: drafted from the list or by hand, sent to a supplier, and what came of each."""

from __future__ import annotations

from flask import Response, flash, render_template, request
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
    form_value,
    load_form,
    parse_text,
    query_value,
)
from inventory.pages.reorder.reorder import reorder
from inventory.web.access import current_person
from inventory.web.downloads import csv_response

QUANTITY_PREFIX, COST_PREFIX = "quantity-", "cost-"  # the fields of the lines of a draft: quantity-3, cost-3


class SuggestedOrderForm(Form):
    """Which of the suggested parts go on the order."""

    supplier = IdField(required=True, allow_none=False)
    part = IdListField()


class OrderLineForm(Form):
    """A part to be put on a draft."""

    part = TextField(needed="Say which part.")
    amount = TextField(needed="Say how many.")
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


@pages.get("/orders")
def orders() -> str:
    """Show orders by what there is to do with them."""
    return render_template(
        "buying/order_list.html", screen=order_screen.orders_screen(query_value("after", TextField()))
    )


@pages.post("/orders")
@form_action(orders)
def draft_order() -> AnyResponse:
    """Begin an order by hand."""
    draft = domain.draft_order(
        form_value(
            "supplier", IdField(required=True, allow_none=False, error_messages={"required": "Choose a supplier."})
        ),
        by=current_person().id,
    )
    return redirect_to("order", draft.id)


@pages.post("/orders/suggested")
@form_action(reorder)
def draft_suggested_order() -> AnyResponse:
    """Draft the order that the reorder list suggests."""
    data = load_form(SuggestedOrderForm)
    if not data["part"]:
        raise Invalid("Tick at least one part for the order.", reason="nothing_ticked")
    draft = order_suggestions.draft_suggested_order(data["supplier"], data["part"], by=current_person().id)
    flash(f"Order {draft.number} is drafted: look it over, then send it.", "good")
    return redirect_to("order", draft.id)


@pages.get("/orders/<int:key>")
def order(key: int) -> str:
    """Show an order with its lines."""
    screen = order_screen.order_screen(key)
    return render_template("buying/order.html", screen=screen, order=screen.order)


@pages.post("/orders/<int:key>/lines")
@form_action(order)
def add_order_line(key: int) -> AnyResponse:
    """Put a part on a draft."""
    data = load_form(OrderLineForm)
    order_screen.add_line_from_form(key, data["part"], data["amount"], data["version"])
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/lines/edit")
@form_action(order)
def edit_order_lines(key: int) -> AnyResponse:
    """Change the lines of a draft."""
    order_screen.edit_lines_from_form(key, form_value("version", IdField()), _line_changes())
    flash("The lines are saved.", "good")
    return redirect_to("order", key)


def _line_changes() -> dict[int, tuple[str, int | None]]:
    """Return by line what was typed as its quantity and its cost; raise Invalid naming a cost that is none."""
    changes: dict[int, tuple[str, int | None]] = {}
    for line, text in fields_by_id(QUANTITY_PREFIX).items():
        cost = f"{COST_PREFIX}{line}"
        changes[line] = (text, parse_text(request.form.get(cost, ""), MoneyField(), cost))
    return changes


@pages.post("/orders/<int:key>/lines/<int:line>/drop")
@form_action(lambda key, line: order(key))
def drop_order_line(key: int, line: int) -> AnyResponse:
    """Remove a line from a draft, or expect no more of it."""
    order_screen.drop_line_of_order(key, line, form_value("version", IdField()))
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/place")
@form_action(order)
def place_order(key: int) -> AnyResponse:
    """Note that the order was sent."""
    data = load_form(PlaceOrderForm)
    placed = domain.place_order(
        key, data["version"], expected=data["expected"], reference=data["reference"], by=current_person().id
    )
    flash(f"Order {placed.number} is under way. It counts as stock to come from now on.", "good")
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/cancel")
@form_action(order)
def cancel_order(key: int) -> AnyResponse:
    """Expect nothing more of an order."""
    ended = domain.cancel_order(key, form_value("version", IdField()))
    flash(f"Order {ended.number} is {ended.status}: nothing more is expected of it.", "good")
    return redirect_to("order", key)


@pages.post("/orders/<int:key>/edit")
@form_action(order)
def edit_order(key: int) -> AnyResponse:
    """Change what is noted of an order."""
    data = load_form(OrderForm)
    data["shipping_minor"] = data["shipping_minor"] or 0
    domain.edit_order(key, data.pop("version"), **data)
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
    return csv_response(text, f"order-{domain.order(key).number}")


@pages.get("/orders/<int:key>/print")
def order_print(key: int) -> str:
    """Show an order as it is printed."""
    screen = order_screen.order_screen(key)
    return render_template("buying/order_print.html", screen=screen, order=screen.order)
