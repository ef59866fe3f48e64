"""Loading the demo bench: what a visitor finds on the morning of the day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from inventory.domain.buying import bag_receipts, orders
from inventory.domain.catalogue import bins, lots, parts, search, stock_totals
from inventory.domain.common import clock, code_lookup, shop
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import PartRecord
from inventory.domain.diagnosis import diagnose, step_durations
from inventory.domain.jobs import jobs, people
from inventory.domain.money import notices, wasted_purchases
from inventory.domain.movements import overview, pull
from inventory.domain.proof import loans, pieces, proofs
from inventory.domain.proof.proof_records import PieceStatus
from inventory.domain.quality import incoming_testing, recall, sent_back
from inventory.domain.quality.sent_back_records import DEAD_ON_ARRIVAL
from inventory.domain.reorder import reorder_list, stock_dates
from inventory.domain.stocktake import count_walks, level_readings
from inventory.pages.common import shop_screen
from inventory.store import verify
from inventory.store.connection import execute
from inventory.store.fields import to_micros
from seed.data_files import people as people_sheets
from seed.load import load_demo
from tests.factories import a_person
from tests.seed.conftest import TODAY, LoadedDemo

EIGHTEEN_MONTHS = 547


def the_part(number: str) -> PartRecord:
    """Return a part of the demo bench by its number."""
    record: PartRecord = next(part for part in parts.parts(find=number, limit=200).items if part.number == number)
    return record


def spares() -> dict[str, PieceStatus]:
    """Return the demo bench's spares by name."""
    return {piece.piece.name: piece for piece in pieces.pieces(spare=True, gone=None, limit=200).items}


# ---- the whole -------------------------------------------------------------------------------------------


def test_it_loads_in_seconds(demo: LoadedDemo) -> None:
    assert demo.seconds < 20  # about 6 on the development machine; the bar is for a machine under load


@pytest.mark.usefixtures("demo")
def test_it_leaves_a_ledger_that_is_sound() -> None:
    verification = verify.verify_ledger()
    assert verification.faults == []
    assert verification.lines > 1000


def test_it_says_what_it_loaded_and_how_to_sign_in(demo: LoadedDemo) -> None:
    text = str(demo.summary)
    assert "as of 11 Mar 2026" in text
    for sheet in people_sheets():
        assert f"{sheet.name:<8} {sheet.passphrase}" in text
        assert people.sign_in(sheet.name, sheet.passphrase, "127.0.0.1")[0].role == sheet.role
    for code in demo.summary.codes.values():
        assert code_lookup.resolve_code(code).code == code


def test_it_is_of_a_believable_size(demo: LoadedDemo) -> None:
    counts = demo.summary.counts
    assert 115 <= counts["parts"] <= 130
    assert 380 <= counts["jobs"] <= 430
    assert 60 <= counts["orders"] <= 130
    assert 1200 <= counts["movements"] <= 1800
    in_use = list(bins.bins(named=True, limit=200).items)
    assert 60 <= sum(not item.mixed for item in in_use) <= 70
    assert sum(item.mixed for item in in_use) >= 8
    assert len(bins.bins(named=False, limit=200).items) == 24


@pytest.mark.usefixtures("demo")
def test_it_tells_eighteen_months_in_order_and_nothing_of_today() -> None:
    first, last = execute("SELECT MIN(at), MAX(at) FROM movements").fetchone()
    assert (last - first) / 86_400e6 == pytest.approx(EIGHTEEN_MONTHS, abs=2)
    backwards = "SELECT COUNT(*) FROM movements a JOIN movements b ON b.id = a.id + 1 WHERE b.at < a.at"
    assert execute(backwards).fetchone()[0] == 0
    assert last < int(clock.now().timestamp() * 1e6) - 12 * 3600 * 1e6


# ---- what a visitor is shown -----------------------------------------------------------------------------


