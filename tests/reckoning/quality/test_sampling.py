"""Lots: what a sample says about the rest, how many to test, and what a plan lets through."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.quality.sampling import (
    acceptance_chance_in_lot,
    acceptance_chance_large_lot,
    beta_binomial,
    defect_rate,
    estimate_rest_of_lot,
    rest_of_lot_text,
    sample_size,
    sample_size_from_prior,
)
from tests import ORACLES

FILE = json.loads((ORACLES / "standing_lots_holding.json").read_text())


@pytest.mark.parametrize("lot", FILE["lots"], ids=lambda lot: f"{lot['c']} of {lot['n']} of {lot['N']}")
def test_it_says_what_the_sample_says_about_the_rest(lot):
    rest = estimate_rest_of_lot(lot["N"], lot["n"], lot["c"], lot["a"], lot["b"])
    computed = {
        "p_next_good": rest.p_next_good,
        "p_all_rest_good": rest.p_all_good,
        "mean_bad_rest": rest.mean_bad,
        "upper95_doa": rest.share_below,
    }
    assert computed == pytest.approx({key: lot[key] for key in computed}, abs=6e-7)
    assert rest.chances.sum() == pytest.approx(1)
    assert rest.chances[: rest.most_bad + 1].sum() >= 0.95 - 1e-9
    assert rest.most_bad == 0 or rest.chances[: rest.most_bad].sum() < 0.95


# The plan n = 52, c = 3 of the NIST/SEMATECH e-Handbook of Statistical Methods, section on acceptance sampling:
# its table (from memory) agrees with these to .001; the six decimals were worked out independently.
PLAN = [
    0.998153, 0.979765, 0.929537, 0.845989, 0.738317, 0.619594,
    0.501847, 0.393763, 0.300280, 0.223187, 0.162066, 0.115198,
]  # fmt: skip


@pytest.mark.parametrize(("per_cent", "expected"), list(enumerate(PLAN, 1)))
def test_it_gives_the_operating_characteristic_of_the_published_plan(per_cent, expected):
    assert acceptance_chance_large_lot(52, 3, per_cent / 100) == pytest.approx(expected, abs=5.1e-7)


@pytest.mark.parametrize("row", FILE["oc"], ids=lambda row: f"{row['pd']:.0%}")
def test_it_gives_the_same_for_a_lot_of_known_size(row):
    computed = acceptance_chance_in_lot(10_000, round(row["pd"] * 10_000), 52, 3)
    assert computed == pytest.approx(row["hyper_N10000"], abs=5.1e-7)


def test_it_gives_the_chance_that_five_of_twenty_are_clean():
    computed = [acceptance_chance_in_lot(20, bad, 5, 0) for bad in range(5)]
    assert computed == pytest.approx(FILE["hyper_N20_n5_c0"], abs=5.1e-7)


@given(st.integers(1, 120), st.floats(0, 0.5), st.sampled_from([0.8, 0.9, 0.95]), st.integers(0, 2))
def test_it_finds_the_smallest_sample_that_makes_sure(pieces, share, sure, accept):
    n = sample_size(pieces, share, sure, accept)
    too_many = int(share * pieces + 1e-9) + 1
    if n == 0:
        assert too_many > pieces
        return
    if n < pieces:
        assert acceptance_chance_in_lot(pieces, too_many, n, accept) <= 1 - sure + 1e-9
    if n > 1:
        assert acceptance_chance_in_lot(pieces, too_many, n - 1, accept) > 1 - sure


@pytest.mark.parametrize(
    ("pieces", "share", "sure", "expected"),
    [
        (20, 0.05, 0.90, 14),  # 2 of 20 bad: C(18,n)/C(20,n) = (20-n)(19-n)/380 <= .1 first at n = 14
        (10, 0.0, 0.90, 9),  # 1 of 10 bad: (10-n)/10 <= .1 first at n = 9
        (100, 0.05, 0.90, 32),  # 6 of 100 bad: C(94,n)/C(100,n) is .1006 at 31 and .0936 at 32
        (5, 1.0, 0.90, 0),  # nothing can be more than all
    ],
)
def test_it_finds_sample_sizes_that_can_be_checked_by_hand(pieces, share, sure, expected):
    assert sample_size(pieces, share, sure) == expected


@given(st.integers(1, 80), st.floats(0, 0.3), st.floats(0.6, 0.99))
def test_it_finds_the_smallest_clean_sample_that_makes_sure_given_what_is_known_of_the_kind(pieces, share, sure):
    allowed = int(share * pieces + 1e-9) + 1
    n = sample_size_from_prior(pieces, share, sure, 1.0, 10.0)
    assert estimate_rest_of_lot(pieces, n, 0, 1.0, 10.0).chances[:allowed].sum() >= sure - 1e-9
    if n > 0:
        assert estimate_rest_of_lot(pieces, n - 1, 0, 1.0, 10.0).chances[:allowed].sum() < sure


def test_it_needs_to_test_fewer_when_the_kind_is_known_to_be_good():
    assert sample_size_from_prior(50, 0.05, 0.9, 0.5, 49.5) < sample_size(50, 0.05, 0.9)


def test_it_gives_a_dead_on_arrival_rate_with_its_uncertainty():
    fresh, known = defect_rate(0, 0, 0.5, 24.5), defect_rate(8, 400, 0.5, 24.5)
    assert fresh.mean == pytest.approx(0.02)
    assert known.mean == pytest.approx(8.5 / 425)
    assert fresh.low < known.low < known.mean < known.high < fresh.high
    # Beta(1, 1) and no test: the share is uniform, so the 90 % interval is .05 to .95.
    uniform = defect_rate(0, 0, 1, 1)
    assert (uniform.low, uniform.high) == (pytest.approx(0.05), pytest.approx(0.95))


def test_it_says_it_in_words():
    assert rest_of_lot_text(20, 5, 2, 0.5, 4.5) == (
        "2 of 5 tested were bad. Expect about 3.8 of the other 15 to be bad (25 %); the chance that all of them "
        "are good is 7.4 %, and it is 95 % sure that no more than 8 are bad."
    )
    assert rest_of_lot_text(10, 10, 1, 0.5, 24.5) == "1 of 10 tested was bad; there is no untested rest."
    assert rest_of_lot_text(10, 0, 0, 0.5, 24.5).startswith("None has been tested. Expect about 0.2 of the other 10")


@given(st.integers(0, 60), st.floats(0.1, 50), st.floats(0.1, 50))
def test_its_beta_binomial_is_a_distribution_with_the_right_mean(n, a, b):
    chances = beta_binomial(n, a, b)
    assert chances.sum() == pytest.approx(1, abs=1e-9)
    assert sum(k * p for k, p in enumerate(chances)) == pytest.approx(n * a / (a + b), abs=1e-7)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: estimate_rest_of_lot(5, 6, 0, 1, 1), "6 cannot be tested of a lot of 5."),
        (lambda: estimate_rest_of_lot(5, 3, 4, 1, 1), "4 cannot be bad of 3 tested."),
        (lambda: estimate_rest_of_lot(5, 3, 1, 0, 1), "The prior's a must be more than 0, not 0."),
        (lambda: estimate_rest_of_lot(-5, 0, 0, 1, 1), "The number of pieces in the lot must be at least 0, not -5."),
        (
            lambda: acceptance_chance_large_lot(52, 3, 1.5),
            "The share that is bad must be a chance from 0 to 1, not 1.5.",
        ),
        (lambda: acceptance_chance_large_lot(52, -1, 0.5), "The number accepted must be at least 0, not -1."),
        (lambda: acceptance_chance_large_lot(0, 0, 0.5), "The number tested must be at least 1, not 0."),
        (lambda: acceptance_chance_in_lot(10, 11, 5, 0), "11 cannot be bad in a lot of 10."),
        (
            lambda: sample_size(20, 0.05, 1.0),
            "Nothing short of testing every piece is 100% sure; ask for between 0 and 100 %.",
        ),
        (
            lambda: sample_size(200_000, 0.05, 0.9),
            "A lot of 200000 pieces is too large to work out exactly; split it below 100000.",
        ),
    ],
)
def test_it_refuses_what_cannot_be_with_a_sentence(make, sentence):
    with pytest.raises(ValueError) as refusal:
        make()
    assert str(refusal.value) == sentence
