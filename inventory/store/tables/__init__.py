"""The tables. One class a table; what a column holds is said once, beside it.

Quantities are whole base units of their part, money whole minor units, times UTC (see ``fields``).
Editable things carry ``version``, which counts their edits, so that two people cannot overwrite each other.
"""

from __future__ import annotations

from typing import Any

import peewee

from inventory.store.tables.alerts import Alert, AlertDelivery, AlertMessage
from inventory.store.tables.base import KeyValue, Table
from inventory.store.tables.diagnosis import Evidence, EvidenceSpare, JobClosing, PieceOutcome
from inventory.store.tables.forecasts import Forecast
from inventory.store.tables.jobs import Job, Need, Notice, Substitution, Suspect
from inventory.store.tables.label_printing import LabelSize, PrintOffset
from inventory.store.tables.orders import BagPairing, Order, OrderLine
from inventory.store.tables.parts import Lesson, Offer, Part, PartFit, Substitute, Supplier, UnitModel
from inventory.store.tables.people import IdempotencyKey, Person, SignInFailure, Token
from inventory.store.tables.proof import Loan, Procedure, ProcedureCheck, Proof, ProofReading
from inventory.store.tables.quality import (
    Attachment,
    IncomingCheck,
    IncomingPlan,
    IncomingReading,
    IncomingTest,
    RecallCompletion,
    SentBack,
)
from inventory.store.tables.stock import Balance, Bin, Hold, LedgerHead, Lot, Movement, Piece
from inventory.store.tables.stocktake import CountEntry, CountWalk, StockListImport, WalkBin
from inventory.store.tables.storage import BagOpening, Bake, LevelReading, PartStorage

__all__ = [
    "Alert",
    "AlertDelivery",
    "AlertMessage",
    "Attachment",
    "BagOpening",
    "BagPairing",
    "Bake",
    "Balance",
    "Bin",
    "CountEntry",
    "CountWalk",
    "Evidence",
    "EvidenceSpare",
    "Forecast",
    "Hold",
    "IdempotencyKey",
    "IncomingCheck",
    "IncomingPlan",
    "IncomingReading",
    "IncomingTest",
    "Job",
    "JobClosing",
    "KeyValue",
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
    "Order",
    "OrderLine",
    "Part",
    "PartFit",
    "PartStorage",
    "Person",
    "Piece",
    "PieceOutcome",
    "PrintOffset",
    "Procedure",
    "ProcedureCheck",
    "Proof",
    "ProofReading",
    "RecallCompletion",
    "SentBack",
    "SignInFailure",
    "StockListImport",
    "Substitute",
    "Substitution",
    "Supplier",
    "Suspect",
    "Table",
    "Token",
    "UnitModel",
    "WalkBin",
    "all_tables",
]


def all_tables() -> list[Any]:
    """Return every table, in an order in which they can be made."""
    models: list[Any] = peewee.sort_models(list(Table.__subclasses__()))  # type: ignore[attr-defined]
    return models
