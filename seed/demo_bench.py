"""The demo bench while it is being lived: who and what there is, by the names the data files use."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from inventory.domain.buying.order_records import OfferRecord, SupplierRecord
from inventory.domain.catalogue import bins, stock_totals
from inventory.domain.common.records import ActionResult, BinRecord, PartRecord, PersonRecord
from inventory.domain.movements import pull
from inventory.domain.proof.proof_records import ProcedureRecord
from seed.data_files import DataFiles
from seed.schedule import Schedule, utc_moment

BENCH_NAME = "Harbour Street Stage & Studio Repair"
FIRST_DAY = 548  # days of history, eighteen months


@dataclass(frozen=True)
class OrderHabit:
    """At or below *low* the owner orders up to *fill*; *opening* lay there on the first day. Base units."""

    low: int
    fill: int
    opening: int


class DemoBench:
    """Everything by name, one source of chance, one diary. Days count backwards from *today*."""

    def __init__(self, today: date, seed: int) -> None:
        self.today = today
        self.rng = random.Random(seed)
        self.sheets = DataFiles()
        self.diary = Schedule(today)
        self.people: dict[str, PersonRecord] = {}
        self.suppliers: dict[str, SupplierRecord] = {}
        self.parts: dict[str, PartRecord] = {}
        self.bins: dict[str, BinRecord] = {}
        self.home: dict[str, str] = {}  # the bin of each part
        self.offers: dict[str, list[OfferRecord]] = {}
        self.procedures: dict[str, ProcedureRecord] = {}
        self.habits: dict[str, OrderHabit] = {}
        self.keeps_days: dict[str, int] = {}  # how long a consumable keeps from the day it came in
        self.pieces: dict[str, int] = {}  # the proved spares and their like, by name
        self.wanting: dict[str, list[Callable[[], object]]] = {}  # what goes on when a part comes in
        self.story_ids: dict[str, int] = {}  # ids of what the stories are about, for the summary

    # ---- days ------------------------------------------------------------------------------------------

    def ago(self, days: float, hour: str) -> datetime:
        """Return a moment so many days before today, whatever day of the week that is."""
        return utc_moment(self.today - timedelta(days=days), hour)

    def on(self, days: float, hour: str, action: Callable[[], object]) -> None:
        """Schedule *action* for *days* before today, or the next day on which the shop is open."""
        self.diary.write(utc_moment(self.diary.open_day(self.today - timedelta(days=days)), hour), action)

    def just(self, days: float, hour: str, action: Callable[[], object]) -> None:
        """Schedule *action* exactly *days* before today, open or not."""
        self.diary.write(self.ago(days, hour), action)

    def hour(self, first: int = 9, last: int = 17) -> str:
        """Return a random time of day (HH:MM) between the hours *first* and *last*."""
        return f"{self.rng.randint(first, last):02}:{self.rng.randint(0, 59):02}"

    # ---- people ----------------------------------------------------------------------------------------

    @property
    def owner(self) -> int:
        """The owner's id."""
        return self.people["odile"].id

    @property
    def ines(self) -> int:
        """The id of one of the two techs."""
        return self.people["ines"].id

    @property
    def tomas(self) -> int:
        """The id of the other tech."""
        return self.people["tomas"].id

    def someone(self) -> int:
        """Return the id of a random person: mostly a tech, one time in twenty the owner."""
        return self.rng.choices((self.ines, self.tomas, self.owner), (10, 9, 1))[0]

    # ---- stock -----------------------------------------------------------------------------------------

    def id(self, number: str) -> int:
        """Return the id of a part."""
        return self.parts[number].id

    def bin_of(self, number: str) -> int:
        """Return the id of the bin that a part lives in."""
        return self.bins[self.home[number]].id

    def offer_of(self, number: str, key: str) -> OfferRecord:
        """Return a supplier's offer of a part."""
        seller = self.suppliers[key].id
        return next(offer for offer in self.offers[number] if offer.supplier_id == seller)

    def on_shelf(self, number: str) -> int:
        """Return how many of a part can be pulled now."""
        return stock_totals.stock_of(self.id(number)).on_shelf

    def pull(self, number: str, quantity: int, job_id: int, by: int, *, one_off: bool = False) -> list[ActionResult]:
        """Take so many of a part for a job, piece by piece if it is kept so."""
        if self.parts[number].kept != "individually":
            return [pull.pull(quantity, part_id=self.id(number), job_id=job_id, by=by, one_off=one_off)]
        there = [piece.id for piece in bins.stocked_pieces(part_id=self.id(number)) if not piece.spare]
        return [pull.pull_piece(piece_id, job_id=job_id, by=by, one_off=one_off) for piece_id in there[:quantity]]
