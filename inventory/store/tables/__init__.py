"""The tables. One class a table; what a column holds is said once, beside it.

Quantities are whole base units of their part, money whole minor units, times UTC (see ``fields``).
Editable things carry ``version``, which counts their edits, so that two people cannot overwrite each other.
"""

from __future__ import annotations

from typing import Any

import peewee

from inventory.store.tables.alerts import Alert, AlertMessage, AlertTold
from inventory.store.tables.bag_pairings import Pairing
from inventory.store.tables.base import SchemaNote, Table
from inventory.store.tables.count_walks import CountWalk, Tally, WalkBin
from inventory.store.tables.diagnosis import CarriedBack, Closing, Evidence, EvidenceSpare
from inventory.store.tables.forecasts import Forecast
from inventory.store.tables.incoming import IncomingCheck, IncomingPlan, IncomingReading, IncomingTest
from inventory.store.tables.jobs import Job, Need, Suspect
from inventory.store.tables.label_printing import LabelSize, PrintOffset
from inventory.store.tables.lot_records import Attachment, RecallTick
from inventory.store.tables.notices import Notice
from inventory.store.tables.orders import Order, OrderLine
from inventory.store.tables.parts import Lesson, Offer, Part, PartFit, Substitute, Supplier, UnitModel
from inventory.store.tables.people import OnceKey, Person, SignInFailure, Token
from inventory.store.tables.proof import Loan, Procedure, ProcedureCheck, Proof, Reading
from inventory.store.tables.sent_back import SentBack
from inventory.store.tables.stock import Balance, Bin, Hold, LedgerHead, Lot, Movement, Piece
from inventory.store.tables.stock_lists import StockList
from inventory.store.tables.storage import BagOpening, Bake, LevelReading, PartKeeping
from inventory.store.tables.substitutions import StandIn

__all__ = [
    "Alert",
    "AlertMessage",
    "AlertTold",
    "Attachment",
    "BagOpening",
    "Bake",
    "Balance",
    "Bin",
    "CarriedBack",
    "Closing",
    "CountWalk",
    "Evidence",
    "EvidenceSpare",
    "Forecast",
    "Hold",
    "IncomingCheck",
    "IncomingPlan",
    "IncomingReading",
    "IncomingTest",
    "Job",
    "LabelSize",
    "LedgerHead",
    "Lesson",
    "LevelReading",
    "Loan",
    "Lot",
    "Movement",
    "Need",
    "Notice",
    "Offer",
    "OnceKey",
    "Order",
    "OrderLine",
    "Pairing",
    "Part",
    "PartFit",
    "PartKeeping",
    "Person",
    "Piece",
    "PrintOffset",
    "Procedure",
    "ProcedureCheck",
    "Proof",
    "Reading",
    "RecallTick",
    "SchemaNote",
    "SentBack",
    "SignInFailure",
    "StandIn",
    "StockList",
    "Substitute",
    "Supplier",
    "Suspect",
    "Table",
    "Tally",
    "Token",
    "UnitModel",
    "WalkBin",
    "all_tables",
]


def all_tables() -> list[Any]:
    """Return every table, in an order in which they can be made."""
    found: list[Any] = peewee.sort_models(list(Table.__subclasses__()))  # type: ignore[attr-defined]
    return found
