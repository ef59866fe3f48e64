"""At an incoming check: what to take out of the bag, how to test it, what was found; and the plans of the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.buying import incoming_plans, suppliers
from inventory.domain.buying.incoming_records import IncomingCheckRecord, IncomingPlanRecord, PlanText
from inventory.domain.buying.order_records import SupplierRecord
from inventory.domain.catalogue import parts
from inventory.domain.common.atomic import atomic
from inventory.domain.common.errors import DomainError
from inventory.domain.common.records import PartRecord, PieceRecord
from inventory.domain.proof import proofs
from inventory.domain.proof.cautions import cautions_for
from inventory.domain.proof.procedures import procedures
from inventory.domain.proof.proof_records import CautionRecord, ProcedureRecord, ResolvedProcedure
from inventory.domain.proof.readings import parse_typed_readings
from inventory.domain.quality import incoming_testing
from inventory.domain.quality.incoming_draw import DrawFromBin, units_to_draw

MAX_RECENT = 20


@dataclass(frozen=True)
class IncomingChecksScreen:
    """The front page of incoming checks."""

    waiting: tuple[IncomingCheckRecord, ...]
    closed: tuple[IncomingCheckRecord, ...]  # the last ones
    plans: tuple[IncomingPlanRecord, ...]


def incoming_checks_screen() -> IncomingChecksScreen:
    """Gather what waits to be tested, what was, and by what plans."""
    closed = incoming_testing.checks(open_=False, limit=MAX_RECENT).items
    return IncomingChecksScreen(
        tuple(incoming_testing.waiting_checks()), tuple(closed), tuple(incoming_plans.plans())
    )


# ---- one check -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class IncomingCheckScreen:
    """A check as its page shows it."""

    check: IncomingCheckRecord
    cautions: tuple[CautionRecord, ...]
    places: tuple[DrawFromBin, ...]
    drawn: tuple[PieceRecord, ...]  # pieces to test next, drawn by lot
    others: tuple[PieceRecord, ...]  # that may be tested as well
    procedures: tuple[ProcedureRecord, ...]
    resolved: ResolvedProcedure | None  # by the procedure chosen; None: good or bad, as the tester sees it
    cannot: str  # why the procedure cannot be used
    sorting: IncomingCheckRecord | None  # the check that sorts a rejected lot


def incoming_check_screen(check_id: int, procedure_id: int | None = None) -> IncomingCheckScreen:
    """Gather what testing needs; *procedure_id* is the procedure chosen (0: good or bad, None: as last time)."""
    check = incoming_testing.check(check_id)
    usable = tuple(procedures(part_id=check.part.id))
    resolved, cannot = _resolve_or_reason(_procedure_to_offer(check, usable, procedure_id), check.part)
    places, drawn, others = units_to_draw(check)
    newest = next(iter(incoming_testing.checks(lot_id=check.lot.id, limit=1).items), None)
    return IncomingCheckScreen(
        check, cautions_for(check.part, resolved.procedure.hazards if resolved else ()), places, drawn, others,
        usable, resolved, cannot, newest if newest is not None and newest.id > check.id else None,
    )  # fmt: skip


def _procedure_to_offer(
    check: IncomingCheckRecord, usable: Sequence[ProcedureRecord], procedure_id: int | None
) -> int | None:  # fmt: skip
    """Return the procedure to offer: the one chosen, else that of the last test, else the part's own."""
    if procedure_id is not None:
        return procedure_id or None
    live = [result for result in check.results if result.struck is None]
    if live:
        return max(live, key=lambda result: result.id).procedure_id
    return next((procedure.id for procedure in usable if procedure.part_id is not None), None)


def _resolve_or_reason(procedure_id: int | None, part: PartRecord) -> tuple[ResolvedProcedure | None, str]:
    if procedure_id is None:
        return None, ""
    try:
        return proofs.resolve_procedure_for_part(procedure_id, part), ""
    except DomainError as refused:
        return None, refused.sentence


def record_result_from_form(
    check_id: int, texts: Mapping[int, str], *, procedure_id: int | None = None, by: int, **more: Any
) -> IncomingCheckRecord:  # fmt: skip
    """Note one that was tested, its readings as typed, by position; *more* as ``record_result`` takes it."""
    with atomic(lock_stock=True):
        if procedure_id is None:
            return incoming_testing.record_result(check_id, by=by, **more)
        checks = proofs.resolve_procedure_for_part(procedure_id, incoming_testing.check(check_id).part).checks
        readings = parse_typed_readings(checks, texts)
        return incoming_testing.record_result(check_id, procedure_id=procedure_id, readings=readings, by=by, **more)


# ---- plans -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class IncomingPlanScreen:
    """A plan as its form shows it: whose it is, what is kept, and what was just typed in words."""

    part: PartRecord | None
    supplier: SupplierRecord | None
    plan: IncomingPlanRecord | None
    text: PlanText | None
    suppliers_plans: tuple[IncomingPlanRecord, ...]  # of a part: the plans that its own goes before

    @property
    def name(self) -> str:
        """What it is of."""
        return self.part.name if self.part else self.supplier.name if self.supplier else ""


def incoming_plan_screen(
    *, part_id: int | None = None, supplier_id: int | None = None, proposed: dict[str, Any] | None = None
) -> IncomingPlanScreen:  # fmt: skip
    """Gather what setting a plan needs; *proposed* is one that is not kept yet, to be said in words."""
    text = None if proposed is None else incoming_plans.preview_plan(**proposed)
    of_suppliers = [plan for plan in incoming_plans.plans() if plan.supplier_id is not None]
    return IncomingPlanScreen(
        None if part_id is None else parts.part(part_id),
        None if supplier_id is None else suppliers.supplier(supplier_id),
        incoming_plans.find_plan(part_id=part_id, supplier_id=supplier_id), text,
        tuple(of_suppliers) if part_id is not None else (),
    )  # fmt: skip
