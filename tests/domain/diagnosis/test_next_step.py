"""What to do next on a job: which steps there are, from real data, and what each costs in the end."""

from __future__ import annotations

import pytest

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import lots
from inventory.domain.common import shop
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import diagnose, evidence, job_closing, next_step, swap_tests
from inventory.domain.diagnosis.diagnosis_records import NextStepRecord, NextStepsRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import receive
from inventory.domain.proof import pieces, procedures, standings
from inventory.lab.plan_file import plan_for_case
from inventory.reckoning.diagnosis.case import case_from_dict
from inventory.reckoning.diagnosis.next_step import rank_steps
from inventory.store.tables import Part
from tests.factories import a_bin, a_job, a_part
from tests.proof_factories import FAN_ATTRIBUTES, a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


def a_cooling_job() -> tuple[JobRecord, dict[str, int]]:
    """Open a job with a fan that is sold but not here, a supply that lies on the shelf, and a joint to mend."""
    fan = a_part("24 V fan", "fan", number="FN-1", attributes=FAN_ATTRIBUTES)
    supply = a_part("36 V supply", "supply", number="PS-1")
    seller = suppliers.add_supplier("Northgate Components", lead_days=4, shipping_minor=600)
    suppliers.add_offer(fan.id, seller.id, 1800)
    suppliers.add_offer(supply.id, seller.id, 4500)
    receive.receive(supply.id, 1, a_bin(supply, name="B-04").id)
    job = a_job()
    parts = {"fan": fan.id, "supply": supply.id, "joint": None}
    return job, {name: jobs.add_suspect(job.id, name, part).id for name, part in parts.items()}


def a_proved_fan(name: str = "C-07") -> int:
    piece = a_piece(name, part_id=Part.get(Part.number == "FN-1").id)
    prove_fan(piece.id)
    return piece.id


def step(next_steps: NextStepsRecord, words: str) -> NextStepRecord:
    return next(step for step in next_steps.steps if step.words.startswith(words))


def test_it_offers_what_there_is_the_cheapest_in_expectation_first() -> None:
    job, _ = a_cooling_job()
    next_steps = next_step.next_steps(job.id)
    assert [step.words for step in sorted(next_steps.steps, key=lambda step_record: step_record.words)] == [
        "Fit a new supply from bin B-04", "Hand it back unmended", "Measure the fan", "Measure the joint",
        "Measure the supply", "Mend the joint", "Order a fan from Northgate Components, about 4 days",
    ]  # fmt: skip
    totals = [step.total_minor for step in next_steps.steps]
    assert totals == sorted(totals)
    assert all(step.cost_now_minor + step.cost_after_minor == step.total_minor for step in next_steps.steps)


def test_its_totals_are_those_of_the_reckoning_for_the_same_figures() -> None:
    """The same case written down as a file: the job's chances, and every figure of the shop by hand."""
    job, _ = a_cooling_job()
    good = standings.standing_of(a_proved_fan()).p_good
    fix = {"minutes": 20, "back_minutes": 10}
    lead = step(next_step.next_steps(job.id), "Order a fan").lead_days  # near the 4 days that are stated
    plan = plan_for_case(
        case_from_dict(diagnose.case_file(job.id)),
        {
            "costs": {"minute": 80, "waiting_day": 600, "give_up": 30000, "come_back": 8000},
            "remedies": [
                {"node": "fan", "how": "spare", "minutes": 15, "back_minutes": 10, "price": 1800, **bad(good)},
                {"node": "fan", "how": "order", **fix, "price": 1800, "lead_days": lead,
                 "extra": 200 + 600 / 4, **bad(0.98)},
                {"node": "supply", "how": "spare", **fix, "price": 4500, **bad(32 / 33)},
                {"node": "joint", "how": "repair", "minutes": 25, "bad_if_good": 0.01, "bad_if_bad": 0.1},
            ],
            "checks": [
                {"node": "fan", "minutes": 10, **by_procedure("Fan bench run")},
                {"node": "supply", "minutes": 10, "sens": 0.85, "spec": 0.95},
                {"node": "joint", "minutes": 10, "sens": 0.85, "spec": 0.95},
            ],
        },
    )  # fmt: skip
    by_hand = rank_steps(plan)
    steps = next_step.next_steps(job.id).steps
    assert [step.total_minor for step in steps] == pytest.approx([step.total for step in by_hand], abs=1)
    assert [step.cost_now_minor for step in steps] == pytest.approx([step.cost_now for step in by_hand], abs=1)
    assert [step.p_ends for step in steps] == pytest.approx([step.p_ends for step in by_hand], abs=1e-4)


def bad(good: float) -> dict[str, float]:
    return {"bad_if_good": 1 - good, "bad_if_bad": 1 - good}


def by_procedure(name: str) -> dict[str, float]:
    known = next(procedure for procedure in procedures.procedures() if procedure.name == name)
    return {"sens": known.sensitivity, "spec": known.specificity}


def test_a_proved_spare_says_where_it_is_and_what_it_is_worth() -> None:
    job, _ = a_cooling_job()
    piece = a_proved_fan()
    advised_step = step(next_step.next_steps(job.id), "Swap in C-07 for the fan, from bin")
    assert (
        advised_step.action,
        advised_step.how,
        advised_step.piece_id,
        advised_step.standing,
        advised_step.lead_days,
    ) == (
        "fix",
        "spare",
        piece,
        "proved",
        0,
    )
    assert advised_step.p_good is not None
    assert advised_step.p_good > 0.96
    assert advised_step.bin
    assert 0 < advised_step.p_ends < 1
    assert advised_step.price_minor == 1800  # what it costs to replace it, if it stays


