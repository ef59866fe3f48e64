"""What comes in and is tested: plans, a bag half tested, fans of which one failed, headers that passed."""

from __future__ import annotations

from typing import Any

from inventory.domain.buying import incoming_plans
from inventory.domain.movements import receive
from inventory.domain.quality import incoming_testing
from inventory.store.tables import Lot
from seed.demo_bench import DemoBench

MIXED_BAG, FAN = "CN-103", "FN-307"
FAN_READINGS = ("0.118", "4960"), ("0.174", "4310")


def schedule_incoming_checks(bench: DemoBench) -> None:
    """Write the checks of the last days into the diary."""
    bench.just(3, "10:40", lambda: _headers_pass(bench))
    bench.just(1, "18:10", lambda: _set_plans(bench))
    bench.just(1, "18:14", lambda: _a_mixed_bag(bench))
    bench.just(1, "18:20", lambda: _fans(bench))


def _set_plans(bench: DemoBench) -> None:
    """Bags without papers are tested since a bad one came; fans are tested as the question asks."""
    incoming_plans.set_plan(supplier_id=bench.suppliers["L"].id, test=5)
    incoming_plans.set_plan(part_id=bench.id(FAN), sure=0.8, most_bad=0.2)


def _headers_pass(bench: DemoBench) -> None:
    """Three sockets of a delivery of this morning are tried, and all of them are good."""
    lot = Lot.select().where(Lot.part == bench.id("CN-112")).order_by(Lot.id.desc()).get()
    begun = incoming_testing.begin_check(lot.id, test=3, hold=False, by=bench.tomas)
    for _ in range(3):
        incoming_testing.record_result(begun.id, good=True, by=bench.tomas)
    incoming_testing.close_as_tested(begun.id, "accepted", by=bench.tomas)


def _a_mixed_bag(bench: DemoBench) -> None:
    """Twenty headers without papers: two are tested before the day is over."""
    note = "Mixed bag from the market, no papers"
    waiting = _receive_for_check(bench, MIXED_BAG, 20, 340, origin_note=note)
    for _ in range(2):
        incoming_testing.record_result(waiting, good=True, by=bench.ines)
    bench.story_ids["check under way"] = waiting


def _fans(bench: DemoBench) -> None:
    """Blowers from the market: the second takes too much current, so the lot is to be rejected."""
    waiting = _receive_for_check(bench, FAN, 10, 7900, maker_lot="Q7-118")
    procedure = next(procedure for procedure in bench.procedures.values() if procedure.name == "Fan bench run")
    yes = [check.name for check in procedure.checks if check.yes_or_no]
    for amps, rpm in FAN_READINGS:
        read = [{"name": "Current", "value": amps, "unit": "A"}, {"name": "Speed", "value": rpm, "unit": "rpm"}]
        answered = [{"name": name, "value": "yes"} for name in yes]
        incoming_testing.record_result(waiting, procedure_id=procedure.id, readings=read + answered, by=bench.ines)


def _receive_for_check(bench: DemoBench, number: str, quantity: int, cost: int, **more: Any) -> int:
    """Receive a bag from the market; return the check that this begins."""
    receipt = receive.receive(
        bench.id(number), quantity, bench.bin_of(number), supplier_id=bench.suppliers["L"].id, cost_minor=cost,
        by=bench.ines, **more,
    )  # fmt: skip
    return next(check.id for check in incoming_testing.waiting_checks() if check.lot.id == receipt.lot_ids[0])
