"""Errors of the domain. Each carries a sentence that says what to do next.

DomainError
 +- NotFound        there is no such thing
 +- NotAllowed      this person may not
 +- Conflict        the state of the bench does not allow it (none left, job closed, lot on hold)
 +- Invalid         the input cannot be right
 +- Stale           somebody else changed it in the meantime
 +- Busy            too many of the kind are in progress: retry in a moment
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


class DomainError(Exception):
    """A request that was understood and not carried out; nothing was changed."""

    status = 409
    title = "Not done"

    def __init__(self, sentence: str, *, reason: str = "refused", **more: Any) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.reason = reason  # a short fixed word for programs
        self.more: Mapping[str, Any] = more


class NotFound(DomainError):
    """There is no such thing."""

    status = 404
    title = "Not found"

    def __init__(self, sentence: str, *, reason: str = "not_found", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class NotAllowed(DomainError):
    """This person may not do it."""

    status = 403
    title = "Not allowed"

    def __init__(self, sentence: str, *, reason: str = "not_allowed", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class Conflict(DomainError):
    """The state of the bench does not allow it."""


class Invalid(DomainError):
    """The input cannot be right. ``errors`` holds by field what is wrong with it."""

    status = 422
    title = "Cannot be right"

    def __init__(
        self, sentence: str, *, reason: str = "invalid", errors: Mapping[str, Any] | None = None, **more: Any
    ) -> None:
        super().__init__(sentence, reason=reason, **more)
        self.errors = dict(errors or {})


def invalid_field(name: str, sentence: str) -> Invalid:
    """Return an Invalid error about one field."""
    return Invalid(sentence, errors={name: [sentence]})


class Stale(DomainError):
    """It was changed by somebody else since it was read."""

    status = 412
    title = "Changed meanwhile"

    def __init__(self, sentence: str, *, reason: str = "stale", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)


class Busy(DomainError):
    """Too many of the kind are in progress; retry in a moment."""

    status = 503
    title = "Busy"

    def __init__(self, sentence: str, *, reason: str = "busy", **more: Any) -> None:
        super().__init__(sentence, reason=reason, **more)
