"""Carrying out what a form asks: once, however often it is sent; a refusal is shown on the page it came from."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from flask import g, make_response, redirect
from werkzeug.wrappers import Response

from inventory.domain.common.errors import Conflict, NotAllowed, Refused
from inventory.pages.context import thing_url
from inventory.web.idempotency import once

# What `once` refuses, in words for people who see no key. The page shown now has a fresh form.
_SENT_BEFORE = {
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


def acts(show: Callable[..., str], *, outside: bool = False) -> Callable[[View], Callable[..., Response]]:
    """Let a view act once for each form. Refused, it changes nothing, and *show* renders the page again.

    *show* takes what the address holds, as the view does; templates find the refusal in ``refused`` and what
    was typed through ``form_state``. *outside*: see ``once``.
    """

    def decorate(view: View) -> Callable[..., Response]:
        guarded = once(view, outside=outside)

        @wraps(view)
        def act(**where: Any) -> Response:
            try:
                return make_response(guarded(**where))
            except NotAllowed:
                raise
            except Refused as refused:
                g.refused = _SENT_BEFORE.get(refused.reason, refused)
                return make_response(show(**where), g.refused.status)

        return act

    return decorate


def to_thing(what: str, key: int, done: int | None = None) -> Response:
    """Go on to a thing's page; *done* is the entry of the ledger that its band confirms."""
    return redirect(thing_url(what, key, **({} if done is None else {"done": done})), 303)
