"""Which spares are worth keeping: the yearly value against worked cases, the break-even against itself."""

import json
from dataclasses import replace

import pytest

from inventory.reckoning.diagnosis.spare_value import SpareCase, assess_spare_value, savings_to_date
from tests import ORACLES

ORACLE = ORACLES / "standing_lots_holding.json"
CASES = json.loads(ORACLE.read_text())["holding"]
NAMES = {
    "N": "jobs",
    "p": "p_bad",
    "price": "price",
    "L": "lead_days",
    "w": "waiting_day",
    "t_in": "minutes_in",
    "t_out": "minutes_out",
    "d": "harm",
    "g": "p_good",
    "k": "proofs",
    "alpha": "ordered_if_bad",
    "beta_": "ordered_if_good",
}
FAN = SpareCase(24, 0.3, 18, 5, minutes_in=12, minutes_out=8)


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_it_gives_the_value_of_the_worked_case_and_its_parts(case):
    worth = assess_spare_value(SpareCase(**{NAMES[key]: value for key, value in case["inputs"].items()}))
    expect = case["result"]
    computed = {
        "f": worth.ordered,
        "wrong_orders": worth.ordered_in_vain,
        "on_shelf": worth.on_shelf,
        "saving_per_job": worth.saving,
        "extra_minutes_money": 0.0,
        "misled": worth.misled,
        "damage": worth.damage,
        "hold_per_year": worth.holding,
        "value_per_year": worth.per_year,
    }
    assert computed == pytest.approx(expect, abs=1e-6)
    assert worth.break_even_jobs == pytest.approx(case["break_even_jobs"], abs=5e-4)


def test_it_is_worth_nothing_at_the_break_even_number_of_jobs():
    worth = assess_spare_value(FAN)
    assert assess_spare_value(replace(FAN, jobs=worth.break_even_jobs)).per_year == pytest.approx(0, abs=1e-9)


def test_it_says_when_no_number_of_jobs_makes_it_pay():
    hopeless = assess_spare_value(replace(FAN, price=5000, p_good=0.5, harm=0.5))
    assert hopeless.per_year < 0
    assert hopeless.break_even_jobs is None


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"p_bad": 1.2}, "The figure 'p_bad' must be a chance from 0 to 1, not 1.2."),
        ({"jobs": -1}, "The figure 'jobs' must not be negative, but it is -1."),
        ({"price": 0}, "The figure 'price' must be more than 0, not 0."),
        ({"lead_days": float("nan")}, "The figure 'lead_days' must be a finite number, not nan."),
    ],
)
def test_it_refuses_what_cannot_be(change, sentence):
    with pytest.raises(ValueError) as refusal:
        replace(FAN, **change)
    assert str(refusal.value) == sentence


def test_it_has_saved_a_saving_a_job_less_what_lying_there_cost():
    worth = assess_spare_value(FAN)
    assert savings_to_date(worth, 0, 2.0) == pytest.approx(-2 * worth.holding)
    one_more = savings_to_date(worth, 6, 2.0) - savings_to_date(worth, 5, 2.0)
    assert one_more == pytest.approx(worth.saving - worth.misled - worth.damage)
    with pytest.raises(ValueError, match="The number of jobs it was swapped on must be at least 0, not -1"):
        savings_to_date(worth, -1, 2.0)
