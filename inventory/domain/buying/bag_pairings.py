"""What was learned from bags: this number means that part. Asked once, kept until somebody says otherwise."""

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
        Sent("The number.", edit=False, minimum=1, maximum=MAX_NUMBER_LENGTH, required=True, example="NG-558-ND"),
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
    """Write a number from a bag in the way in which numbers are compared: upper case, single spaces."""
    return " ".join(number.upper().split())


def add_pairing(number: str, part_id: int, *, supplier_id: int | None = None, by: int | None = None) -> PairingRecord:
    """Learn that a number on a bag means a part; what it meant before is forgotten."""
    kept = normalize_number(clean_text(number, "number", MAX_NUMBER_LENGTH, required=True))
    with transaction():
        get_row(Part, part_id, "part")
        if supplier_id is not None:
            get_row(Supplier, supplier_id, "supplier")
        learn_pairings([kept], part_id, supplier_id=supplier_id, by=by)
        return pairing(BagPairing.get(BagPairing.number == kept).id)


def learn_pairings(
    numbers: Iterable[str], part_id: int, *, supplier_id: int | None, by: int | None, at: datetime | None = None
) -> None:
    """Learn that each of some *folded* numbers means a part. Call it inside the transaction of what taught it.

    *at* is when (None: now); by it what one receipt taught is known again when that is undone.
    """
    for number in numbers:
        given = {"part": part_id, "supplier": supplier_id, "person": by, "at": at or clock.now()}
        BagPairing.insert(number=number, **given).on_conflict(
            conflict_target=[BagPairing.number],
            update={getattr(BagPairing, name): value for name, value in given.items()},
        ).execute()


def delete_pairing(pairing_id: int) -> None:
    """Forget what a number means: the next bag that carries it is asked about."""
    with transaction():
        get_row(BagPairing, pairing_id, "pairing")
        BagPairing.delete().where(BagPairing.id == pairing_id).execute()


def pairings_learned_at(numbers: Iterable[str], part_id: int, at: datetime) -> list[Any]:
    """Return the rows of those *folded* numbers that were learned to mean a part at just that moment."""
    known = (BagPairing.number << list(numbers)) & (BagPairing.part == part_id) & (BagPairing.at == at)
    return list(BagPairing.select().where(known).order_by(BagPairing.number))


def pairing(pairing_id: int) -> PairingRecord:
    """Return one pairing."""
    get_row(BagPairing, pairing_id, "pairing")
    return _record(_joined().where(BagPairing.id == pairing_id).get())


def pairings(
    *, part_id: int | None = None, number: str = "", after: str | None = None, limit: int = 50
) -> ResultPage:
    """Return what was learned, in the order of the numbers."""
    query = _joined()
    if part_id is not None:
        query = query.where(BagPairing.part == part_id)
    if number.strip():
        query = query.where(BagPairing.number == normalize_number(number))
    return paginate(query, BagPairing.number, after, limit, _record)


def find_pairings(numbers: Iterable[str]) -> list[PairingRecord]:
    """Return what was learned of any of some numbers."""
    return [
        _record(one) for one in _joined().where(BagPairing.number << [normalize_number(number) for number in numbers])
    ]


def _joined() -> Any:
    query = BagPairing.select(BagPairing, Part, Supplier, Person).join(Part).switch(BagPairing)
    return query.join(Supplier, JOIN.LEFT_OUTER).switch(BagPairing).join(Person, JOIN.LEFT_OUTER)


def _record(found: Any) -> PairingRecord:
    return from_row(
        PairingRecord, found, part_number=found.part.number, part_name=found.part.name,
        supplier=found.supplier.name if found.supplier_id else "",
        person=found.person.shown_as if found.person_id else "",
    )  # fmt: skip
