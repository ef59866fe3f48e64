"""Stated chances held against what came, with scipy's distributions as the other way."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.reckoning.reorder.calibration import MAX_EXACT, CalibrationVerdict, calibrate, poisson_binomial


@given(st.integers(0, 60), st.floats(1e-6, 1) | st.just(0.0))
def test_equal_chances_give_the_binomial(number: int, chance: float) -> None:
    assert poisson_binomial(np.full(number, chance)) == pytest.approx(
        stats.binom.pmf(np.arange(number + 1), number, chance), abs=1e-12
    )


@given(st.lists(st.floats(0, 1), max_size=12))
def test_unequal_chances_give_the_poisson_binomial(chances: list[float]) -> None:
    assert poisson_binomial(np.array(chances)) == pytest.approx(
        stats.poisson_binom.pmf(np.arange(len(chances) + 1), chances) if chances else [1.0], abs=1e-9
    )


def test_it_names_the_range_that_chance_alone_explains() -> None:
    calibration = calibrate(np.full(200, 0.05), 12)
    assert (calibration.statements, calibration.expected, calibration.came) == (200, pytest.approx(10), 12)
    assert (calibration.low, calibration.high) == (
        stats.binom.ppf(0.025, 200, 0.05),
        stats.binom.ppf(0.975, 200, 0.05),
    )
    assert calibration.verdict is CalibrationVerdict.AS_STATED
    assert (calibration.stated, calibration.happened) == (pytest.approx(0.05), 0.06)


@pytest.mark.parametrize(
    ("statements", "chance", "came", "verdict"),
    [
        (0, 0.05, 0, CalibrationVerdict.TOO_FEW),
        (20, 0.05, 0, CalibrationVerdict.TOO_FEW),
        (20, 0.05, 3, CalibrationVerdict.TOO_FEW),
        (20, 0.05, 9, CalibrationVerdict.MORE),
        (200, 0.05, 0, CalibrationVerdict.LESS),
        (200, 0.05, 30, CalibrationVerdict.MORE),
        (60, 0.05, 3, CalibrationVerdict.AS_STATED),
        (10, 0.5, 5, CalibrationVerdict.AS_STATED),
        (50, 0.0, 0, CalibrationVerdict.TOO_FEW),
        (50, 0.0, 1, CalibrationVerdict.MORE),
        (5, 1.0, 5, CalibrationVerdict.AS_STATED),
    ],
)  # fmt: skip
def test_it_says_too_few_rather_than_guess(
    statements: int, chance: float, came: int, verdict: CalibrationVerdict
) -> None:
    assert calibrate(np.full(statements, chance), came).verdict is verdict


def test_it_says_how_many_it_takes() -> None:
    assert calibrate(np.full(20, 0.05), 0).enough == 60
    assert calibrate(np.full(200, 0.05), 10).enough == 200
    assert calibrate([], 0).enough == 0


def test_many_statements_are_judged_by_the_normal_curve_much_as_exactly() -> None:
    exact, near = calibrate(np.full(MAX_EXACT, 0.05), 150), calibrate(np.full(MAX_EXACT + 1, 0.05), 150)
    assert abs(exact.low - near.low) <= 2
    assert abs(exact.high - near.high) <= 2


def test_right_chances_are_called_wrong_no_more_often_than_one_time_in_twenty() -> None:
    rng = np.random.default_rng(5)
    wrong = 0
    for _ in range(400):
        chances = rng.uniform(0.01, 0.4, 80)
        hits = int((rng.random(80) < chances).sum())
        wrong += calibrate(chances, hits).verdict is not CalibrationVerdict.AS_STATED
    assert wrong / 400 <= 0.07
