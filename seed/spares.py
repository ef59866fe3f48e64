"""The bench's spares: where each came from, what it passed, and the swap tests it went out for."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from inventory.domain.common import clock
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, receive
from inventory.domain.proof import pieces
from inventory.domain.proof import proofs as prove
from inventory.domain.proof.proof_records import CheckRecord
from seed.data_files import DATA_FOLDER
from seed.demo_bench import DemoBench
from seed.repairs import Repair, find_cause, name_suspects, open_job, repair_or_wait

INSTRUMENTS_BY_KIND = {
    "fan": "Bench supply 2, tach counter",
    "supply": "Electronic load 1, meter 3, scope 1",
    "connector": "Meter 3, four wires",
    "module": "Bench supply 1, meter 3",
}
MINUTES_BY_KIND = {"fan": 10, "supply": 14, "connector": 4, "module": 12}
"""How long a proof of a kind took; the minutes of swap tests stand with them.

Their medians are what a new shop assumes: the demo shows that minutes are learned, and the figures that the guides
tell of it stay what they would be without.
"""


def schedule_spares(bench: DemoBench) -> None:
    """Write the making, proving and lending of every spare into the diary."""
    for spare in json.loads((DATA_FOLDER / "spares.json").read_text(encoding="utf-8")):
        bench.on(spare["made"], "11:40", partial(_make_spare, bench, spare))
        schedule_proofs_and_swaps(bench, spare["name"], spare["proofs"], spare["swaps"])


def schedule_proofs_and_swaps(
    bench: DemoBench, name: str, proofs: Sequence[dict[str, Any]], swaps: Sequence[dict[str, Any]]
) -> None:
    """Write down the proofs and swap tests of a piece that will be there by then."""
    for proof in proofs:
        bench.on(proof["days"], "16:20", partial(prove_piece, bench, name, proof))
    for swap in swaps:
        bench.on(swap["days"], "10:10", partial(_swap_job, bench, name, swap))


def _make_spare(bench: DemoBench, spare: dict[str, Any]) -> None:
    part, bin_id = bench.parts[spare["part"]], bench.bins[spare["bin"]].id
    offer = bench.offers[part.number][0]
    receipt_fields: dict[str, Any] = {"origin": spare["origin"], "origin_note": spare["note"]}
    if spare["origin"] == "delivery":
        receipt_fields = {
            "supplier_id": bench.suppliers[spare["supplier"]].id,
            "cost_minor": offer.price_minor // offer.pack,
        }
    if "donor_worked" in spare:
        receipt_fields["donor_worked"] = spare["donor_worked"]
    receipt = receive.receive(part.id, 1, bin_id, by=bench.ines, **receipt_fields)
    if receipt.made_pieces:
        piece_id = receipt.made_pieces[0].id
        pieces.edit_piece(piece_id, name=spare["name"], spare=True, note=spare["note"])
    else:
        piece_id = adjustments.single_out(
            bin_id, receipt.lot_ids[0], name=spare["name"], note=spare["note"], by=bench.ines
        ).piece_ids[0]
    bench.pieces[spare["name"]] = piece_id


# ---- proofs ----------------------------------------------------------------------------------------------


def prove_piece(bench: DemoBench, name: str, proof_plan: dict[str, Any]) -> None:
    """Test a piece by a procedure: readings as told, and within the limits where nothing is told."""
    piece_id, by = bench.pieces[name], bench.rng.choice((bench.ines, bench.tomas))
    procedure = prove.resolve_procedure(bench.procedures[proof_plan["procedure"]].id, piece_id)
    typed_values = proof_plan.get("readings", {})
    readings = [_reading(bench, check, typed_values.get(check.name)) for check in procedure.checks]
    prove.record_proof(
        piece_id, procedure.procedure.id, readings, instrument=INSTRUMENTS_BY_KIND[procedure.procedure.kind],
        note=proof_plan.get("note", ""), minutes=MINUTES_BY_KIND[procedure.procedure.kind], by=by,
    )  # fmt: skip


def _reading(bench: DemoBench, check: CheckRecord, value: str | None) -> dict[str, str]:
    if check.yes_or_no:
        return {"name": check.name, "value": value or "yes"}
    return {"name": check.name, "unit": check.unit, "value": value or _value_within_limits(bench, check)}


def _value_within_limits(bench: DemoBench, check: CheckRecord) -> str:
    """Return a reading well inside the limits, with as many decimals as they have."""
    high = Decimal(check.high)
    low = Decimal(check.low) if check.low else high / 3
    share = Decimal(bench.rng.randint(35, 65)) / 100
    return str((low + (high - low) * share).quantize(high if high.as_tuple().exponent else Decimal(1)))


# ---- swap tests ------------------------------------------------------------------------------------------


def _swap_job(bench: DemoBench, name: str, swap: dict[str, Any]) -> None:
    """Book in the unit, name the suspects, swap, and repair what it really was."""
    job = open_job(bench, swap["model"], swap["symptom"])
    bench.diary.later(0, "13:15", lambda: _swap(bench, name, job, swap))


def _swap(bench: DemoBench, name: str, job: JobRecord, swap: dict[str, Any]) -> None:
    by = bench.rng.choice((bench.ines, bench.tomas))
    suspects = name_suspects(bench, job, swap["model"], swap["symptom"])
    lent = swap_tests.take_piece(bench.pieces[name], job.id, suspect_id=suspects[swap["suspect"]], by=by)
    back = clock.now() + timedelta(minutes=swap["minutes"])
    bench.diary.write(back, lambda: _end_swap_test(lent.loan.id, job, swap, by))
    bench.diary.later(0, "15:50", lambda: _plan_the_repair(bench, job, swap, by))


def _end_swap_test(loan_id: int, job: JobRecord, swap: dict[str, Any], by: int) -> None:
    swap_tests.bring_back_piece(loan_id, swap["result"], by=by, note=swap.get("note", ""))
    if swap["result"] == "still fails":
        cleared = next(suspect for suspect in jobs.suspects(job.id) if suspect.name == swap["suspect"])
        jobs.set_verdict(cleared.id, "good")


def _plan_the_repair(bench: DemoBench, job: JobRecord, swap: dict[str, Any], by: int) -> None:
    cause = find_cause(bench, swap["model"], swap.get("really", swap["suspect"]), swap["symptom"])
    repair = Repair(job, cause, bench.rng.choice(cause.pieces), by)
    bench.diary.later(1, "10:30", lambda: repair_or_wait(bench, repair))