@pytest.mark.usefixtures("demo")
def test_it_has_something_to_order_fans_among_it_and_says_why() -> None:
    advised = reorder_list.reorder_list()
    assert 6 <= len(advised) <= 10
    fans = [advice for advice in advised if advice.part.kind == "fan"]
    assert {fan.part.number for fan in fans} == {"FN-301", "FN-302"}
    for fan in fans:
        assert fan.position <= fan.reorder_point
        assert fan.risk > 1 - fan.target
        assert fan.order is not None
        assert fan.order.quantity > 0
        assert any("times in the last 12 months" in sentence for sentence in fan.why)


@pytest.mark.usefixtures("demo")
def test_it_has_needs_that_wait_and_comes_to_them_first() -> None:
    waiting = jobs.jobs(status="waiting").items
    assert len(waiting) >= 3
    first = reorder_list.reorder_list()[0]
    assert first.short_for_jobs > 0


@pytest.mark.usefixtures("demo")
def test_its_log_has_taught_the_minutes_of_a_swap_test_and_of_a_proof_which_the_owner_reads_in_the_settings() -> None:
    learned = shop_screen.shop_screen().timed
    assert {
        name: (duration.timed >= step_durations.MIN_TIMED, duration.minutes) for name, duration in learned.items()
    } == {
        "minutes_swap": (True, shop.ShopConfig().minutes_swap),  # as assumed, so that no figure of the guides moves
        "minutes_proof": (True, shop.ShopConfig().minutes_proof),
    }


@pytest.mark.usefixtures("demo")
def test_it_has_two_swap_tests_open_one_of_them_overdue() -> None:
    assert {loan.shown_as for loan in loans.open_loans()} == {"C-02", "C-12"}
    assert [loan.shown_as for loan in loans.overdue_loans()] == ["C-02"]
    assert all(loan.suspect for loan in loans.open_loans())


@pytest.mark.usefixtures("demo")
def test_it_has_a_late_order_one_in_part_and_a_draft() -> None:
    late = orders.late_orders()
    assert any(line.part.number == "MD-505" for order in late for line in order.lines)
    placed = orders.orders(status="placed").items
    assert any({line.received > 0 for line in order.lines} == {True, False} for order in placed)
    assert len(orders.orders(status="draft").items) == 1


@pytest.mark.usefixtures("demo")
def test_it_has_dates_past_and_soon_with_something_left() -> None:
    dated = {
        holding.lot.best_before
        for number in ("CS-603", "CS-604", "CS-607")
        for holding in bins.holdings(part_id=the_part(number).id)
    }
    assert {TODAY - timedelta(9), TODAY + timedelta(6), TODAY + timedelta(21)} <= dated


@pytest.mark.usefixtures("demo")
def test_it_has_spares_of_every_standing() -> None:
    words = {name: spare.standing.word for name, spare in spares().items()}
    assert len(words) >= 12
    assert set(words.values()) == {"proved", "unproved", "lapsed", "doubtful", "failed"}
    assert words["C-05"] == "failed"
    assert words["C-08"] == "doubtful"
    assert words["C-01"] == words["C-04"] == "lapsed"


@pytest.mark.usefixtures("demo")
def test_it_can_be_pulled_from_and_lent_from_at_once() -> None:
    assert stock_totals.stock_of(the_part("CN-101").id).on_shelf >= 3
    in_hand = people.person_by_name("ines").job_in_hand_id
    assert in_hand is not None
    job = jobs.job(in_hand)
    assert job.status == "open"
    assert job.symptom.startswith("Cooling fault")
    assert {"Head fan", "Fan harness"} <= {suspect.name for suspect in jobs.suspects(job.id)}
    assert spares()["C-07"].where.state == "in bin"


# ---- the stories -----------------------------------------------------------------------------------------


