"""Reads the data files of the demo bench. One class a file; the files are plain CSV for people to edit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

DATA_FOLDER = Path(__file__).parent / "data"


def read_rows(name: str) -> list[dict[str, str]]:
    """Return the lines of ``data/<name>.csv`` by column name."""
    with (DATA_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def parse_pairs(text: str) -> dict[str, str]:
    """Read "pitch_mm=2; ways=4" into a dictionary."""
    return dict(pair.strip().split("=", 1) for pair in text.split(";") if pair.strip())


@dataclass(frozen=True)
class PersonRow:
    """A person of the demo bench. The passphrase is public: it guards a demo, nothing else."""

    name: str
    shown_as: str
    role: str
    passphrase: str


@dataclass(frozen=True)
class SupplierRow:
    """A supplier: what it states, and the days its parcels really take (fastest, usual, slowest)."""

    key: str
    name: str
    lead_days: int
    shipping_minor: int
    email: str
    note: str
    days: tuple[int, int, int]


@dataclass(frozen=True)
class ModelRow:
    """A model of device, and its share of the jobs."""

    key: str
    name: str
    share: int


@dataclass(frozen=True)
class PartRow:
    """A part, as catalogued on the first day."""

    number: str
    name: str
    kind: str
    kept: str
    unit: str
    maker: str
    maker_number: str
    bin: str
    attributes: dict[str, str]
    fits: tuple[str, ...]
    rated_matings: int | None
    note: str


@dataclass(frozen=True)
class OfferRow:
    """What a supplier sells a part for."""

    part: str
    supplier: str
    supplier_number: str
    pack: int
    minimum: int
    price_minor: int
    breaks: tuple[tuple[int, int], ...]
    preferred: bool


@dataclass(frozen=True)
class CauseRow:
    """One thing that can be wrong behind a symptom of a model, and what its repair takes."""

    model: str
    symptom: str
    suspect: str
    weight: int
    part: str
    pieces: tuple[int, ...]  # one of these, all as likely
    also: tuple[tuple[str, int], ...]
    found: str

    @property
    def usual_pieces(self) -> float:
        """How many of the part a repair takes on average."""
        return sum(self.pieces) / len(self.pieces)


@dataclass(frozen=True)
class BinRow:
    """A place with a label."""

    name: str
    walk: int
    mixed: bool
    note: str


@dataclass(frozen=True)
class DatedLotRow:
    """A consumable with a date; days count from the day of loading."""

    part: str
    received_days_ago: int
    best_before_in_days: int
    quantity: int
    left_now: int


@dataclass(frozen=True)
class SpecialOrderRow:
    """A part catalogued and ordered for one job."""

    number: str
    name: str
    kind: str
    attributes: dict[str, str]
    model: str
    days_ago: int
    symptom: str
    suspect: str
    found: str
    quantity: int
    supplier: str
    price_minor: int


def people() -> list[PersonRow]:
    """Return who works at the demo bench."""
    return [PersonRow(**row) for row in read_rows("people")]


class DataFiles:
    """All data files, each read when first asked for."""

    @cached_property
    def models(self) -> dict[str, ModelRow]:
        """Unit models by key."""
        return {row["key"]: ModelRow(row["key"], row["name"], int(row["share"])) for row in read_rows("unit_models")}

    @cached_property
    def suppliers(self) -> dict[str, SupplierRow]:
        """Suppliers by key."""
        return {row["key"]: _supplier_row(row) for row in read_rows("suppliers")}

    @cached_property
    def parts(self) -> dict[str, PartRow]:
        """Parts by number."""
        return {row["number"]: self._part(row) for row in read_rows("parts")}

    def _part(self, row: dict[str, str]) -> PartRow:
        values: dict[str, Any] = {
            **row,
            "attributes": parse_pairs(row["attributes"]),
            "fits": tuple(self.models[key].name for key in row["fits"].split()),
            "rated_matings": int(row["rated_matings"]) if row["rated_matings"] else None,
        }
        return PartRow(**values)

    @cached_property
    def bins(self) -> list[BinRow]:
        """Bins in walking order."""
        return [
            BinRow(row["name"], int(row["walk"]), row["mixed"] == "yes", row["note"]) for row in read_rows("bins")
        ]

    @cached_property
    def offers(self) -> list[OfferRow]:
        """Offers, the preferred one of a part first."""
        return [_offer_row(row) for row in read_rows("offers")]

    @cached_property
    def causes(self) -> list[CauseRow]:
        """What goes wrong with the unit models."""
        return [_cause_row(row) for row in read_rows("faults")]

    @cached_property
    def dated_lots(self) -> list[DatedLotRow]:
        """Consumables with a best-before date."""
        return [
            DatedLotRow(row.pop("part"), **{k: int(v) for k, v in row.items()}) for row in read_rows("dated_lots")
        ]

    @cached_property
    def specials(self) -> list[SpecialOrderRow]:
        """Parts catalogued for one job."""
        return [_special_order_row(row) for row in read_rows("specials")]

    @cached_property
    def customers(self) -> list[str]:
        """Who brings units."""
        return [row["name"] for row in read_rows("customers")]


def _supplier_row(row: dict[str, str]) -> SupplierRow:
    days = (int(row["fastest"]), int(row["usual"]), int(row["slowest"]))
    texts = {name: row[name] for name in ("key", "name", "email", "note")}
    return SupplierRow(**texts, lead_days=int(row["lead_days"]), shipping_minor=int(row["shipping_minor"]), days=days)


def _offer_row(row: dict[str, str]) -> OfferRow:
    breaks = tuple((int(a), int(b)) for a, b in (pair.split() for pair in row["breaks"].split(";") if pair.strip()))
    return OfferRow(
        row["part"], row["supplier"], row["supplier_number"], int(row["pack"]), int(row["minimum"]),
        int(row["price_minor"]), breaks, row["preferred"] == "yes",
    )  # fmt: skip


def _cause_row(row: dict[str, str]) -> CauseRow:
    also = tuple((part, int(number)) for part, number in (use.split(":") for use in row["also"].split()))
    pieces = tuple(int(number) for number in row["pieces"].split())
    return CauseRow(
        row["model"], row["symptom"], row["suspect"], int(row["weight"]), row["part"], pieces, also, row["found"]
    )


def _special_order_row(row: dict[str, str]) -> SpecialOrderRow:
    whole = {name: int(row[name]) for name in ("days_ago", "quantity", "price_minor")}
    return SpecialOrderRow(**{**row, **whole, "attributes": parse_pairs(row["attributes"])})  # type: ignore[arg-type]
