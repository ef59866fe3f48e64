"""Why something was not done. Each refusal is a sentence that says what to do next.

Refused
 +- NotFound        there is no such thing
 +- NotAllowed      this person may not
 +- Conflict        the bench is not in a state for it (none left, job closed, lot on hold)
 +- Invalid         what was typed cannot be right
 +- Stale           somebody else changed it in the meantime
 +- Busy            too much of the kind is under way: again in a moment
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


class Refused(Exception):
    """A request that was understood and not carried out; nothing was changed."""

    status = 409
    title = "Not done"

    def __init__(self, sentence: str, *, reason: str = "refused", **more: Any) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.reason = reason  # a short fixed word for programs
        self.more: Mapping[str, Any] = more


class NotFound(Refused):
    """There is no such thing."""

    status = 404
    title = "Not found"

    def __init__(self, sentence: str, *, reason: str = "not_found", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class NotAllowed(Refused):
    """This person may not do it."""

    status = 403
    title = "Not allowed"

    def __init__(self, sentence: str, *, reason: str = "not_allowed", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class Conflict(Refused):
    """The bench is not in a state for it."""


class Invalid(Refused):
    """What was given cannot be right. ``errors`` names fields and what is wrong with each."""

    status = 422
    title = "Cannot be right"

    def __init__(
        self, sentence: str, *, reason: str = "invalid", errors: Mapping[str, Any] | None = None, **more: Any
    ) -> None:
        super().__init__(sentence, reason=reason, **more)
        self.errors = dict(errors or {})


def bad_field(name: str, sentence: str) -> Invalid:
    """Make the refusal of what one field was given."""
    return Invalid(sentence, errors={name: [sentence]})


class Stale(Refused):
    """Somebody else changed it since it was read."""

    status = 412
    title = "Changed meanwhile"

    def __init__(self, sentence: str, *, reason: str = "stale", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class Busy(Refused):
    """Too much of the kind is under way; the same is taken again in a moment."""

    status = 503
    title = "Busy"

    def __init__(self, sentence: str, *, reason: str = "busy", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)
