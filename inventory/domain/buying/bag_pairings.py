"""What was learned from bags: this number means that part. Asked once, kept until somebody says otherwise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.common.paging import page_of
from inventory.domain.common.records import Page, read
from inventory.domain.common.validation import clean, row
from inventory.store.connection import writing
from inventory.store.tables import Pairing, Part, Person, Supplier

LONGEST = 120


@dataclass(frozen=True)
class PairingRecord:
    """A number that means a part; ``supplier`` delivered the bag that it was learned from (empty: not noted)."""

    id: int
    number: str
    part_id: int
    part_number: str
    part_name: str
    supplier_id: int | None
    supplier: str
    person: str
    at: datetime


def folded(number: str) -> str:
    """Write a number from a bag in the way in which numbers are compared: upper case, single spaces."""
    return " ".join(number.upper().split())


def pair(number: str, part_id: int, *, supplier_id: int | None = None, by: int | None = None) -> PairingRecord:
    """Learn that a number on a bag means a part; what it meant before is forgotten."""
    kept = folded(clean(number, "number", LONGEST, needed=True))
    with writing():
        row(Part, part_id, "part")
        if supplier_id is not None:
            row(Supplier, supplier_id, "supplier")
        learn([kept], part_id, supplier_id=supplier_id, by=by)
        return pairing(Pairing.get(Pairing.number == kept).id)


def learn(
    numbers: Iterable[str], part_id: int, *, supplier_id: int | None, by: int | None, at: datetime | None = None
) -> None:
    """Learn that each of some *folded* numbers means a part. Call it inside the transaction of what taught it.

    *at* is when (None: now); by it what one receipt taught is known again when that is undone.
    """
    for number in numbers:
        given = {"part": part_id, "supplier": supplier_id, "person": by, "at": at or clock.now()}
        Pairing.insert(number=number, **given).on_conflict(
            conflict_target=[Pairing.number], update={getattr(Pairing, name): value for name, value in given.items()}
        ).execute()


def forget(pairing_id: int) -> None:
    """Forget what a number means: the next bag that carries it is asked about."""
    with writing():
        row(Pairing, pairing_id, "pairing")
        Pairing.delete().where(Pairing.id == pairing_id).execute()


def taught(numbers: Iterable[str], part_id: int, at: datetime) -> list[Any]:
    """Return the rows of those *folded* numbers that were learned to mean a part at just that moment."""
    known = (Pairing.number << list(numbers)) & (Pairing.part == part_id) & (Pairing.at == at)
    return list(Pairing.select().where(known).order_by(Pairing.number))


def pairing(pairing_id: int) -> PairingRecord:
    """Return one pairing."""
    row(Pairing, pairing_id, "pairing")
    return _record(_joined().where(Pairing.id == pairing_id).get())


def pairings(*, part_id: int | None = None, number: str = "", after: str | None = None, limit: int = 50) -> Page:
    """Return what was learned, in the order of the numbers."""
    query = _joined()
    if part_id is not None:
        query = query.where(Pairing.part == part_id)
    if number.strip():
        query = query.where(Pairing.number == folded(number))
    return page_of(query, Pairing.number, after, limit, _record)


def meaning_of(numbers: Iterable[str]) -> list[PairingRecord]:
    """Return what was learned of any of some numbers."""
    return [_record(one) for one in _joined().where(Pairing.number << [folded(number) for number in numbers])]


def _joined() -> Any:
    query = Pairing.select(Pairing, Part, Supplier, Person).join(Part).switch(Pairing)
    return query.join(Supplier, JOIN.LEFT_OUTER).switch(Pairing).join(Person, JOIN.LEFT_OUTER)


def _record(found: Any) -> PairingRecord:
    return read(
        PairingRecord, found, part_number=found.part.number, part_name=found.part.name,
        supplier=found.supplier.name if found.supplier_id else "",
        person=found.person.shown_as if found.person_id else "",
    )  # fmt: skip