def test_having_it_is_worth_the_days_that_an_order_would_wait() -> None:
    job, _ = a_cooling_job()
    without = next_step.next_steps(job.id).steps[0].total_minor
    a_proved_fan()
    assert next_step.next_steps(job.id).steps[0].total_minor < without


def test_a_spare_that_was_tried_there_is_not_advised_again_but_another_one_is() -> None:
    job, ids = a_cooling_job()
    swap_tests.bring_back_piece(
        swap_tests.take_piece(a_proved_fan(), job.id, suspect_id=ids["fan"]).loan.id, "still fails"
    )
    assert not [step for step in next_step.next_steps(job.id).steps if step.how == "spare"]
    a_proved_fan("C-08")
    assert step(next_step.next_steps(job.id), "Swap in C-08 for the fan")


@pytest.mark.parametrize("why", ["out", "on hold", "failed"])
def test_a_spare_that_is_not_free_or_has_failed_is_not_advised(why: str) -> None:
    job, _ = a_cooling_job()
    piece = a_proved_fan()
    if why == "out":
        swap_tests.take_piece(piece, a_job().id)
    elif why == "on hold":
        lots.hold_lot(pieces.piece(piece).lot.id, "two came back")
    else:
        prove_fan(piece, Speed="900")
    assert not [step for step in next_step.next_steps(job.id).steps if step.how == "spare"]


def test_what_was_measured_is_not_measured_again() -> None:
    job, ids = a_cooling_job()
    evidence.record_observation(job.id, "measured", suspect_id=ids["joint"], says_bad=False)
    assert not [step for step in next_step.next_steps(job.id).steps if step.words == "Measure the joint"]


def test_the_procedure_that_the_part_is_proved_by_says_what_measuring_it_is_worth() -> None:
    job, ids = a_cooling_job()
    procedures.install_built_in()
    assert step(next_step.next_steps(job.id), "Measure the fan").procedure_id is None  # several are for fans
    a_proved_fan()
    advised_step = step(next_step.next_steps(job.id), "Measure the fan (Fan bench run)")
    known = procedures.procedure(advised_step.procedure_id or 0)
    observation = evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True).evidence
    assert (observation.sensitivity, observation.specificity) == (known.sensitivity, known.specificity)


def test_a_procedure_of_the_part_itself_goes_before_all() -> None:
    job, ids = a_cooling_job()
    part = Part.get(Part.number == "PS-1")
    own = procedures.add_procedure("36 V under load", [{"name": "No smell"}], part_id=part.id, sensitivity=0.97)
    assert step(next_step.next_steps(job.id), "Measure the supply (36 V under load)").procedure_id == own.id
    assert (
        evidence.record_observation(job.id, "measured", suspect_id=ids["supply"], says_bad=False).evidence.sensitivity
        == 0.97
    )


def test_what_ordering_costs_comes_from_the_offers() -> None:
    job, _ = a_cooling_job()
    next_steps = next_step.next_steps(job.id)
    advised_step = step(next_steps, "Order a fan")
    assert (advised_step.price_minor, advised_step.minutes, advised_step.lead_days) == (
        1800,
        20,
        pytest.approx(4, abs=0.2),
    )
    shop.edit_shop(waiting_day_minor=0)
    cheaper = step(next_step.next_steps(job.id), "Order a fan")
    days = advised_step.lead_days
    assert advised_step.cost_now_minor - cheaper.cost_now_minor == pytest.approx(600 * days, abs=1)


def test_a_part_that_nobody_sells_says_so() -> None:
    job = a_job()
    jobs.add_suspect(job.id, "display", a_part("Display", "module").id)
    advised_step = step(next_step.next_steps(job.id), "Order a display (nobody is noted who sells it), about 7 days")
    assert advised_step.price_minor == 0


def test_when_the_unit_works_with_what_is_fitted_nothing_more_is_advised() -> None:
    job, ids = a_cooling_job()
    swap_tests.leave_piece_fitted(swap_tests.take_piece(a_proved_fan(), job.id, suspect_id=ids["fan"]).loan.id)
    next_steps = next_step.next_steps(job.id)
    assert (next_steps.steps, next_steps.sentence) == ((), next_step.NOTHING_TO_DO)


def test_it_gives_up_when_nothing_is_worth_its_cost() -> None:
    job, _ = a_cooling_job()
    shop.edit_shop(give_up_minor=100)
    next_steps = next_step.next_steps(job.id)
    assert next_steps.steps[0].action == "give up"
    assert next_steps.sentence == (
        "Nothing that can be done is worth its cost: hand it back unmended, or name another suspect."
    )


def test_it_shows_the_figures_it_rests_on_and_which_are_assumed() -> None:
    job, _ = a_cooling_job()
    shop.edit_shop(minute_minor=95)
    figures = {figure.name: figure for figure in next_step.next_steps(job.id).figures}
    assert (figures["minute_minor"].words, figures["minute_minor"].assumed) == (
        "What a minute at the bench costs, in minor units. 95", False,
    )  # fmt: skip
    assert figures["waiting_day_minor"].assumed


def test_it_looks_over_the_10_likeliest_suspects_and_names_the_rest() -> None:
    job = a_job()
    for number in range(17):
        jobs.add_suspect(job.id, f"suspect {number}")
    next_steps = next_step.next_steps(job.id)
    assert len({step.suspect for step in next_steps.steps if step.suspect}) == 10
    assert len(next_steps.left_out) == 7


def test_it_refuses_a_closed_job_and_one_without_suspects() -> None:
    job, _ = a_cooling_job()
    job_closing.close_with_causes(job.id)
    with pytest.raises(Conflict, match="is closed: reopen it"):
        next_step.next_steps(job.id)
    with pytest.raises(Conflict, match="No suspect is named"):
        next_step.next_steps(a_job().id)
