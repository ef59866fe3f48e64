"""What else the shop tells about: the wrong fans, the supply that was dead in its box, the bad lot, odd orders."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from typing import Any

from inventory.domain.buying import suppliers
from inventory.domain.buying.order_records import NewOrderLine
from inventory.domain.catalogue import bins, lots, parts
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import job_closing
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive
from inventory.domain.quality import recall, sent_back
from inventory.domain.quality.sent_back_records import DEAD_ON_ARRIVAL
from seed.data_files import SpecialOrderRow
from seed.demo_bench import DemoBench
from seed.purchasing import order_parts, resume_waiting, run_when_received, supplier_of
from seed.repairs import Repair, close_job, find_cause, name_suspects, open_job, repair_or_wait
from seed.wrong_guess import tell_of_the_module

BAD_LOT_MARK = "B17"
LAST_BAD_LOT_DAY = 33  # days ago; that unit is repaired and still here
BAD_LOT_REASON = "4 of 10 tested had no spring in a contact; two units came back. Ask before using any."


def schedule_stories(bench: DemoBench) -> None:
    """Write the stories into the diary."""
    tell_of_the_module(bench)
    bench.on(303, "10:40", lambda: _wrong_fan(bench))
    bench.on(186, "11:05", lambda: _dead_head(bench))
    _bad_lot(bench)
    _false_alarm_hold(bench)
    for special in bench.sheets.specials:
        bench.on(special.days_ago, bench.hour(9, 11), partial(_order_special, bench, special))
    for days, number, quantity, model, symptom, why in ONE_OFFS:
        bench.on(days, "09:50", partial(_order_one_off, bench, number, quantity, model, symptom, why))


# ---- bought wrongly --------------------------------------------------------------------------------------


def _wrong_fan(bench: DemoBench) -> None:
    """Four fans without a tach wire, ordered by looking at the frame size only."""
    receipt = receive.receive(
        bench.id("FN-308"), 4, bench.bin_of("FN-308"), supplier_id=bench.suppliers["N"].id, cost_minor=4200,
        by=bench.owner, note="Meant for Corvid 7: wrong, no tach wire.",
    )  # fmt: skip
    bench.just(6, "17:40", lambda: _two_go_back(bench, receipt.lot_ids[0]))


def _two_go_back(bench: DemoBench, lot_id: int) -> None:
    """Northgate takes two of them back after all, and has not answered with the money yet."""
    sent_back.send_back(
        2, cause="not as ordered", bin_id=bench.bin_of("FN-308"), lot_id=lot_id, reference="R-4471", by=bench.owner,
        note="Sealed in their bags; agreed on the phone.",
    )  # fmt: skip


# ---- dead on arrival -------------------------------------------------------------------------------------


def _dead_head(bench: DemoBench) -> None:
    """A cheap supply comes from overseas and is dead in its box; the makers' own is ordered after it."""
    job = open_job(bench, "C7", "Dead, no display", "Pier Nine Ballroom")
    name_suspects(bench, job, "C7", "Dead, no display")
    jobs.set_need(job.id, bench.id("PS-401"), 1)
    jobs.mark_waiting(job.id, bench.parts["PS-401"].name)
    placed = order_parts(
        bench, "F", [NewOrderLine(bench.id("PS-401"), 1, bench.offer_of("PS-401", "F").id, job_id=job.id)], days=22
    )
    bench.story_ids["dead order"] = placed.id
    run_when_received(bench, "PS-401", lambda: _test_the_supply(bench, job))


def _test_the_supply(bench: DemoBench, job: JobRecord) -> None:
    newest = max(piece.id for piece in bins.stocked_pieces(part_id=bench.id("PS-401")) if not piece.spare)
    sent, _ = sent_back.send_back(
        piece_id=newest, cause=DEAD_ON_ARRIVAL, note="0 V on the 36 V output, no load.", by=bench.tomas
    )
    refund, note = sent.expected_minor or 0, "Refund of the supply, not of the shipping."
    bench.diary.later(16, "11:25", lambda: sent_back.settle_sent_back(sent.id, refund, outcome=note, by=bench.owner))
    bench.story_ids["dead piece"] = newest
    order_parts(bench, "R", [NewOrderLine(bench.id("PS-401"), 1, bench.offer_of("PS-401", "R").id, job_id=job.id)])
    repair = Repair(job, find_cause(bench, "C7", "Supply"), 1, bench.tomas)
    run_when_received(bench, "PS-401", lambda: repair_or_wait(bench, repair))


