"""Descriptions of record fields, as plain data: what a field holds, its limits, and whether programs may send it.

A field is described in its type: ``name: Annotated[str, "What it is called.", Sent(maximum=60)]``. The text alone is
enough for most; ``About`` adds facts about what is answered, ``Sent`` those about what may be sent. A property that
is answered is described by its docstring.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypedDict, Unpack, get_args, get_type_hints


class Facts(TypedDict, total=False):
    """What is known of a field besides its type."""

    minimum: float | None  # smallest number (None: any), shortest text or list
    maximum: float | None  # greatest number (None: any), longest text or list
    choices: Sequence[str]
    example: Any
    default: Any  # what is taken when it is not sent
    required: bool  # when it is added
    nullable: bool  # where the type does not say so
    each: str  # what one item of a list is


class About:
    """The description of a field, and what is known of its answered values."""

    def __init__(self, text: str = "", **facts: Unpack[Facts]) -> None:
        self.text = text
        self.facts = facts


class Sent(About):
    """That a field may be sent, and with what limits; *text* says it otherwise than the description does."""

    def __init__(self, text: str = "", *, add: bool = True, edit: bool = True, **facts: Unpack[Facts]) -> None:
        super().__init__(text, **facts)
        self.add = add
        self.edit = edit


def chance(text: str, **facts: Unpack[Facts]) -> About:
    """Describe a share or a probability, from 0 to 1."""
    facts.setdefault("minimum", 0.0)
    facts.setdefault("maximum", 1.0)
    return About(text, **facts)


def sent_fields(record: type) -> dict[str, Sent]:
    """Return what may be sent of a record's fields, by name."""
    notes = {name: get_args(kind)[1:] for name, kind in get_type_hints(record, include_extras=True).items()}
    return {name: note for name, found in notes.items() for note in found if isinstance(note, Sent)}


def text_limits(record: type, *, leave_out: Sequence[str] = ()) -> dict[str, int]:
    """Return the most characters that each text of a record may have when it is sent, by name."""
    kinds = get_type_hints(record)
    limits = {name: sent.facts.get("maximum") for name, sent in sent_fields(record).items() if kinds[name] is str}
    return {name: int(most) for name, most in limits.items() if most is not None and name not in leave_out}
