"""A fan bought on a guess: the cooling fault was the harness, and the fan became the proved spare C-07."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from inventory.stock import bins, clock, evidence, jobs, prove, pull, shift
from inventory.stock.records import JobRecord
from inventory.stock.records_orders import NewLine
from seed.bench import Bench
from seed.buying import order, wait_for
from seed.repairs import close, name_suspects, open_job, the_cause
from seed.spares import prove_and_lend, prove_piece

COOLING = "Cooling fault, stops after ten minutes"


def tell_of_the_fan(bench: Bench) -> None:
    """Write the story into the diary."""
    bench.on(268, "09:25", lambda: _cooling_fault(bench))


def _cooling_fault(bench: Bench) -> None:
    """A head stops when warm. It must be the fan, says everybody, so a fan is ordered."""
    job = open_job(bench, "C7", COOLING, "Low Tide Touring")
    bench.told["guess job"] = job.id
    name_suspects(bench, job, "C7", COOLING)
    order(bench, "N", [NewLine(bench.id("FN-301"), 1, bench.offer_of("FN-301", "N"), job_id=job.id)], days=4)
    jobs.wait_for(job.id, "a new fan: it must be the fan")
    wait_for(bench, "FN-301", lambda: bench.diary.later(1, "09:30", lambda: _fit_the_fan(bench, job)))


def _fit_the_fan(bench: Bench, job: JobRecord) -> None:
    jobs.reopen_job(job.id)
    newest = max(lot.id for lot in (one.lot for one in bins.holdings(part_id=bench.id("FN-301"))))
    pull.pull(1, lot_id=newest, job_id=job.id, by=bench.tomas, reason="fitted on a guess; still stops when warm")
    _see(job, 40, "new part", "Head fan", works=False, by=bench.tomas)
    bench.diary.later(0, "15:10", lambda: _it_was_the_harness(bench, job, newest))


def _it_was_the_harness(bench: Bench, job: JobRecord, lot_id: int) -> None:
    if not bench.on_shelf("CN-203"):
        wait_for(bench, "CN-203", lambda: _it_was_the_harness(bench, job, lot_id))
        return
    bench.pull("CN-203", 1, job.id, bench.ines)
    _see(job, 5, "measured", "Fan harness", says_bad=True, by=bench.ines, note="No tach signal at the board end.")
    _see(job, 50, "new part", "Fan harness", works=True, by=bench.ines)
    _see(job, 110, "put back", "Head fan", works=True, by=bench.ines, note="The old fan runs as well, cover on.")
    bench.diary.later(0, "17:20", lambda: _kept_as_spare(bench, job, lot_id))


def _see(job: JobRecord, minutes: int, kind: str, suspect: str, **seen: Any) -> None:
    """Log what will have been seen of a suspect in so many minutes."""
    about = next(one.id for one in jobs.suspects(job.id) if one.name == suspect)
    with clock.set_to(clock.now() + timedelta(minutes=minutes)):
        evidence.observe(job.id, kind, suspect_id=about, **seen)


def _kept_as_spare(bench: Bench, job: JobRecord, lot_id: int) -> None:
    pull.put_back(1, job_id=job.id, lot_id=lot_id, by=bench.ines, reason="the old fan runs: it was the harness")
    found = "Tach wire broken in the fan harness. The fan bought for it was not needed: kept as test spare C-07."
    note = f"Bought for job {job.number} on a guess. It ran two hours in that unit with the new harness."
    made = shift.single_out(bench.bin_of("FN-301"), lot_id, name="C-07", by=bench.ines, note=note).piece_ids[0]
    bench.pieces["C-07"] = bench.told["C-07"] = made
    shift.move(bench.bins["S-1"].id, piece_id=made, by=bench.ines)
    prove.ran_in_unit(made, job.id, note="Two hours, cover on, with the new harness.", by=bench.ines)
    close(bench, job, the_cause(bench, "C7", "Fan harness"), found)
    bench.diary.later(1, "16:40", lambda: _bench_run(bench))


def _bench_run(bench: Bench) -> None:
    prove_piece(bench, "C-07", {"procedure": "Fan bench run"})
    right = {"model": "C7", "symptom": COOLING, "suspect": "Head fan", "result": "works with it"}
    wrong = {**right, "result": "still fails"}
    swaps: list[dict[str, Any]] = [
        {"days": 233, "minutes": 17, **right}, {"days": 190, "minutes": 14, **wrong, "really": "Fan header"},
        {"days": 143, "minutes": 13, **right}, {"days": 97, "minutes": 12, **right},
        {"days": 53, "minutes": 15, **wrong, "really": "Fan harness"}, {"days": 18, "minutes": 11, **right},
    ]  # fmt: skip
    proofs = [{"days": 60, "procedure": "Fan bench run", "note": "Yearly proof brought forward before the season."}]
    prove_and_lend(bench, "C-07", proofs, swaps)
