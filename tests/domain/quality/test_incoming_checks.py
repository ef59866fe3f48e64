"""Incoming checks: plans, testing at the bench, verdicts, and what becomes of the lot."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.buying import incoming_plans
from inventory.domain.buying import suppliers as selling
from inventory.domain.buying.incoming_records import IncomingCheckRecord
from inventory.domain.catalogue import lots
from inventory.domain.catalogue.stock_totals import stock_of
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.common.records import PartRecord
from inventory.domain.diagnosis import new_parts, swap_tests
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.proof import pieces
from inventory.domain.quality import incoming_testing, recall
from inventory.pages.quality.incoming_screen import incoming_check_screen
from inventory.store import verify
from inventory.store.tables import Lot
from tests.factories import a_bin, a_job, a_part, a_person
from tests.proof_factories import FAN_ATTRIBUTES, built_in_procedure_id, fan_readings

pytestmark = pytest.mark.usefixtures("bench")


def a_delivery(quantity: int = 20, part: PartRecord | None = None, **plan: Any) -> IncomingCheckRecord:
    """Set a plan (test 5 unless given), receive a delivery by it, and return the check that it began."""
    part = part or a_part()
    incoming_plans.set_plan(part_id=part.id, **(plan or {"test": 5}))
    receive.receive(part.id, quantity, a_bin(part).id)
    return incoming_testing.waiting_checks()[-1]


def after(check: IncomingCheckRecord, *results: bool) -> IncomingCheckRecord:
    """Note results one after the other."""
    for good in results:
        check = incoming_testing.record_result(check.id, good=good)
    return check


# ---- plans -----------------------------------------------------------------------------------------------


def test_a_plan_says_in_words_and_numbers_what_it_will_mean() -> None:
    plan = incoming_plans.preview_plan(sure=0.9, most_bad=0.05)
    assert plan.words == (
        "Test as many of each delivery as make one 90 % sure that at most 5 % of it are bad. "
        "Nobody takes from it until that is done."
    )
    assert [(example.pieces, example.tests) for example in plan.examples] == [(5, 5), (20, 14), (100, 32)]
    assert incoming_plans.preview_plan(test=5, accept=1, hold=False).words == (
        "Test 5 of each delivery; at most 1 of them may be bad. It may be used meanwhile."
    )


@pytest.mark.parametrize(
    "plan",
    [
        {}, {"test": 5, "sure": 0.9, "most_bad": 0.1}, {"test": 5, "accept": 5}, {"test": -1}, {"test": True},
        {"sure": 0.9}, {"sure": 1.0, "most_bad": 0.1}, {"sure": 0.9, "most_bad": 0.0}, {"test": 5, "accept": -1},
    ],
    ids=str,
)  # fmt: skip
def test_a_plan_that_cannot_be_is_refused_in_a_sentence(plan: dict[str, Any]) -> None:
    with pytest.raises(Invalid, match=r"\.$") as refused:
        incoming_plans.set_plan(part_id=a_part().id, **plan)
    assert refused.value.reason == "bad_plan"


def test_a_part_kept_by_level_cannot_be_tested_one_by_one() -> None:
    flux = a_part("flux", "consumable", kept="by level", unit="ml")
    with pytest.raises(Conflict, match="not kept in pieces"):
        incoming_plans.set_plan(part_id=flux.id, test=3)
    supplier = selling.add_supplier("Lowland").id
    incoming_plans.set_plan(supplier_id=supplier, test=3)
    assert not receive.receive(flux.id, 500, a_bin(flux).id, supplier_id=supplier).warnings


def test_the_parts_plan_goes_before_the_suppliers() -> None:
    supplier, part, other, free = selling.add_supplier("Lowland").id, a_part(), a_part(), a_part()
    incoming_plans.set_plan(supplier_id=supplier, test=2)
    incoming_plans.set_plan(part_id=part.id, test=7)
    incoming_plans.set_plan(part_id=free.id, test=0)
    for planned in (part, other, free):
        receive.receive(planned.id, 10, a_bin(planned).id, supplier_id=supplier)
    assert {check.part.id: check.tests for check in incoming_testing.waiting_checks()} == {part.id: 7, other.id: 2}
    incoming_plans.drop_plan(part_id=part.id)
    assert incoming_plans.find_plan(part_id=part.id) is None
    with pytest.raises(NotFound, match="no plan"):
        incoming_plans.plan(part_id=part.id)


def test_what_comes_from_elsewhere_is_not_checked() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=5)
    receive.receive(part.id, 5, a_bin(part).id, origin="found")
    assert incoming_testing.waiting_checks() == []


# ---- a delivery comes in ---------------------------------------------------------------------------------


def test_a_delivery_with_a_plan_is_held_until_it_is_tested() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=5)
    receipt = receive.receive(part.id, 20, a_bin(part).id)
    assert receipt.warnings == ("To be tested: 5 of 20. Nobody can take from the lot until then.",)
    assert receipt.made_lot is not None
    assert receipt.made_lot.on_hold
    lot = receipt.lot_ids[0]
    assert lots.holds(lot)[0].reason == "Incoming check: 5 to be tested, none of them may be bad"
    with pytest.raises(Conflict):
        pull.pull(lot_id=lot, job_id=a_job().id)
    with pytest.raises(Conflict, match="waits for its incoming check"):
        lots.release_lot(lot, "I looked at it")


def test_a_plan_may_let_the_lot_be_used_meanwhile() -> None:
    check = a_delivery(test=5, hold=False)
    assert not check.holds
    pull.pull(lot_id=check.lot.id, job_id=a_job().id)


def test_a_lot_smaller_than_the_plan_is_tested_whole() -> None:
    check = a_delivery(3, test=5)
    assert (check.tests, check.asks) == (3, "Test all 3; none of them may be bad.")


def test_a_question_finds_its_own_number() -> None:
    check = a_delivery(20, sure=0.9, most_bad=0.05)
    assert check.asks == "Test 14 of 20 to be 90 % sure that at most 5 % are bad; none of them may be bad."


def test_an_undone_receipt_needs_no_check() -> None:
    part = a_part()
    incoming_plans.set_plan(part_id=part.id, test=5)
    receipt = receive.receive(part.id, 20, a_bin(part).id)
    undo.undo(receipt.entry)
    assert incoming_testing.waiting_checks() == []
    closed = incoming_testing.checks(lot_id=receipt.lot_ids[0]).items[0]
    assert (closed.outcome, closed.reason) == ("called off", "The receipt was undone.")
    assert not lots.lot(receipt.lot_ids[0]).on_hold


# ---- testing ---------------------------------------------------------------------------------------------


def test_a_good_one_goes_back_and_a_bad_one_is_scrapped_in_the_same_act() -> None:
    check = after(a_delivery(test=5, accept=1), True, False)
    assert (check.progress, check.bad, check.left) == ("2 of 5", 1, 18)
    assert lots.remaining_by_lot([check.lot.id]) == {check.lot.id: 19}
    assert [result.fate for result in check.results] == ["back", "scrapped"]
    assert verify.verify_ledger().sound


def test_one_used_up_by_its_test_is_scrapped_though_it_was_good() -> None:
    check = incoming_testing.record_result(a_delivery().id, good=True, fate="scrapped")
    assert lots.remaining_by_lot([check.lot.id]) == {check.lot.id: 19}
    assert check.bad == 0


def test_one_that_gets_its_own_label_keeps_its_proof() -> None:
    check = incoming_testing.record_result(a_delivery(test=5, hold=False).id, good=True, fate="labelled", name="H-01")
    result = check.results[0]
    assert result.piece_name == "H-01"
    record = pieces.piece(result.piece_id or 0)
    assert record.standing.word == "proved"
    assert verify.verify_ledger().sound


def test_a_bad_one_may_not_go_back_among_the_others() -> None:
    check = a_delivery()
    with pytest.raises(Invalid, match="must not go back"):
        incoming_testing.record_result(check.id, good=False, fate="back")
    labelled = incoming_testing.record_result(check.id, good=False, fate="labelled")
    assert pieces.piece(labelled.results[0].piece_id or 0).standing.word == "failed"


def test_readings_are_judged_by_the_procedure() -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    check = a_delivery(10, fan, test=3)
    bench_run = built_in_procedure_id("Fan bench run")
    good = incoming_testing.record_result(check.id, procedure_id=bench_run, readings=fan_readings())
    assert [reading.says for reading in good.results[0].readings][:1] == ["Current 0.14 A"]
    bad = incoming_testing.record_result(check.id, procedure_id=bench_run, readings=fan_readings(Current="0.3")[:1])
    assert (bad.bad, bad.verdict) == (1, "reject")
    assert bad.results[1].failed_reading == "Current 0.3 A is above 0.15 A"


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ([{"name": "Current", "value": "140", "unit": "mA"}], "bad_reading"),
        ([{"name": "Current", "value": "0.14", "unit": "A"}], "reading_missing"),
        ([{"name": "Weight", "value": "1", "unit": "g"}], "bad_reading"),
        ([{"name": "Current", "value": "many", "unit": "A"}], "bad_reading"),
    ],
)
def test_what_cannot_be_a_test_is_refused_and_changes_nothing(readings: list[dict[str, str]], reason: str) -> None:
    check = a_delivery(10, a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES))
    with pytest.raises(Invalid, match=r"\.$") as refused:
        incoming_testing.record_result(
            check.id, procedure_id=built_in_procedure_id("Fan bench run"), readings=readings
        )
    assert refused.value.reason == reason
    assert incoming_testing.check(check.id).tested == 0


def test_good_or_bad_must_be_said_one_way() -> None:
    fan = a_part("24 V fan", "fan", attributes=FAN_ATTRIBUTES)
    check = a_delivery(10, fan)
    for procedure in (
        {},
        {"good": True, "procedure_id": built_in_procedure_id("Fan bench run")},
        {"good": True, "readings": [{}]},
    ):
        with pytest.raises(Invalid):
            incoming_testing.record_result(check.id, **procedure)  # type: ignore[arg-type]
    with pytest.raises(Conflict, match="is not for"):
        incoming_testing.record_result(
            check.id, procedure_id=built_in_procedure_id("Harness continuity"), readings=[]
        )


def test_pieces_are_drawn_by_lot_and_tested_once_each() -> None:
    board = a_part("driver board", "module", kept="individually")
    check = a_delivery(8, board, test=3, hold=False)
    drawn = incoming_check_screen(check.id).drawn
    assert len(drawn) == 3
    assert drawn == incoming_check_screen(check.id).drawn
    check = incoming_testing.record_result(check.id, good=True, piece_id=drawn[0].id)
    assert check.results[0].proof_id is not None
    assert pieces.piece(drawn[0].id).standing.word == "proved"
    with pytest.raises(Conflict, match="was tested already"):
        incoming_testing.record_result(check.id, good=True, piece_id=drawn[0].id)
    with pytest.raises(Conflict, match="say which piece"):
        incoming_testing.record_result(check.id, good=True)
    other = a_delivery(2, a_part("other board", "module", kept="individually"), test=1)
    with pytest.raises(Conflict, match="not of this lot"):
        incoming_testing.record_result(check.id, good=True, piece_id=incoming_check_screen(other.id).drawn[0].id)


def test_a_piece_that_is_lent_is_not_there_to_be_tested() -> None:
    check = a_delivery(2, a_part("driver board", "module", kept="individually"), test=2, hold=False)
    lent, left = incoming_check_screen(check.id).drawn
    swap_tests.take_piece(lent.id, a_job().id)
    screen = incoming_check_screen(check.id)
    assert (screen.check.tests, [drawn.id for drawn in screen.drawn]) == (1, [left.id])
    with pytest.raises(Conflict, match="is out with job"):
        incoming_testing.record_result(check.id, good=True, piece_id=lent.id)


def test_what_to_take_is_shared_out_over_the_bins() -> None:
    part = a_part()
    check = a_delivery(20, part, test=5)
    first = incoming_check_screen(check.id).places[0].bin.id
    adjustments.move(a_bin(part, walk=9).id, 8, bin_id=first, lot_id=check.lot.id)
    assert sorted((place.there, place.take) for place in incoming_check_screen(check.id).places) == [(8, 2), (12, 3)]


# ---- what a wrong result needs ---------------------------------------------------------------------------


def test_a_wrong_result_is_corrected_in_one_act_and_keeps_its_place() -> None:
    check = after(a_delivery(), True, False, True)
    wrong = check.results[1]
    check = incoming_testing.record_result(check.id, good=True, corrects=wrong.id)
    live = [result for result in check.results if result.struck is None]
    assert [(drawn.number, drawn.good) for drawn in live] == [(1, True), (2, True), (3, True)]
    assert lots.remaining_by_lot([check.lot.id]) == {check.lot.id: 20}
    assert verify.verify_ledger().sound


def test_a_result_taken_back_stays_in_the_history_with_its_reason() -> None:
    check = incoming_testing.record_result(a_delivery().id, good=False, fate="labelled", name="H-01")
    check = incoming_testing.take_back_result(check.id, check.results[0].id, reason="wrong meter range")
    assert (check.tested, check.left) == (0, 20)
    assert [(result.struck_reason, result.piece_name) for result in check.results] == [("wrong meter range", "H-01")]
    with pytest.raises(Conflict, match="taken back already"):
        incoming_testing.take_back_result(check.id, check.results[0].id, reason="again")
    with pytest.raises(NotFound):
        incoming_testing.take_back_result(a_delivery().id, check.results[0].id, reason="of another check")


def test_undoing_the_scrapping_in_the_history_takes_the_result_back() -> None:
    check = after(a_delivery(), False)
    undo.undo(check.results[0].entry or 0)
    check = incoming_testing.check(check.id)
    assert (check.tested, check.verdict) == (0, "")
    assert check.results[0].struck_reason == "What it did was undone."


# ---- deciding --------------------------------------------------------------------------------------------


def test_two_bad_of_five_says_what_to_expect_of_the_rest() -> None:
    check = after(a_delivery(test=5, accept=3, hold=False), True, False, True, False, True)
    assert check.says.startswith(
        "2 of 5 failed: expect about a third of the rest to be bad (9 times in 10 at most 11"
    )
    assert check.verdict == "accept"


def test_accepting_ends_the_hold() -> None:
    check = after(a_delivery(), *[True] * 5)
    assert check.verdict == "accept"
    closed = incoming_testing.close_as_tested(check.id, "accepted", by=a_person(name="ines").id)
    assert (closed.outcome, closed.overridden) == ("accepted", False)
    assert lots.holds(check.lot.id)[0].outcome == "Incoming check accepted: 0 of 5 failed"
    pull.pull(lot_id=check.lot.id, job_id=a_job().id)


def test_rejecting_keeps_the_lot_on_hold_with_the_result_as_its_reason() -> None:
    check = incoming_testing.close_as_tested(after(a_delivery(), True, False).id, "rejected")
    assert lots.holds(check.lot.id)[0].reason == "Incoming check rejected: 1 of 2 failed"
    used = after(a_delivery(hold=False, test=1), False)
    assert incoming_testing.close_as_tested(used.id, "rejected").lot.on_hold


def test_only_what_the_tests_say_can_be_closed_without_the_owner() -> None:
    check = after(a_delivery(), True)
    with pytest.raises(Conflict, match="1 of 5 tested: go on") as refused:
        incoming_testing.close_as_tested(check.id, "accepted")
    assert refused.value.reason == "not_decided"
    check = after(check, False)
    with pytest.raises(Conflict, match="is to be rejected: only the owner"):
        incoming_testing.close_as_tested(check.id, "accepted")
    with pytest.raises(Invalid, match="reason is missing"):
        incoming_testing.override_verdict(check.id, "accepted", reason=" ")
    closed = incoming_testing.override_verdict(check.id, "accepted", reason="only the plating is dull")
    assert (closed.overridden, closed.reason, closed.lot.on_hold) == (True, "only the plating is dull", False)


def test_a_closed_check_takes_nothing_more() -> None:
    check = incoming_testing.close_as_tested(after(a_delivery(), False).id, "rejected")
    for act in (
        lambda: incoming_testing.record_result(check.id, good=True),
        lambda: incoming_testing.take_back_result(check.id, check.results[0].id, reason="slip"),
        lambda: incoming_testing.close_as_tested(check.id, "rejected"),
        lambda: incoming_testing.override_verdict(check.id, "accepted", reason="no"),
        lambda: incoming_testing.call_off_check(check.id, reason="no"),
    ):
        with pytest.raises(Conflict) as refused:
            act()
        assert refused.value.reason == "check_closed"


def test_calling_it_off_ends_the_hold_and_says_why() -> None:
    check = incoming_testing.call_off_check(a_delivery().id, reason="tested by the maker")
    assert (check.outcome, check.reason, check.lot.on_hold) == ("called off", "tested by the maker", False)


def test_a_rejected_lot_can_be_sorted_to_the_last_one() -> None:
    rejected = incoming_testing.close_as_tested(after(a_delivery(4, test=2), True, False).id, "rejected")
    with pytest.raises(Conflict, match="finish its check first"):
        incoming_testing.sort_rejected_lot(a_delivery().id)
    sorting = incoming_testing.sort_rejected_lot(rejected.id)
    assert (sorting.tests, sorting.every, sorting.holds) == (3, True, True)
    sorting = after(sorting, True, False)
    assert sorting.verdict == ""
    sorting = incoming_testing.close_as_tested(after(sorting, True).id, "accepted")
    assert not sorting.lot.on_hold
    assert lots.remaining_by_lot([sorting.lot.id]) == {sorting.lot.id: 2}


def test_scrapping_the_rest_closes_the_check() -> None:
    check = after(a_delivery(), False)
    recall.scrap_rest(check.lot.id, "melted")
    assert (incoming_testing.check(check.id).outcome, incoming_testing.waiting_checks()) == ("called off", [])


# ---- lots that are not as they were ----------------------------------------------------------------------


def test_a_lot_used_meanwhile_is_judged_by_what_is_left_to_test() -> None:
    check = after(a_delivery(6, test=5, hold=False), True)
    pull.pull(4, lot_id=check.lot.id, job_id=a_job().id)
    check = incoming_testing.check(check.id)
    assert (check.left, check.tests) == (1, 2)
    assert after(check, True).verdict == "accept"


def test_a_lot_that_is_gone_has_nothing_to_test() -> None:
    check = a_delivery(6, test=5, hold=False)
    pull.pull(6, lot_id=check.lot.id, job_id=a_job().id)
    with pytest.raises(Conflict, match="No untested one"):
        incoming_testing.record_result(check.id, good=True)
    assert incoming_testing.waiting_checks() == []
    incoming_testing.override_verdict(check.id, "rejected", reason="they burn")
    assert lots.lot(check.lot.id).on_hold  # what the job has of it is to be recalled
    with pytest.raises(Conflict, match="Nothing of this lot is here"):
        incoming_testing.begin_check(check.lot.id, test=2)


def test_a_check_is_begun_by_hand_of_what_is_here() -> None:
    part = a_part()
    receipt = receive.receive(part.id, 20, a_bin(part).id)
    lot = receipt.lot_ids[0]
    pull.pull(12, lot_id=lot, job_id=a_job().id)
    check = incoming_testing.begin_check(lot, sure=0.8, most_bad=0.25)
    assert (check.pieces, check.tests, check.holds) == (8, 3, True)
    with pytest.raises(Conflict, match="being checked already"):
        incoming_testing.begin_check(lot, test=2)
    with pytest.raises(Invalid):
        incoming_testing.begin_check(lot, test=0)


def test_another_hold_is_not_ended_by_the_check() -> None:
    part = a_part()
    lot = receive.receive(part.id, 5, a_bin(part).id).lot_ids[0]
    lots.hold_lot(lot, "wrong plating")
    check = incoming_testing.begin_check(lot, test=1)
    assert not check.holds
    assert incoming_testing.close_as_tested(after(check, True).id, "accepted").lot.on_hold
    assert lots.release_lot(lot, "it is right").outcome == "it is right"


# ---- what the shop learns from it ------------------------------------------------------------------------


def test_what_was_tested_counts_for_the_next_one_out_of_the_lot() -> None:
    check = a_delivery(20, test=5, accept=4, hold=False)
    first = new_parts.p_good_of_lot(Lot.get_by_id(check.lot.id))
    after(check, False, False)
    now = new_parts.p_good_of_lot(Lot.get_by_id(check.lot.id))
    assert now < first - 0.03
    single = adjustments.single_out(incoming_check_screen(check.id).places[0].bin.id, check.lot.id).piece_ids[0]
    assert pieces.piece(single).standing.p_good == pytest.approx(now, abs=1e-3)


def test_the_stock_is_what_is_on_the_shelf_once_accepted() -> None:
    check = a_delivery(6, test=2)
    assert (stock_of(check.part.id).on_shelf, stock_of(check.part.id).on_hold) == (0, 6)
    incoming_testing.close_as_tested(after(check, True, True).id, "accepted")
    assert stock_of(check.part.id).on_shelf == 6
