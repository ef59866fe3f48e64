"""The last weeks and the evening before today: what is open, late, lent, short and in hand when a visitor comes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from inventory.domain.buying import orders
from inventory.domain.buying.order_records import NewOrderLine, ReorderAdvice
from inventory.domain.common import clock
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import evidence, swap_tests
from inventory.domain.jobs import jobs, people
from inventory.domain.money import notices
from inventory.domain.money.notice_records import NoticeLine
from inventory.domain.reorder import order_suggestions, reorder_list
from seed.data_files import CauseRow
from seed.demo_bench import BENCH_NAME, DemoBench
from seed.purchasing import OVERSEAS_SUPPLIER, order_parts, receive_parcel, whole_packs
from seed.repairs import close_job, name_suspects, open_job
from seed.wrong_guess import HUM

LIST_ORDER_DAYS = (17, 10, 5)  # days ago on which the owner followed the reorder list
COOLING = "Cooling fault, stops after ten minutes"
PARTS_SHORT_TODAY = 8  # parts that are to be on the reorder list
FANS = ("FN-301", "FN-302")
NEXT_SHORT_PARTS = (
    "HW-710",
    "OT-809",
    "CN-203",
    "HW-709",
    "CN-201",
    "MD-507",
    "CN-105",
    "OT-808",
    "MD-520",
    "MD-512",
)
"""What is used up before anything else that is near its reorder point."""

TWO_FAULTS = (
    "Two things are broken at once: a pair of output transistors has a short, and the relay that protects the "
    "loudspeakers is welded shut. Everything else measures well."
)
PRICED_LINES = (
    NoticeLine("A matched pair of output transistors", 2480), NoticeLine("A relay for the loudspeakers", 950)
)  # fmt: skip


def schedule_last_days(bench: DemoBench) -> None:
    """Write the last weeks into the diary."""
    for days in LIST_ORDER_DAYS:
        bench.just(days, "18:10", lambda: _order_from_list(bench))
    bench.just(18, "09:35", lambda: _late_order(bench))
    bench.just(8, "09:15", lambda: _half_an_order(bench))
    _open_swap_tests(bench)
    _waiting_jobs(bench)
    steps = [(days, hour) for days in (5, 4, 3, 2, 1) for hour in ("10:50", "12:20", "15:05")]
    for days, hour in steps:
        bench.just(days, hour, lambda: _make_parts_short(bench))
    bench.just(1, "17:50", lambda: _draft(bench))
    bench.just(1, "18:00", lambda: _take_in_hand(bench))


# ---- orders ----------------------------------------------------------------------------------------------


def _order_from_list(bench: DemoBench) -> None:
    """Order what the list advises, but for overseas: that order waits until it is worth a parcel."""
    for suggested in order_suggestions.suggested_orders():
        key = next((key for key, supplier in bench.suppliers.items() if supplier.id == suggested.supplier_id), None)
        lines = [_order_line(advice) for advice in suggested.advices if advice.order]
        if key and key != OVERSEAS_SUPPLIER and lines:
            order_parts(bench, key, lines, note="From the reorder list")


def _order_line(advice: ReorderAdvice) -> NewOrderLine:
    assert advice.order is not None
    return NewOrderLine(advice.part.id, advice.order.quantity, advice.order.offer.id if advice.order.offer else None)


def _late_order(bench: DemoBench) -> None:
    """Two LED engines for a job, promised for last week; nobody has seen them yet."""
    job = open_job(bench, "C7", "Light dim or flickers", "Kittiwake Events")
    suspect = jobs.add_suspect(job.id, "LED engine", bench.id("MD-505"))
    jobs.set_verdict(suspect.id, "bad")
    jobs.set_need(job.id, bench.id("MD-505"), 2)
    jobs.mark_waiting(job.id, bench.parts["MD-505"].name)
    lines = [NewOrderLine(bench.id("MD-505"), 2, job_id=job.id), whole_packs(bench, "HW-709", 2)]
    _place_order(bench, "R", lines, note="Asked twice; they say it is on its way.")


def _place_order(
    bench: DemoBench, key: str, lines: list[NewOrderLine], note: str, expected_in: int | None = None
) -> int:
    drafted = orders.draft_order(bench.suppliers[key].id, lines, note=note, by=bench.owner)
    expected = None if expected_in is None else bench.today + timedelta(days=expected_in)
    return orders.place_order(drafted.id, by=bench.owner, expected=expected).id


def _half_an_order(bench: DemoBench) -> None:
    """An order of three lines, of which two came in the first parcel."""
    lines = [whole_packs(bench, number, 1) for number in ("CN-112", "OT-812", "CN-108")]
    placed = _place_order(bench, "N", lines, note="CN-108 is to follow.", expected_in=2)
    bench.just(3, "10:15", lambda: receive_parcel(bench, orders.order(placed).lines[:2]))


def _draft(bench: DemoBench) -> None:
    lines = [whole_packs(bench, number, 1) for number in ("CS-605", "OT-801", "CN-123")]
    orders.draft_order(
        bench.suppliers["Q"].id, lines, note="Next time somebody goes round the corner", by=bench.owner
    )


# ---- swap tests ------------------------------------------------------------------------------------------


def _open_swap_tests(bench: DemoBench) -> None:
    bench.just(
        4, "13:30", lambda: _start_swap_test(bench, "C-02", "C7", "No answer to DMX", "DMX board", bench.tomas)
    )
    bench.just(1, "16:40", lambda: _start_swap_test(bench, "C-12", "B4", "Overheats", "Fan", bench.ines))
    bench.just(6, "14:00", lambda: _still_no_pan(bench))
    bench.just(1, "10:15", lambda: _open_visitor_job(bench))
    bench.just(1, "17:05", lambda: _hums_again(bench))


def _start_swap_test(bench: DemoBench, name: str, model: str, symptom: str, suspect: str, by: int) -> int:
    job = open_job(bench, model, symptom)
    suspects = name_suspects(bench, job, model, symptom)
    return swap_tests.take_piece(bench.pieces[name], job.id, suspect_id=suspects[suspect], by=by).loan.id


def _still_no_pan(bench: DemoBench) -> None:
    """A head does not pan with the proved driver board either: is it the head, or the board by now?"""
    loan_id = _start_swap_test(bench, "C-08", "C7", "No pan", "Driver board", bench.tomas)
    bench.diary.later(0, "16:30", lambda: _end_without_result(bench, loan_id))


def _end_without_result(bench: DemoBench, loan_id: int) -> None:
    ended = swap_tests.bring_back_piece(loan_id, "still fails", by=bench.tomas)
    bench.story_ids["no pan job"] = ended.loan.job_id
    note = "No pan with C-08 as well. Next: the pan header, then the harness."
    jobs.edit_job(ended.loan.job_id, note=note)


def _open_visitor_job(bench: DemoBench) -> None:
    """The job of a first visit: a cooling fault, with the proved fan C-07 on its shelf."""
    job = open_job(bench, "C7", COOLING, "Lantern Street Theatre")
    suspects = name_suspects(bench, job, "C7", COOLING)
    with clock.freeze_at(clock.now() + timedelta(minutes=25)):
        warm = "Warmed with hot air: it reads what it should."
        sensor = suspects["Temperature sensor"]
        evidence.record_observation(job.id, "measured", suspect_id=sensor, says_bad=False, by=bench.ines, note=warm)
    jobs.edit_job(job.id, note="Runs cold, stops after ten minutes with the cover on. The fan turns.")
    bench.story_ids["cooling job"] = job.id


def _hums_again(bench: DemoBench) -> None:
    """The same complaint that once cost an amplifier module, with that module on the shelf as a proved spare."""
    job = open_job(bench, "T12", HUM, "Kittiwake Events")
    suspects = name_suspects(bench, job, "T12", HUM)
    with clock.freeze_at(clock.now() + timedelta(minutes=15)):
        good = "Ground pin reads 20 milliohms, unplugged and discharged."
        plug = suspects["Internal plug"]
        evidence.record_observation(job.id, "measured", suspect_id=plug, says_bad=False, by=bench.ines, note=good)
    bench.story_ids["hum job"] = job.id


# ---- jobs that wait, and parts that run short ------------------------------------------------------------


def _waiting_jobs(bench: DemoBench) -> None:
    bench.just(2, "09:40", lambda: _many_faders(bench))
    bench.just(5, "10:30", lambda: _ask_price(bench))


def _many_faders(bench: DemoBench) -> None:
    """A desk that fell needs more motorised faders than there are."""
    job = open_job(bench, "S24", "Faders do not move", "Saltmarket Arts Centre")
    name_suspects(bench, job, "S24", "Faders do not move")
    jobs.set_need(job.id, bench.id("MD-514"), bench.on_shelf("MD-514") + 4)
    jobs.set_need(job.id, bench.id("HW-708"), 4)
    jobs.mark_waiting(job.id, bench.parts["MD-514"].name)


def _ask_price(bench: DemoBench) -> None:
    """Two things are bad at once in an amplifier, so the price is asked before anything is fitted."""
    job = open_job(bench, "B2", "Goes into protection", "Greyfriars School")
    suspects = name_suspects(bench, job, "B2", "Goes into protection")
    observations = (
        ("Output transistors", True, "One pair reads as a short, with the supply off."),
        ("Relay", True, "Two ohms across the closed contacts."),
        ("Protection board", False, "Lets the relay in when the pair is lifted."),
    )
    for name, says_bad, note in observations:
        evidence.record_observation(
            job.id, "measured", suspect_id=suspects[name], says_bad=says_bad, by=bench.ines, note=note
        )
    with clock.freeze_at(clock.now() + timedelta(minutes=20)):
        notices.record_notice(
            job.id, found=TWO_FAULTS, lines=PRICED_LINES, work_minor=6400, ready=bench.today + timedelta(days=4),
            unsafe=True, bench=BENCH_NAME, by=bench.ines,
        )  # fmt: skip


def _make_parts_short(bench: DemoBench) -> None:
    """Let a job use up a part, fans first, unless enough of them are short already."""
    short = {advice.part.number for advice in reorder_list.reorder_list()}
    fans = [number for number in FANS if number not in short]
    if _use_up(bench, fans, most_over=4) or (fans and _renew_a_rig(bench, fans[0])):
        return
    if len(short) < PARTS_SHORT_TODAY:
        _use_up(bench, [part for part in bench.sheets.parts if part not in short and part not in FANS], most_over=3)


def _renew_a_rig(bench: DemoBench, number: str) -> bool:
    """Renew the fans of a whole rig when the shelf is still full of them: use not to be expected again."""
    advice = reorder_list.advice_for_parts([bench.id(number)])[bench.id(number)]
    over = min(advice.position - advice.reorder_point, bench.on_shelf(number))
    if over <= 0:
        return False
    model = next(cause.model for cause in bench.sheets.causes if cause.part == number)
    job = open_job(bench, model, "Fans of a whole rig to be renewed before the tour", "Low Tide Touring")
    bench.pull(number, over, job.id, bench.ines, one_off=True)
    return True


def _use_up(bench: DemoBench, numbers: Sequence[str], most_over: int) -> bool:
    """Book a job on one of these parts that is near its reorder point; tell whether there was one."""
    near = []
    for part in reorder_list.advice_for_parts([bench.id(number) for number in numbers]).values():
        over = part.position - part.reorder_point
        if part.reorder_point >= 0 and 0 < over <= most_over and bench.on_shelf(part.part.number):
            near.append((part.part.number not in NEXT_SHORT_PARTS, over, part.part.number))
    for _, over, number in sorted(near):
        cause = next((cause for cause in bench.sheets.causes if cause.part == number), None)
        if cause is not None:
            _open_job_for(bench, cause, min(over, max(cause.pieces), bench.on_shelf(number)))
            return True
    return False


def _open_job_for(bench: DemoBench, cause: CauseRow, pieces: int) -> JobRecord:
    job = open_job(bench, cause.model, cause.symptom)
    by = bench.rng.choice((bench.ines, bench.tomas))
    bench.pull(cause.part, pieces, job.id, by)
    if clock.now() < bench.ago(2, "00:00"):
        bench.diary.later(1, "14:45", lambda: close_job(bench, job, cause))
    return job


def _take_in_hand(bench: DemoBench) -> None:
    people.set_job_in_hand(bench.ines, bench.story_ids["cooling job"])
    people.set_job_in_hand(bench.tomas, bench.story_ids["no pan job"])