@pytest.mark.usefixtures("demo")
def test_it_tells_of_the_module_bought_on_a_guess() -> None:
    spare = spares()["C-09"]
    assert (spare.part.number, spare.standing.word) == ("MD-510", "proved")
    swaps = loans.loans(piece_id=spare.piece.id, limit=50).items
    assert {swap.result for swap in swaps} == {"works with it", "still fails"}
    job = overview.job_overview(swaps[-1].job_id)
    assert {suspect.name: suspect.verdict for suspect in job.suspects}["Supply capacitor"] == "bad"
    assert [use.part.number for use in job.used] == ["OT-805"]
    bought = next(
        purchase
        for purchase in wasted_purchases.wasted_purchases().items
        if purchase.job and purchase.job.id == job.job.id
    )
    assert [fate.told for fate in bought.fates] == ["C-09"]
    before = "SELECT COALESCE(SUM(quantity), 0) FROM movements WHERE part_id = ? AND at < ?"
    assert execute(before, spare.part.id, to_micros(job.job.opened)).fetchone()[0] == 0  # none on the shelf that day


@pytest.mark.usefixtures("demo")
def test_it_has_a_fan_proved_when_it_came_and_swapped_since() -> None:
    spare = spares()["C-07"]
    assert (spare.part.number, spare.standing.word) == ("FN-301", "proved")
    first = proofs.proofs(piece_id=spare.piece.id, limit=50).items[-1]
    assert (first.procedure, first.passed, first.at.date()) == ("Fan bench run", True, spare.piece.created.date())
    results = {loan.result for loan in loans.loans(piece_id=spare.piece.id, limit=50).items}
    assert results == {"works with it", "still fails"}


@pytest.mark.usefixtures("demo")
def test_it_tells_of_the_lot_that_turned_out_bad() -> None:
    held_lots = lots.lots(on_hold=True, part_id=the_part("CN-101").id).items
    assert len(held_lots) == 1
    lot_screen = overview.lot_overview(held_lots[0].id)
    assert lot_screen.part.number == "CN-101"
    assert lot_screen.left >= 20
    assert len(lot_screen.jobs) >= 5
    assert len(lots.lots(maker_lot=held_lots[0].maker_lot).items) == 2  # another part out of the same bag
    with pytest.raises(Conflict, match="is on hold"):
        pull.pull(lot_id=held_lots[0].id, job_id=jobs.jobs(status="open").items[0].id)


@pytest.mark.usefixtures("demo")
def test_it_has_customers_to_call_about_that_lot_and_a_unit_that_is_still_here() -> None:
    lines = recall.recall(lots.lots(on_hold=True, part_id=the_part("CN-101").id).items[0].id).lines
    assert sum(line.seen_to is not None for line in lines) == 2
    assert [line.job.status for line in lines if line.job.status != "closed"] == ["waiting"]


@pytest.mark.usefixtures("demo")
def test_it_has_two_faults_at_once_measured_before_the_price_is_asked() -> None:
    job = next(job for job in jobs.jobs(status="waiting").items if job.waiting_for == notices.WAITING_FOR_ANSWER)
    chances = {suspect.name: suspect.p_bad for suspect in diagnose.diagnose_job(job.id).suspects}
    assert min(chances["Output transistors"], chances["Relay"]) > 0.5 > chances["Protection board"]
    (notice,) = notices.notices(job.id)
    assert (notice.answer, notice.total_minor, notice.unsafe) == ("", 9830, True)
    assert "Together: 98.30 EUR" in notice.text


@pytest.mark.usefixtures("demo")
def test_it_has_a_count_walk_under_way_with_a_difference_to_review() -> None:
    walk = count_walks.list_walks(open_=True)[0]
    assert 0 < walk.to_count < walk.bins
    assert walk.differ == 1
    assert len(count_walks.list_walks(open_=False)) >= 10


@pytest.mark.usefixtures("demo")
def test_it_has_opened_lots_and_a_moisture_clock_that_runs() -> None:
    assert [bag.floor is not None and not bag.floor.bake for bag in stock_dates.open_bags()] == [True]
    paste = [holding.lot for holding in bins.holdings(part_id=the_part("CS-603").id)]
    assert all(lot.opened is not None for lot in paste)
    assert all(level_readings.level_readings(lot.id) for lot in paste)


