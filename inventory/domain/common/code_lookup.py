"""Looks up what a scanned, pasted or typed code is on."""

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
    """Return the thing that a code (bare, or in an address of any host) is on.

    Raises Invalid for text that is no code and NotFound for an unknown code; both carry
    ``did_you_mean``, the known codes one typo away.
    """
    if not isinstance(text, str) or not text.strip():
        raise Invalid("Nothing was scanned: scan a label, or type the code under it.", reason="empty_scan")
    try:
        code = parse_code(text[:2000])
    except BadCode as bad:
        raise Invalid(
            _with_suggestion(str(bad), close := similar_codes(text)), reason="bad_code", did_you_mean=close
        ) from None
    resolved = _find_by_code(code.kind, code.text)
    if resolved is None:
        close = similar_codes(code.text)
        raise NotFound(
            _with_suggestion(f"No {code.kind} here has the code {format_code(code.text)}.", close),
            reason="unknown_code",
            did_you_mean=close,
        )
    return resolved


def _find_by_code(kind: str, code: str) -> ResolvedCode | None:
    table = _TABLES[kind]
    row = table.get_or_none(table.code == code)
    return ResolvedCode(kind, row.id, code) if row else None


def similar_codes(text: str) -> list[str]:
    """Return the known codes one typo away from *text*, at most five."""
    candidates = list(codes_one_typo_away(text[:40]))
    by_kind: dict[str, list[str]] = {}
    for code in candidates:
        by_kind.setdefault(parse_code(code).kind, []).append(code)
    known: list[str] = []
    for kind, codes in by_kind.items():
        table = _TABLES[kind]
        known += [row.code for row in table.select(table.code).where(table.code.in_(codes)).limit(5)]
    return known[:5]


def _with_suggestion(sentence: str, close: list[str]) -> str:
    if not close:
        return f"{sentence} Check it against the label, or search by name."
    return f"{sentence} Did you mean {' or '.join(format_code(code) for code in close)}?"


@dataclass(frozen=True)
class ThingDescription:
    """A scanned thing in words."""

    what: str
    id: int
    title: str
    detail: str


def describe_things(things: Iterable[tuple[str, int]]) -> list[ThingDescription]:
    """Describe *things* (kind and id); those that no longer exist are left out."""
    descriptions = []
    for what, key in things:
        row = _TABLES[what].get_or_none(_TABLES[what].id == key) if what in _TABLES else None
        if row is not None:
            descriptions.append(ThingDescription(what, key, *_title_and_detail(what, row)))
    return descriptions


def describe_codes(codes: Iterable[str]) -> dict[str, ThingDescription]:
    """Describe what each of some known *codes* is on."""
    resolved = {code: resolve_code(code) for code in codes}
    return {code: describe_things([(thing.what, thing.id)])[0] for code, thing in resolved.items()}


def _title_and_detail(what: str, row: Any) -> tuple[str, str]:
    if what == "bin":
        return f"Bin {row.name}" if row.name else "New bin label", row.part.name if row.part_id else ""
    if what == "job":
        return f"Job {row.number}", row.symptom
    if what == "order":
        return f"Order {row.number}", row.supplier.name
    return (
        row.name if what == "piece" and row.name else f"{what.capitalize()} {format_code(row.code)}"
    ), row.part.name
