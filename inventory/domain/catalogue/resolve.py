"""Which part or bin did somebody mean who typed a few characters, scanned one, or picked from a list?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from peewee import fn

from inventory.domain.catalogue.attributes import in_words
from inventory.domain.catalogue.parts import parts
from inventory.domain.common.code_lookup import scan
from inventory.domain.common.errors import Invalid, Refused
from inventory.domain.common.records import BinRecord, PartRecord, read
from inventory.store.tables import Bin, Job, Part, Piece

MOST_CHOICES = 12
MOST_LISTED = 400  # a longer list helps nobody: type words instead


def part_meant(text: str) -> PartRecord:
    """Return the one part that *text* means: its number (also as ``listed`` shows it), or words only it has.

    Raises Invalid with reason ``which_part`` and ``choices`` (parts) when it may be several or none.
    """
    typed = text.strip()[:500]
    number = typed.split(" · ")[0].strip()
    exact = Part.get_or_none(Part.number == number)
    if exact is not None:
        return read(PartRecord, exact)
    found = list(parts(find=typed, limit=MOST_CHOICES + 1).items) if typed else []
    if len(found) == 1:
        only: PartRecord = found[0]
        return only
    raise _which(typed, found)


def _which(typed: str, found: list[PartRecord]) -> Invalid:
    if not typed:
        sentence = "Say which part: type its number, or a few words of its name."
    elif not found:
        sentence = f"No part has {typed[:60]!r} in its name, number or attributes: type fewer words, or add the part."
    elif len(found) > MOST_CHOICES:
        sentence = f"More than {MOST_CHOICES} parts have that: add a word, such as the pitch or the voltage."
    else:
        sentence = "Several parts have that: choose one."
    return Invalid(sentence, reason="which_part", errors={"part": [sentence]}, choices=found[:MOST_CHOICES])


def listed() -> list[str]:
    """Return every part in use as a line to pick from, by number; none when there are too many to list."""
    found = Part.select().where(~Part.retired).order_by(Part.number).limit(MOST_LISTED + 1)
    lines = [" · ".join(filter(None, (p.number, p.name, in_words(p.kind, p.attributes)))) for p in found]
    return lines if len(lines) <= MOST_LISTED else []


def bin_meant(text: str) -> BinRecord:
    """Return the bin that *text* means: a scanned code or address, or what the bench calls it.

    Raises Invalid when it is another thing's code, or nothing of ours.
    """
    typed = text.strip()
    named = Bin.get_or_none(fn.LOWER(Bin.name) == typed.lower(), ~Bin.retired)
    if named is not None:
        return read(BinRecord, named)
    try:
        found = scan(typed)
    except Refused as refused:
        raise _no_bin(f"No bin is called {typed[:40]!r}: scan its label, or type its name.", refused.more) from None
    if found.what != "bin":
        raise _no_bin(f"That is the label of a {found.what}: scan the label of the bin.", {})
    return read(BinRecord, Bin.get_by_id(found.id))


def things_named(text: str) -> list[tuple[str, int]]:
    """Return what *text* means as (what, id): what a code is on; a bin or piece by its name, a job by its number; or
    a part's bins by its number.

    Raises Refused, as ``scan`` does, when it is none of them; Invalid for a part that has no bin.
    """
    typed = text.strip()
    named = Bin.get_or_none(fn.LOWER(Bin.name) == typed.lower(), ~Bin.retired)
    if named is not None:
        return [("bin", named.id)]
    numbered = Part.get_or_none(fn.UPPER(Part.number) == typed.upper())
    if numbered is None:
        return [_piece_or_job(typed) or _scanned(typed)]
    its = Bin.select().where(Bin.part == numbered, ~Bin.retired).order_by(Bin.name)
    if not its:
        raise _no_bin(f"Part {numbered.number} has no bin of its own: name the bin, or give a code.", {})
    return [("bin", one.id) for one in its]


def _piece_or_job(typed: str) -> tuple[str, int] | None:
    """Return the piece that is called so, else the job with that number; raise Invalid for several such pieces."""
    called = list(Piece.select().where(fn.LOWER(Piece.name) == typed.lower()).limit(2)) if typed else []
    if len(called) > 1:
        raise Invalid(f"Several pieces are called {typed}: give the code of the one you mean.", reason="several")
    if called:
        return "piece", called[0].id
    job = Job.get_or_none(Job.number == typed)
    return None if job is None else ("job", job.id)


def _scanned(typed: str) -> tuple[str, int]:
    found = scan(typed)
    return found.what, found.id


def _no_bin(sentence: str, more: Mapping[str, Any]) -> Invalid:
    close = more.get("did_you_mean", [])
    return Invalid(sentence, reason="which_bin", errors={"bin": [sentence]}, did_you_mean=close)