# ---- the bad lot -----------------------------------------------------------------------------------------


def _bad_lot(bench: DemoBench) -> None:
    """Headers without papers: used for seven weeks, then units come back, ten are tested, the lot is held."""
    bench.on(72, "10:20", lambda: _headers_come_in(bench))
    for days, model, number in (
        (64, "C7", 2),
        (55, "C4", 3),
        (49, "C7", 2),
        (40, "J3", 1),
        (LAST_BAD_LOT_DAY, "C7", 3),
    ):
        bench.on(days, "11:30", partial(_use_of_bad_lot, bench, model, number, days > LAST_BAD_LOT_DAY))
    for days in (27, 17):
        bench.on(days, "10:05", lambda: _unit_comes_back(bench))
    bench.on(15, "16:45", lambda: _hold_bad_lot(bench))


def _headers_come_in(bench: DemoBench) -> None:
    market = bench.suppliers["L"].id
    for number, quantity, cost in (("CN-101", 50, 690), ("CN-102", 20, 310)):
        receipt = receive.receive(
            bench.id(number), quantity, bench.bin_of(number), supplier_id=market, cost_minor=cost, by=bench.tomas,
            maker_lot=BAD_LOT_MARK, origin_note="Mixed bag from the market, no papers; bag marked B17",
        )  # fmt: skip
        bench.story_ids.setdefault("bad lot", receipt.lot_ids[0])


def _use_of_bad_lot(bench: DemoBench, model: str, number: int, collected: bool) -> None:
    cause = find_cause(bench, model, "Pan header")
    job = open_job(bench, model, cause.symptom)
    pull.pull(number, lot_id=bench.story_ids["bad lot"], job_id=job.id, by=bench.someone())
    bench.story_ids["last job of bad lot"] = job.id
    if collected:
        bench.diary.later(1, "15:20", lambda: close_job(bench, job, cause))
    else:
        jobs.add_suspect(job.id, cause.suspect, bench.id(cause.part))
        jobs.edit_job(job.id, promised=bench.today + timedelta(days=2))
        jobs.mark_waiting(job.id, "the customer: repaired, to be collected after the tour")


def _unit_comes_back(bench: DemoBench) -> None:
    cause = find_cause(bench, "C7", "Pan header")
    job = open_job(bench, "C7", cause.symptom)
    jobs.edit_job(
        job.id, note="Back within a month: pan stops when the head is warm. New header, no grip on the pins."
    )
    lot = bench.story_ids["bad lot"]
    others = [holding for holding in bins.holdings(part_id=bench.id("CN-101")) if holding.lot.id != lot]
    if others:
        pull.pull(1, lot_id=others[0].lot.id, job_id=job.id, by=bench.ines)
    bench.diary.later(
        2, "15:40", lambda: close_job(bench, job, cause, "The new header had no grip; another one fitted.")
    )


def _hold_bad_lot(bench: DemoBench) -> None:
    lot_id = bench.story_ids["bad lot"]
    holding = bins.holdings(lot_id=lot_id)[0]
    why = "no spring in a contact, found when ten were tested"
    adjustments.scrap(min(4, holding.quantity), reason=why, bin_id=holding.bin.id, lot_id=lot_id, by=bench.ines)
    lots.hold_lot(lot_id, BAD_LOT_REASON, by=bench.ines)
    bench.just(13, "11:10", lambda: _call_customers(bench, lot_id))
    if bench.on_shelf("CN-101") < 6:
        order_parts(
            bench,
            "N",
            [NewOrderLine(bench.id("CN-101"), 20, bench.offer_of("CN-101", "N").id)],
            note="Lot B17 is on hold",
        )


def _call_customers(bench: DemoBench, lot_id: int) -> None:
    """Tick the first two customers off the list of the held lot; the others are still to be called."""
    closed = [line.job for line in recall.recall(lot_id).lines if line.job.status == "closed"]
    notes = ("Called: runs well, comes in for a check in May.", "Called: brings the head back on Friday.")
    for job, note in zip(closed, notes, strict=False):
        recall.tick_job(lot_id, job.id, note=note, by=bench.owner)


