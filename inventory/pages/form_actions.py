"""Carrying out what a form asks: once, however often it is sent; a refusal is shown on the page it came from.

And the answers that several pages give: on to a thing's page, a table for a spreadsheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any, TypeVar

from flask import flash, g, make_response, redirect
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Conflict, DomainError, NotAllowed
from inventory.pages.context import thing_url
from inventory.web.idempotency import idempotent

# What `idempotent` refuses, in words for people who see no key. The page shown now has a fresh form.
_PAGE_REFUSALS = {
    "key_reused": Conflict(  # somebody went back to a form that had been sent, and changed it
        "That form was sent before, with something else in it. Look at what is here now, then send this one.",
        reason="sent_before",
    ),
    "under_way": Conflict(
        "That was sent already and is still being done: wait a moment, then look before you send it again.",
        reason="under_way",
    ),
    "cut_off": Conflict(
        "The service stopped while that was being done, so nobody knows what came of it: look at the printer, and "
        "press again if nothing came out.",
        reason="cut_off",
    ),
}
View = TypeVar("View", bound=Callable[..., Any])


def form_action(
    render: Callable[..., str], *, external_effect: bool = False
) -> Callable[[View], Callable[..., Response]]:
    """Let a view act once for each form. Refused, it changes nothing, and *render* renders the page again.

    *render* takes what the address holds, as the view does; templates find the refusal in ``refused`` and what
    was typed through ``form_state``. *external_effect*: see ``idempotent``.
    """

    def decorate(view: View) -> Callable[..., Response]:
        guarded = idempotent(view, external_effect=external_effect)

        @wraps(view)
        def act(**where: Any) -> Response:
            try:
                return make_response(guarded(**where))
            except NotAllowed:
                raise
            except DomainError as refused:
                g.refused = _PAGE_REFUSALS.get(refused.reason, refused)
                return make_response(render(**where), g.refused.status)

        return act

    return decorate


def redirect_to(what: str, key: int, entry_id: int | None = None) -> Response:
    """Go on to a thing's page; *entry_id* is the entry of the ledger that its band confirms."""
    return redirect(thing_url(what, key, **({} if entry_id is None else {"done": entry_id})), 303)


def flash_warnings(warnings: Iterable[str]) -> None:
    """Show warnings on the next page, each once."""
    for warning in dict.fromkeys(warnings):
        flash(warning, "warn")
