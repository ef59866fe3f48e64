"""Resolves typed, scanned or picked text to a part, a bin, or things to label."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from peewee import fn

from inventory.domain.catalogue.attributes import attributes_text
from inventory.domain.catalogue.parts import parts
from inventory.domain.common.code_lookup import resolve_code
from inventory.domain.common.errors import DomainError, Invalid
from inventory.domain.common.records import BinRecord, PartRecord, from_row
from inventory.store.tables import Bin, Job, Part, Piece

MAX_CHOICES = 12
MAX_LISTED = 400  # a longer list helps nobody: type words instead


def resolve_part(text: str) -> PartRecord:
    """Return the one part that *text* means: its number (also as in ``part_choices``), or words only it has.

    Raises Invalid with reason ``which_part`` and ``choices`` (parts) when it may be several or none.
    """
    query = text.strip()[:500]
    number = query.split(" · ")[0].strip()
    exact = Part.get_or_none(Part.number == number)
    if exact is not None:
        return from_row(PartRecord, exact)
    matches = list(parts(find=query, limit=MAX_CHOICES + 1).items) if query else []
    if len(matches) == 1:
        only: PartRecord = matches[0]
        return only
    raise _unresolved_part(query, matches)


def _unresolved_part(query: str, matches: list[PartRecord]) -> Invalid:
    if not query:
        sentence = "Say which part: type its number, or a few words of its name."
    elif not matches:
        sentence = f"No part has {query[:60]!r} in its name, number or attributes: type fewer words, or add the part."
    elif len(matches) > MAX_CHOICES:
        sentence = f"More than {MAX_CHOICES} parts have that: add a word, such as the pitch or the voltage."
    else:
        sentence = "Several parts have that: choose one."
    return Invalid(sentence, reason="which_part", errors={"part": [sentence]}, choices=matches[:MAX_CHOICES])


def part_choices() -> list[str]:
    """Return every part in use as a line to pick from, by number; empty when there are more than MAX_LISTED."""
    rows = Part.select().where(~Part.retired).order_by(Part.number).limit(MAX_LISTED + 1)
    lines = [
        " · ".join(filter(None, (part.number, part.name, attributes_text(part.kind, part.attributes))))
        for part in rows
    ]
    return lines if len(lines) <= MAX_LISTED else []


def resolve_bin(text: str) -> BinRecord:
    """Return the bin that *text* means: a scanned code or address, or what the bench calls it.

    Raises Invalid when it is another thing's code, or nothing of ours.
    """
    query = text.strip()
    bin_ = Bin.get_or_none(fn.LOWER(Bin.name) == query.lower(), ~Bin.retired)
    if bin_ is not None:
        return from_row(BinRecord, bin_)
    try:
        resolved = resolve_code(query)
    except DomainError as refused:
        raise _unresolved_bin(
            f"No bin is called {query[:40]!r}: scan its label, or type its name.", refused.more
        ) from None
    if resolved.what != "bin":
        raise _unresolved_bin(f"That is the label of a {resolved.what}: scan the label of the bin.", {})
    return from_row(BinRecord, Bin.get_by_id(resolved.id))


def resolve_things(text: str) -> list[tuple[str, int]]:
    """Return what *text* means as (kind, id): the thing with that code; the bin or piece with that name, the job with
    that number; or the bins of the part with that number.

    Raises DomainError, as ``resolve_code`` does, when it is none of them; Invalid for a part that has no bin.
    """
    query = text.strip()
    bin_ = Bin.get_or_none(fn.LOWER(Bin.name) == query.lower(), ~Bin.retired)
    if bin_ is not None:
        return [("bin", bin_.id)]
    part = Part.get_or_none(fn.UPPER(Part.number) == query.upper())
    if part is None:
        return [_find_piece_or_job(query) or _find_by_code(query)]
    bins = Bin.select().where(Bin.part == part, ~Bin.retired).order_by(Bin.name)
    if not bins:
        raise _unresolved_bin(f"Part {part.number} has no bin of its own: name the bin, or give a code.", {})
    return [("bin", row.id) for row in bins]


def _find_piece_or_job(query: str) -> tuple[str, int] | None:
    """Return the piece with that name, else the job with that number; raise Invalid for several such pieces."""
    pieces = list(Piece.select().where(fn.LOWER(Piece.name) == query.lower()).limit(2)) if query else []
    if len(pieces) > 1:
        raise Invalid(f"Several pieces are called {query}: give the code of the one you mean.", reason="several")
    if pieces:
        return "piece", pieces[0].id
    job = Job.get_or_none(Job.number == query)
    return None if job is None else ("job", job.id)


def _find_by_code(text: str) -> tuple[str, int]:
    resolved = resolve_code(text)
    return resolved.what, resolved.id


def _unresolved_bin(sentence: str, more: Mapping[str, Any]) -> Invalid:
    close = more.get("did_you_mean", [])
    return Invalid(sentence, reason="which_bin", errors={"bin": [sentence]}, did_you_mean=close)
