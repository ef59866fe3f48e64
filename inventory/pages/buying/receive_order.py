"""Unpacking a whole parcel of an order at once."""

from __future__ import annotations

from typing import Any

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from inventory.domain.movements.bin_list import bin_names
from inventory.pages import pages
from inventory.pages.buying import receive_order_screen as domain
from inventory.pages.form_actions import flash_warnings, form_action, redirect_to
from inventory.pages.forms import DateField, Form, TextField, fields_by_id, load_texts
from inventory.web.access import current_person, require_role


class ReceivedLineForm(Form):
    """What came of one line."""

    amount = TextField()
    bin = TextField()
    best_before = DateField()


@pages.get("/orders/<int:key>/unpack")
@require_role("tech")
def receive_order_form(key: int) -> str:
    """Ask what of an order is in the parcel."""
    order, lines = domain.outstanding_lines(key)
    return render_template("buying/receive_order.html", order=order, lines=lines, bin_names=bin_names())


@pages.post("/orders/<int:key>/unpack")
@form_action(receive_order_form)
def receive_order(key: int) -> Response:
    """Put everything of an order that came into its bins, each as a new lot."""
    results = domain.receive_order(
        key,
        {line: domain.ReceivedLine(**_received_line(line)) for line in fields_by_id("amount-")},
        by=current_person().id,
    )
    flash_warnings(warning for receipt in results for warning in receipt.warnings)
    flash(f"{len(results)} {'lot is' if len(results) == 1 else 'lots are'} in: print labels below.", "good")
    return redirect_to("order", key)


def _received_line(line: int) -> dict[str, Any]:
    """Return what was typed for a line; raise Invalid naming its own fields."""
    return load_texts(
        ReceivedLineForm,
        {name: request.form.get(f"{name}-{line}", "") for name in ReceivedLineForm().fields},
        f"-{line}",
    )