def _false_alarm_hold(bench: DemoBench) -> None:
    bench.on(121, "14:10", lambda: _doubt(bench))


def _doubt(bench: DemoBench) -> None:
    holdings = bins.holdings(part_id=bench.id("OT-810"))
    if holdings:
        lot_id = holdings[-1].lot.id
        lots.hold_lot(lot_id, "Two fitted on one day died again within a week.", by=bench.tomas)
        outcome = "Five tested on the line tester, all good: it was the customer's microphone cable."
        bench.diary.later(6, "15:30", lambda: _no_doubt(bench, lot_id, outcome))


def _no_doubt(bench: DemoBench, lot_id: int, outcome: str) -> None:
    lots.release_lot(lot_id, outcome, by=bench.owner)
    resume_waiting(bench, "OT-810")


# ---- special orders and one-off use ----------------------------------------------------------------------

ONE_OFFS = (
    (412, "CN-117", 16, "P16", "All sockets to be renewed", "sixteen sockets at once"),
    (284, "OT-803", 24, "L12", "Overhaul before the season", "every load fuse, before the season"),
    (208, "HW-704", 40, "S24", "Feet for ten flight cases", "feet for flight cases, not a repair"),
    (87, "CN-119", 12, "W8", "Panel to be rebuilt", "new panel with twelve sockets"),
)
"""Days ago, part, pieces, model, symptom, why: use that is not to be expected again."""


def _order_special(bench: DemoBench, special: SpecialOrderRow) -> None:
    """Catalogue a part for one job, and order it."""
    job = open_job(bench, special.model, special.symptom)
    part = parts.add_part(
        special.number, special.name, special.kind, attributes=special.attributes, catalogued_for=job.id,
        fits=(bench.sheets.models[special.model].name,), note=f"Catalogued for job {job.number}.",
    )  # fmt: skip
    bench.parts[special.number], bench.home[special.number] = part, "X-1"
    seller = bench.suppliers[special.supplier]
    bench.offers[special.number] = [suppliers.add_offer(part.id, seller.id, special.price_minor, preferred=True)]
    _order_for(
        bench, job, special.number, special.quantity, special.supplier, partial(_fit_special, bench, job, special)
    )


def _fit_special(bench: DemoBench, job: JobRecord, special: SpecialOrderRow) -> None:
    bench.pull(special.number, special.quantity, job.id, bench.tomas)
    culprit = jobs.add_suspect(job.id, special.suspect, bench.id(special.number))
    parts.edit_part(bench.id(special.number), level=0)  # nobody wants another one on the shelf
    job_closing.close_with_causes(job.id, was=[culprit.id], found=special.found, by=bench.tomas)


def _order_for(bench: DemoBench, job: JobRecord, number: str, quantity: int, key: str, action: Any) -> None:
    part = bench.parts[number]
    jobs.set_need(job.id, part.id, quantity)
    jobs.mark_waiting(job.id, part.name)
    offer = bench.offer_of(number, key)
    packs = -(-quantity // offer.pack)
    order_parts(bench, key, [NewOrderLine(part.id, packs * offer.pack, offer.id, job_id=job.id)])
    run_when_received(bench, number, lambda: bench.diary.later(1, "14:30", lambda: _reopen_and(job, action)))


def _reopen_and(job: JobRecord, action: Any) -> None:
    jobs.reopen_job(job.id)
    action()


def _order_one_off(bench: DemoBench, number: str, quantity: int, model: str, symptom: str, why: str) -> None:
    job = open_job(bench, model, symptom)
    fit = partial(_fit_one_off, bench, job, number, quantity, why)
    _order_for(bench, job, number, quantity, supplier_of(bench, number), fit)


def _fit_one_off(bench: DemoBench, job: JobRecord, number: str, quantity: int, why: str) -> None:
    there = min(quantity, bench.on_shelf(number))
    pull.pull(there, part_id=bench.id(number), job_id=job.id, by=bench.ines, one_off=True, reason=why)
    jobs.close_job(job.id, f"Done: {why}.")
