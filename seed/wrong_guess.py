"""An amplifier module bought on a guess: the hum was the supply board; the module became spare C-09."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from inventory.domain.buying import orders
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.common import clock
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import evidence, swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive
from inventory.domain.proof import pieces
from seed.demo_bench import DemoBench
from seed.purchasing import run_when_received
from seed.repairs import close_job, find_cause, name_suspects, open_job
from seed.spares import prove_piece, schedule_proofs_and_swaps

HUM = "Hums, nothing plugged in"
MODULE, CAPACITOR = "MD-510", "OT-805"
SUSPECT, CULPRIT = "Amplifier module", "Supply capacitor"
PROCEDURE = "Amplifier module into dummy load"


def tell_of_the_module(bench: DemoBench) -> None:
    """Write the story into the diary."""
    bench.on(224, "09:25", lambda: _a_speaker_hums(bench))


def _a_speaker_hums(bench: DemoBench) -> None:
    """A powered speaker hums. It must be the amplifier, says everybody, so a module is ordered."""
    job = open_job(bench, "T12", HUM, "Low Tide Touring")
    name_suspects(bench, job, "T12", HUM)
    order_lines = [NewOrderLine(bench.id(MODULE), 1, bench.offer_of(MODULE, "R").id, job_id=job.id)]
    drafted = orders.draft_order(bench.suppliers["R"].id, order_lines, by=bench.owner)
    line = orders.place_order(drafted.id, by=bench.owner).lines[0].id
    jobs.mark_waiting(job.id, "a new amplifier module: it must be the amplifier")
    bench.diary.later(8, "11:40", lambda: _the_module_comes(bench, job, line))


def _the_module_comes(bench: DemoBench, job: JobRecord, line: int) -> None:
    """Keep the new module to test with before anybody else takes it, and test it before it meets the unit."""
    receipt = receive.receive(bench.id(MODULE), 1, bench.bins["S-2"].id, order_line_id=line, by=bench.ines)
    bench.pieces["C-09"] = receipt.made_pieces[0].id
    note = f"Bought for job {job.number} on a guess. Keep the insulating sheet with it."
    pieces.edit_piece(bench.pieces["C-09"], name="C-09", spare=True, note=note)
    bench.diary.later(1, "09:30", lambda: _prove_the_module(bench, job))


def _prove_the_module(bench: DemoBench, job: JobRecord) -> None:
    jobs.reopen_job(job.id)
    prove_piece(bench, "C-09", {"procedure": PROCEDURE})
    bench.diary.later(0, "11:20", lambda: _swap_it_in(bench, job))


def _swap_it_in(bench: DemoBench, job: JobRecord) -> None:
    lent = swap_tests.take_piece(bench.pieces["C-09"], job.id, suspect_id=_suspect(job, SUSPECT), by=bench.tomas)
    back = clock.now() + timedelta(minutes=26)
    note = "The same hum. Unplugged, waited and measured below 5 V before each change."
    bench.diary.write(
        back, lambda: swap_tests.bring_back_piece(lent.loan.id, "still fails", by=bench.tomas, note=note)
    )
    bench.diary.later(0, "14:10", lambda: _it_was_the_supply_board(bench, job))


def _it_was_the_supply_board(bench: DemoBench, job: JobRecord) -> None:
    if bench.on_shelf(CAPACITOR) < 2:
        run_when_received(bench, CAPACITOR, lambda: _it_was_the_supply_board(bench, job))
        return
    note = "Supply discharged and measured first. One has lost half its capacitance and is warm."
    _log_observation(job, 20, "measured", CULPRIT, says_bad=True, by=bench.ines, note=note)
    bench.pull(CAPACITOR, 2, job.id, bench.ines)
    _log_observation(
        job, 70, "new part", CULPRIT, works=True, by=bench.ines, note="No hum, with the old amplifier module."
    )
    finding = (
        "Tired capacitor on the supply board. The amplifier module bought for it was not needed: it is spare C-09."
    )
    bench.diary.later(0, "17:20", lambda: close_job(bench, job, find_cause(bench, "T12", CULPRIT), finding))
    _go_on_with_the_spare(bench)


def _log_observation(job: JobRecord, minutes: int, kind: str, suspect: str, **observed: Any) -> None:
    """Log what will have been seen of a suspect in so many minutes."""
    with clock.freeze_at(clock.now() + timedelta(minutes=minutes)):
        evidence.record_observation(job.id, kind, suspect_id=_suspect(job, suspect), **observed)


def _suspect(job: JobRecord, name: str) -> int:
    return next(suspect.id for suspect in jobs.suspects(job.id) if suspect.name == name)


def _go_on_with_the_spare(bench: DemoBench) -> None:
    hum: dict[str, Any] = {"model": "T12", "symptom": HUM, "suspect": SUSPECT}
    silent = {**hum, "symptom": "No sound, power light on"}
    swaps: list[dict[str, Any]] = [
        {"days": 161, "minutes": 26, **silent, "result": "works with it"},
        {"days": 88, "minutes": 22, **hum, "result": "still fails", "really": CULPRIT},
        {"days": 31, "minutes": 20, **hum, "result": "works with it"},
    ]
    schedule_proofs_and_swaps(bench, "C-09", [{"days": 60, "procedure": PROCEDURE}], swaps)