@pytest.mark.usefixtures("demo")
def test_it_has_a_bag_half_tested_fans_to_reject_and_headers_that_passed() -> None:
    waiting = {check.part.number: check for check in incoming_testing.waiting_checks()}
    assert {number: (check.progress, check.verdict, check.holds) for number, check in waiting.items()} == {
        "CN-103": ("2 of 5", "", True), "FN-307": ("2 of 4", "reject", True),
    }  # fmt: skip
    assert [check.outcome for check in incoming_testing.checks(open_=False).items] == ["accepted"]
    assert "is above" in waiting["FN-307"].results[1].failed_reading


@pytest.mark.usefixtures("demo")
def test_it_tells_of_the_supply_that_was_dead_on_arrival() -> None:
    dead = sent_back.list_sent_back(waits=False).items[0]
    assert (dead.part.number, dead.cause, dead.supplier) == ("PS-401", DEAD_ON_ARRIVAL, "Farreach Trading")
    assert dead.got_minor == dead.expected_minor
    assert [item.part.number for item in sent_back.list_sent_back(waits=True).items] == ["FN-308"]


@pytest.mark.usefixtures("demo")
def test_it_tells_of_a_hold_that_was_nothing() -> None:
    ended = execute("SELECT outcome FROM holds WHERE ended IS NOT NULL").fetchall()
    assert len(ended) == 1
    assert "all good" in ended[0][0]


@pytest.mark.usefixtures("demo")
def test_it_has_special_orders_and_use_not_to_be_expected_again() -> None:
    special = execute("SELECT COUNT(*) FROM parts WHERE catalogued_for_id IS NOT NULL").fetchone()[0]
    assert special == 6
    one_off = execute("SELECT COUNT(DISTINCT job_id) FROM movements WHERE one_off").fetchone()[0]
    assert one_off >= 4


@pytest.mark.usefixtures("demo")
def test_it_reads_bottles_by_level_and_never_pulls_them() -> None:
    by_level = [part for part in parts.parts(kind="consumable", limit=200).items if part.kept == "by level"]
    assert len(by_level) >= 12
    ids = {part_id.id for part_id in by_level}
    moved = execute("SELECT part_id, kind, COUNT(*) FROM movements GROUP BY part_id, kind").fetchall()
    assert {kind for part, kind, _ in moved if part in ids} == {"receive", "count"}
    assert all(any(part == part_id and kind == "count" for part, kind, _ in moved) for part_id in ids)


@pytest.mark.usefixtures("demo")
def test_it_has_lead_times_learned_from_every_supplier_it_buys_from() -> None:
    learned = {
        part.lead.supplier: part.lead.deliveries for part in reorder_list.advice_for_parts(_every_part()).values()
    }
    assert set(learned) == {"Northgate Components", "Quayside Spares", "Farreach Trading", "Rookery Spares Desk"}
    assert min(learned.values()) >= 3


def _every_part() -> list[int]:
    return [part.id for part in parts.parts(limit=200).items]


@pytest.mark.usefixtures("demo")
def test_it_has_bags_whose_printed_code_is_understood() -> None:
    part = the_part("FN-303")
    printed = [lot for lot in lots.lots(part_id=part.id, limit=200).items if lot.raw_code]
    suggestion = bag_receipts.suggest_receipt(printed[0].raw_code)
    assert suggestion.part == part
    assert (suggestion.quantity, suggestion.maker_lot) == (printed[0].quantity, printed[0].maker_lot)
    assert printed[0].id in {earlier.id for earlier in suggestion.again}


@pytest.mark.usefixtures("demo")
def test_it_is_found_by_the_search_field() -> None:
    hits = search.search("60 mm fan tach")
    assert hits[0].id == the_part("FN-301").id


# ---- refusals --------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize("what", ["person", "part"])
def test_it_refuses_a_database_that_is_in_use(what: str) -> None:
    person: Any = a_person() if what == "person" else parts.add_part("P-1", "4-way header", "connector")
    with pytest.raises(Conflict, match="in use already: the demo bench goes into an empty one only"):
        load_demo(date(2026, 3, 11))
    assert person.id
    assert execute("SELECT COUNT(*) FROM movements").fetchone()[0] == 0
