"""Orders: drafted from the list or by hand, sent to a supplier, and what came of each."""

from __future__ import annotations

from flask import Response, flash, render_template, request
from marshmallow import ValidationError
from werkzeug.wrappers import Response as AnyResponse

from inventory.domain.buying import orders as stock
from inventory.domain.common.errors import Invalid
from inventory.domain.reorder import order_suggestions
from inventory.pages import pages
from inventory.pages.buying import order_screen
from inventory.pages.context import settings
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.form_fields import Money
from inventory.pages.forms import Day, Form, Key, Keys, Text, read_form, read_query
from inventory.web.access import caller

QUANTITY, COST = "quantity-", "cost-"  # the fields of the lines of a draft: quantity-3, cost-3


class Paged(Form):
    """Where a list goes on."""

    after = Text()


class New(Form):
    """Whom a new order goes to."""

    supplier = Key(required=True, allow_none=False, error_messages={"required": "Choose a supplier."})


class Suggested(Form):
    """Which of the parts that a supplier should be asked for."""

    supplier = Key(required=True, allow_none=False)
    part = Keys()


class Line(Form):
    """A part to be put on a draft."""

    part = Text(needed="Say which part.")
    amount = Text(needed="Say how many.")
    version = Key()


class Lines(Form):
    """Which state of the order the lines were typed on."""

    version = Key()


class Place(Form):
    """What is known when an order was sent."""

    expected = Day()
    reference = Text()
    version = Key()


class Edit(Form):
    """What is noted of an order."""

    number = Text(needed="An order needs a number.")
    reference = Text()
    note = Text()
    shipping_minor = Money()
    expected = Day()
    version = Key()


def _orders() -> str:
    return render_template("buying/order_list.html", found=order_screen.order_list(read_query(Paged)["after"]))


@pages.get("/orders")
def orders() -> str:
    """Show orders by what there is to do with them."""
    return _orders()


@pages.post("/orders")
@acts(_orders)
def new_order() -> AnyResponse:
    """Begin an order by hand."""
    made = stock.draft_order(read_form(New)["supplier"], by=caller().id)
    return to_thing("order", made.id)


def _suggested() -> str:
    from inventory.pages.reorder.reorder import show

    return show()


@pages.post("/orders/suggested")
@acts(_suggested)
def draft_suggested() -> AnyResponse:
    """Draft the order that the reorder list suggests."""
    typed = read_form(Suggested)
    if not typed["part"]:
        raise Invalid("Tick at least one part for the order.", reason="nothing_ticked")
    made = order_suggestions.draft_suggested(typed["supplier"], typed["part"], by=caller().id)
    flash(f"Order {made.number} is drafted: look it over, then send it.", "good")
    return to_thing("order", made.id)


def _show(key: int) -> str:
    at = order_screen.at_order(key)
    return render_template("buying/order.html", at=at, order=at.order)


@pages.get("/orders/<int:key>")
def order(key: int) -> str:
    """Show an order with its lines."""
    return _show(key)


@pages.post("/orders/<int:key>/lines")
@acts(_show)
def add_line(key: int) -> AnyResponse:
    """Put a part on a draft."""
    typed = read_form(Line)
    order_screen.add_line(key, typed["part"], typed["amount"], typed["version"])
    return to_thing("order", key)


@pages.post("/orders/<int:key>/lines/edit")
@acts(_show)
def edit_lines(key: int) -> AnyResponse:
    """Change the lines of a draft."""
    order_screen.edit_lines(key, read_form(Lines)["version"], _typed_lines())
    flash("The lines are saved.", "good")
    return to_thing("order", key)


def _typed_lines() -> dict[int, tuple[str, int | None]]:
    """Return by line what was typed as its quantity and its cost; raise Invalid naming a cost that is none."""
    found: dict[int, tuple[str, int | None]] = {}
    for name, text in request.form.items():
        number = name.removeprefix(QUANTITY)
        if name.startswith(QUANTITY) and number.isascii() and number.isdigit() and len(number) < 10:
            found[int(number)] = (text, _cost(number))
    return found


def _cost(number: str) -> int | None:
    try:
        cost: int | None = Money().deserialize(request.form.get(f"{COST}{number}", ""))
    except ValidationError as bad:
        sentence = str(bad.messages[0])
        raise Invalid(sentence, errors={f"{COST}{number}": [sentence]}) from None
    return cost


@pages.post("/orders/<int:key>/lines/<int:line>/drop")
@acts(lambda key, line: _show(key))
def drop_line(key: int, line: int) -> AnyResponse:
    """Take a part off a draft, or expect no more of it."""
    order_screen.drop_line(key, line, read_form(Lines)["version"])
    return to_thing("order", key)


@pages.post("/orders/<int:key>/place")
@acts(_show)
def place_order(key: int) -> AnyResponse:
    """Note that the order was sent."""
    typed = read_form(Place)
    placed = stock.place_order(
        key, typed["version"], expected=typed["expected"], reference=typed["reference"], by=caller().id
    )
    flash(f"Order {placed.number} is under way. It counts as stock to come from now on.", "good")
    return to_thing("order", key)


@pages.post("/orders/<int:key>/cancel")
@acts(_show)
def cancel_order(key: int) -> AnyResponse:
    """Expect nothing more of an order."""
    ended = stock.cancel_order(key, read_form(Lines)["version"])
    flash(f"Order {ended.number} is {ended.status}: nothing more is expected of it.", "good")
    return to_thing("order", key)


@pages.post("/orders/<int:key>/edit")
@acts(_show)
def edit_order(key: int) -> AnyResponse:
    """Change what is noted of an order."""
    typed = read_form(Edit)
    typed["shipping_minor"] = typed["shipping_minor"] or 0
    stock.edit_order(key, typed.pop("version"), **typed)
    flash("What is noted of the order is saved.", "good")
    return to_thing("order", key)


@pages.get("/orders/<int:key>/text")
def order_text(key: int) -> Response:
    """Give an order as plain text, to be sent by e-mail."""
    text = order_screen.as_text(key, settings().bench_name, settings().currency)
    return Response(text, content_type="text/plain; charset=utf-8")


@pages.get("/orders/<int:key>/lines.csv")
def order_csv(key: int) -> Response:
    """Give an order's lines as a table for a spreadsheet or a supplier's upload."""
    text = order_screen.as_csv(key, settings().currency)
    made = Response(text, content_type="text/csv; charset=utf-8")
    made.headers.set("Content-Disposition", "attachment", filename=f"order-{stock.order(key).number}.csv")
    return made


@pages.get("/orders/<int:key>/print")
def order_print(key: int) -> str:
    """Show an order as it is printed."""
    at = order_screen.at_order(key)
    return render_template("buying/order_print.html", at=at, order=at.order)
