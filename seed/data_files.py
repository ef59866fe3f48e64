"""Reads the data files of the demo bench. One class a file; the files are plain CSV for people to edit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Return the lines of ``data/<name>.csv`` by column name."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def pairs(text: str) -> dict[str, str]:
    """Read "pitch_mm=2; ways=4" into a dictionary."""
    return dict(one.strip().split("=", 1) for one in text.split(";") if one.strip())


@dataclass(frozen=True)
class PersonSheet:
    """Somebody who works at the demo bench. The passphrase is printed: it guards a demo, nothing else."""

    name: str
    shown_as: str
    role: str
    passphrase: str


@dataclass(frozen=True)
class SupplierSheet:
    """A supplier: what it states, and the days its parcels really take (fastest, usual, slowest)."""

    key: str
    name: str
    lead_days: int
    shipping_minor: int
    email: str
    note: str
    days: tuple[int, int, int]


@dataclass(frozen=True)
class ModelSheet:
    """A model of device, and its share of the jobs."""

    key: str
    name: str
    share: int


@dataclass(frozen=True)
class PartSheet:
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
class OfferSheet:
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
class Cause:
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
class BinSheet:
    """A place with a label."""

    name: str
    walk: int
    mixed: bool
    note: str


@dataclass(frozen=True)
class DatedLot:
    """A consumable with a date, told in days before or after the day of loading."""

    part: str
    received_days_ago: int
    best_before_in_days: int
    quantity: int
    left_now: int


@dataclass(frozen=True)
class Special:
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


def people() -> list[PersonSheet]:
    """Return who works at the demo bench."""
    return [PersonSheet(**one) for one in rows("people")]


class Sheets:
    """All data files, each read when first asked for."""

    @cached_property
    def models(self) -> dict[str, ModelSheet]:
        """Unit models by key."""
        return {one["key"]: ModelSheet(one["key"], one["name"], int(one["share"])) for one in rows("unit_models")}

    @cached_property
    def suppliers(self) -> dict[str, SupplierSheet]:
        """Suppliers by key."""
        return {one["key"]: _supplier(one) for one in rows("suppliers")}

    @cached_property
    def parts(self) -> dict[str, PartSheet]:
        """Parts by number."""
        return {one["number"]: self._part(one) for one in rows("parts")}

    def _part(self, one: dict[str, str]) -> PartSheet:
        given: dict[str, Any] = {
            **one,
            "attributes": pairs(one["attributes"]),
            "fits": tuple(self.models[key].name for key in one["fits"].split()),
            "rated_matings": int(one["rated_matings"]) if one["rated_matings"] else None,
        }
        return PartSheet(**given)

    @cached_property
    def bins(self) -> list[BinSheet]:
        """Bins in walking order."""
        return [BinSheet(one["name"], int(one["walk"]), one["mixed"] == "yes", one["note"]) for one in rows("bins")]

    @cached_property
    def offers(self) -> list[OfferSheet]:
        """Offers, the preferred one of a part first."""
        return [_offer(one) for one in rows("offers")]

    @cached_property
    def causes(self) -> list[Cause]:
        """What goes wrong with the unit models."""
        return [_cause(one) for one in rows("faults")]

    @cached_property
    def dated_lots(self) -> list[DatedLot]:
        """Consumables whose dates are told."""
        return [DatedLot(one.pop("part"), **{k: int(v) for k, v in one.items()}) for one in rows("dated_lots")]

    @cached_property
    def specials(self) -> list[Special]:
        """Parts catalogued for one job."""
        return [_special(one) for one in rows("specials")]

    @cached_property
    def customers(self) -> list[str]:
        """Who brings units."""
        return [one["name"] for one in rows("customers")]


def _supplier(one: dict[str, str]) -> SupplierSheet:
    days = (int(one["fastest"]), int(one["usual"]), int(one["slowest"]))
    kept = {name: one[name] for name in ("key", "name", "email", "note")}
    return SupplierSheet(
        **kept, lead_days=int(one["lead_days"]), shipping_minor=int(one["shipping_minor"]), days=days
    )


def _offer(one: dict[str, str]) -> OfferSheet:
    breaks = tuple((int(a), int(b)) for a, b in (pair.split() for pair in one["breaks"].split(";") if pair.strip()))
    return OfferSheet(
        one["part"], one["supplier"], one["supplier_number"], int(one["pack"]), int(one["minimum"]),
        int(one["price_minor"]), breaks, one["preferred"] == "yes",
    )  # fmt: skip


def _cause(one: dict[str, str]) -> Cause:
    also = tuple((part, int(number)) for part, number in (use.split(":") for use in one["also"].split()))
    pieces = tuple(int(number) for number in one["pieces"].split())
    return Cause(
        one["model"], one["symptom"], one["suspect"], int(one["weight"]), one["part"], pieces, also, one["found"]
    )


def _special(one: dict[str, str]) -> Special:
    whole = {name: int(one[name]) for name in ("days_ago", "quantity", "price_minor")}
    return Special(**{**one, **whole, "attributes": pairs(one["attributes"])})  # type: ignore[arg-type]
