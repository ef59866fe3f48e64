"""Numbers on suppliers' bags and the part that each means: learned once, kept until corrected."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from peewee import JOIN

from inventory.domain.common import clock
from inventory.domain.common.described import Sent
from inventory.domain.common.paging import paginate
from inventory.domain.common.records import ResultPage, from_row
from inventory.domain.common.validation import clean_text, get_row
from inventory.store.connection import transaction
from inventory.store.tables import BagPairing, Part, Person, Supplier

MAX_NUMBER_LENGTH = 120


@dataclass(frozen=True)
class PairingRecord:
    """A number that means a part; ``supplier`` delivered the bag that it was learned from (empty: not noted)."""

    id: Annotated[int, "Its id."]
    number: Annotated[
        str,
        "The number, in upper case.",
        Sent("The number.", edit=False, minimum=1, maximum=MAX_NUMBER_LENGTH, required=True, example="NG-558"),
    ]
    part_id: Annotated[int, "The part that it means.", Sent("The part.", edit=False, required=True)]
    part_number: Annotated[str, "The part's own number."]
    part_name: Annotated[str, "What the part is called."]
    supplier_id: Annotated[
        int | None,
        "Who delivered the bag that it was learned from.",
        Sent("The supplier that prints it.", edit=False),
    ]
    supplier: Annotated[str, "The supplier's name."]
    person: Annotated[str, "Who said so."]
    at: Annotated[datetime, "When it was said last."]


def normalize_number(number: str) -> str:
    """Return a number from a bag in the form that numbers are compared in: upper case, single spaces."""
    return " ".join(number.upper().split())


def add_pairing(number: str, part_id: int, *, supplier_id: int | None = None, by: int | None = None) -> PairingRecord:
    """Learn that a number on a bag means a part, in place of what it meant before."""
    normalized = normalize_number(clean_text(number, "number", MAX_NUMBER_LENGTH, required=True))
    with transaction():
        get_row(Part, part_id, "part")
        if supplier_id is not None:
            get_row(Supplier, supplier_id, "supplier")
        learn_pairings([normalized], part_id, supplier_id=supplier_id, by=by)
        return pairing(BagPairing.get(BagPairing.number == normalized).id)


def learn_pairings(
    numbers: Iterable[str], part_id: int, *, supplier_id: int | None, by: int | None, at: datetime | None = None
) -> None:
    """Learn that each of some normalized *numbers* means a part. Call it inside the transaction of the receipt.

    *at* is when they were learned (None: now), by which undoing a receipt finds the pairings it taught.
    """
    for number in numbers:
        columns = {"part": part_id, "supplier": supplier_id, "person": by, "at": at or clock.now()}
        BagPairing.insert(number=number, **columns).on_conflict(
            conflict_target=[BagPairing.number],
            update={getattr(BagPairing, name): value for name, value in columns.items()},
        ).execute()


def delete_pairing(pairing_id: int) -> None:
    """Delete a pairing: the next bag with its number is asked about."""
    with transaction():
        get_row(BagPairing, pairing_id, "pairing")
        BagPairing.delete().where(BagPairing.id == pairing_id).execute()


def pairings_learned_at(numbers: Iterable[str], part_id: int, at: datetime) -> list[Any]:
    """Return the rows of those normalized *numbers* that were learned to mean a part at exactly that moment."""
    condition = (BagPairing.number << list(numbers)) & (BagPairing.part == part_id) & (BagPairing.at == at)
    return list(BagPairing.select().where(condition).order_by(BagPairing.number))


def pairing(pairing_id: int) -> PairingRecord:
    """Return one pairing."""
    get_row(BagPairing, pairing_id, "pairing")
    return _record(_joined().where(BagPairing.id == pairing_id).get())


def pairings(
    *, part_id: int | None = None, number: str = "", after: str | None = None, limit: int = 50
) -> ResultPage:
    """Return pairings, ordered by number."""
    query = _joined()
    if part_id is not None:
        query = query.where(BagPairing.part == part_id)
    if number.strip():
        query = query.where(BagPairing.number == normalize_number(number))
    return paginate(query, BagPairing.number, after, limit, _record)


def find_pairings(numbers: Iterable[str]) -> list[PairingRecord]:
    """Return the pairings of any of some numbers."""
    return [
        _record(row) for row in _joined().where(BagPairing.number << [normalize_number(number) for number in numbers])
    ]


def _joined() -> Any:
    query = BagPairing.select(BagPairing, Part, Supplier, Person).join(Part).switch(BagPairing)
    return query.join(Supplier, JOIN.LEFT_OUTER).switch(BagPairing).join(Person, JOIN.LEFT_OUTER)


def _record(row: Any) -> PairingRecord:
    return from_row(
        PairingRecord, row, part_number=row.part.number, part_name=row.part.name,
        supplier=row.supplier.name if row.supplier_id else "",
        person=row.person.shown_as if row.person_id else "",
    )  # fmt: skip
