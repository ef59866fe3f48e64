"""Unpacking a whole parcel of an order at once."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from inventory.pages import pages
from inventory.pages.buying import receive_order_screen as stock
from inventory.pages.form_actions import acts, to_thing
from inventory.pages.forms import Day, Form, Text, read_plain
from inventory.pages.movements.adjustments_screen import bin_names
from inventory.web.access import caller, for_role


class CameIn(Form):
    """What came of one line."""

    amount = Text()
    bin = Text()
    best_before = Day()


def _show(key: int) -> str:
    found, lines = stock.awaited(key)
    return render_template("buying/receive_order.html", order=found, lines=lines, bin_names=bin_names())


@pages.get("/orders/<int:key>/unpack")
@for_role("tech")
def unpack_order(key: int) -> str:
    """Ask what of an order is in the parcel."""
    return _show(key)


@pages.post("/orders/<int:key>/unpack")
@acts(_show)
def unpack(key: int) -> Response:
    """Put everything of an order that came into its bins, each as a new lot."""
    done = stock.unpack(key, {line: stock.Came(**_came(line)) for line in _lines()}, by=caller().id)
    for warning in dict.fromkeys(one for receipt in done for one in receipt.warnings):
        flash(warning, "warn")
    flash(f"{len(done)} {'lot is' if len(done) == 1 else 'lots are'} in: print labels below.", "good")
    return to_thing("order", key)


def _lines() -> list[int]:
    endings = [name.removeprefix("amount-") for name in request.form if name.startswith("amount-")]
    return [int(one) for one in endings if one.isascii() and one.isdigit() and len(one) < 10]


def _came(line: int) -> dict[str, Any]:
    """Return what was typed for a line; raise Invalid naming its own fields."""
    return read_plain(CameIn, {name: request.form.get(f"{name}-{line}", "") for name in CameIn().fields}, f"-{line}")
