"""Scanning: what does a scanned, pasted or typed code stand for?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from inventory.domain.common.errors import Invalid, NotFound
from inventory.domain.common.records import ResolvedCode
from inventory.store.tables import Bin, Job, Lot, Order, Piece
from shared.codes import BadCode, codes_one_typo_away, format_code, parse_code

_TABLES: dict[str, Any] = {"bin": Bin, "lot": Lot, "piece": Piece, "job": Job, "order": Order}


def resolve_code(text: str) -> ResolvedCode:
    """Find what a code (bare, or in an address of any host) stands for.

    Raises Invalid for something that is no code and NotFound for a code nobody has; both carry
    ``did_you_mean``, the known codes that one slip of the finger away.
    """
    if not isinstance(text, str) or not text.strip():
        raise Invalid("Nothing was scanned: scan a label, or type the code under it.", reason="empty_scan")
    try:
        code = parse_code(text[:2000])
    except BadCode as bad:
        raise Invalid(
            _with_suggestion(str(bad), close := similar_codes(text)), reason="bad_code", did_you_mean=close
        ) from None
    found = _find_by_code(code.kind, code.text)
    if found is None:
        close = similar_codes(code.text)
        raise NotFound(
            _with_suggestion(f"No {code.kind} here has the code {format_code(code.text)}.", close),
            reason="unknown_code",
            did_you_mean=close,
        )
    return found


def _find_by_code(kind: str, code: str) -> ResolvedCode | None:
    table = _TABLES[kind]
    found = table.get_or_none(table.code == code)
    return ResolvedCode(kind, found.id, code) if found else None


def similar_codes(text: str) -> list[str]:
    """Return the codes of real things that one slip turns into *text*, at most five."""
    candidates = list(codes_one_typo_away(text[:40]))
    by_kind: dict[str, list[str]] = {}
    for code in candidates:
        by_kind.setdefault(parse_code(code).kind, []).append(code)
    found: list[str] = []
    for kind, codes in by_kind.items():
        table = _TABLES[kind]
        found += [one.code for one in table.select(table.code).where(table.code.in_(codes)).limit(5)]
    return found[:5]


def _with_suggestion(sentence: str, close: list[str]) -> str:
    if not close:
        return f"{sentence} Check it against the label, or search by name."
    return f"{sentence} Did you mean {' or '.join(format_code(code) for code in close)}?"


@dataclass(frozen=True)
class ThingDescription:
    """Something that was scanned, as people call it."""

    what: str
    id: int
    title: str
    detail: str


def describe_things(things: Iterable[tuple[str, int]]) -> list[ThingDescription]:
    """Say what scanned *things* (kind and id) are called; those that are no more are left out."""
    found = []
    for what, key in things:
        one = _TABLES[what].get_or_none(_TABLES[what].id == key) if what in _TABLES else None
        if one is not None:
            found.append(ThingDescription(what, key, *_title_and_detail(what, one)))
    return found


def describe_codes(codes: Iterable[str]) -> dict[str, ThingDescription]:
    """Say what each of some known *codes* is on."""
    found = {code: resolve_code(code) for code in codes}
    return {code: describe_things([(one.what, one.id)])[0] for code, one in found.items()}


def _title_and_detail(what: str, one: Any) -> tuple[str, str]:
    if what == "bin":
        return f"Bin {one.name}" if one.name else "New bin label", one.part.name if one.part_id else ""
    if what == "job":
        return f"Job {one.number}", one.symptom
    if what == "order":
        return f"Order {one.number}", one.supplier.name
    return (
        one.name if what == "piece" and one.name else f"{what.capitalize()} {format_code(one.code)}"
    ), one.part.name
