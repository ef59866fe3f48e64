"""Quantities and money: typed, refused, shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.quantities import (
    CURRENCY_EXPONENTS,
    MAX_QUANTITY,
    UNIT_FACTORS,
    BadQuantity,
    check_quantity,
    format_money,
    format_quantity,
    parse_money,
    parse_quantity,
)

units = st.sampled_from(sorted(UNIT_FACTORS))
currencies = st.sampled_from(sorted(CURRENCY_EXPONENTS))


@pytest.mark.parametrize(
    ("text", "unit", "amount"),
    [
        ("12", "piece", 12),
        (" 12 pcs ", "piece", 12),
        ("3x", "piece", 3),
        ("1 500", "piece", 1500),
        ("1'500", "piece", 1500),
        ("1\u00a0500 pcs", "piece", 1500),
        ("１２", "piece", 12),
        ("+4", "piece", 4),
        ("4.0", "piece", 4),
        ("250 ml", "ml", 250),
        ("250ML", "ml", 250),
        ("0.5 l", "ml", 500),
        (",5 l", "ml", 500),
        ("1.5 m", "mm", 1500),
        ("1,5 m", "mm", 1500),
        ("1.500 m", "mm", 1500),
        ("20 cm", "mm", 200),
        ("0,25 kg", "g", 250),
        ("1.25 g", "mg", 1250),
        ("1,234.5 m", "mm", 1_234_500),
        ("1.234,5 m", "mm", 1_234_500),
        ("1 234,5 m", "mm", 1_234_500),
        ("1000000000", "piece", MAX_QUANTITY),
    ],
)
def test_it_reads_what_people_type(text: str, unit: str, amount: int) -> None:
    assert parse_quantity(text, unit) == amount


@pytest.mark.parametrize(
    ("text", "unit", "sentence"),
    [
        ("", "piece", "Nothing was entered: write a quantity, such as 12."),
        ("a dozen", "piece", "'a dozen' is not a quantity, such as 12."),
        ("1e3", "piece", "'1e3' is not a quantity, such as 12."),
        ("nan", "mm", "'nan' is not a quantity, such as 1.5 m."),
        ("٣", "piece", "'٣' is not a quantity, such as 12."),
        ("½", "piece", "'½' is not a quantity, such as 12."),
        ("<b>2</b>", "piece", "'<b>2</b>' is not a quantity, such as 12."),
        ("-3", "piece", "The quantity must be at least 1 piece; -3 was given."),
        ("−3", "piece", "The quantity must be at least 1 piece; -3 was given."),
        ("0", "ml", "The quantity must be at least 1 ml; 0 was given."),
        ("1000000001", "piece", "The quantity cannot be more than 1000000000; look for a digit too many."),
        ("9" * 60, "piece", f"'{'9' * 30}…' is not a quantity, such as 12."),
        ("1.5", "piece", "'1.5' is not a whole number of pieces: the smallest step is 1."),
        ("0.0005 m", "mm", "'0.0005 m' is not a whole number of mm: the smallest step is 1."),
        (
            "12a",
            "piece",
            "This part is kept in pieces, not in 'a': write one of piece, pieces, pc, pcs, pce, each, ea, x.",
        ),
        ("2 kg", "ml", "This part is kept in ml, not in 'kg': write one of ml, cl, dl, l, litre, liter."),
        ("1,500", "piece", "'1,500' can be read in two ways: write 1500, or 1.5 if you mean that."),
        ("2.000", "piece", "'2.000' can be read in two ways: write 2000, or 2 if you mean that."),
        ("1,500 m", "mm", "'1,500 m' can be read in two ways: write 1500, or 1.5 if you mean that."),
        (
            "1.2.3",
            "mm",
            "'1.2.3' does not read as one number: write digits and at most one decimal sign.",
        ),
        (
            "12 34",
            "piece",
            "'12 34' does not read as one number: write digits and at most one decimal sign.",
        ),
    ],
)
def test_it_refuses_with_a_sentence(text: str, unit: str, sentence: str) -> None:
    with pytest.raises(BadQuantity) as refusal:
        parse_quantity(text, unit)
    assert str(refusal.value) == sentence


def test_it_takes_nothing_for_an_answer_where_nothing_is_one() -> None:
    assert parse_quantity("0", "ml", minimum=0) == 0
    with pytest.raises(BadQuantity, match=r"The quantity cannot be negative; -1 was given\."):
        parse_quantity("-1", "ml", minimum=0)


def test_it_checks_whole_numbers_that_came_by_another_door() -> None:
    assert check_quantity(5, "piece") == 5
    with pytest.raises(BadQuantity, match=r"must be at least 1 piece; 0 was given\."):
        check_quantity(0, "piece")
    with pytest.raises(BadQuantity, match="look for a digit too many"):
        check_quantity(MAX_QUANTITY + 1, "piece")


@pytest.mark.parametrize(
    ("amount", "unit", "text"),
    [
        (1, "piece", "1 piece"),
        (0, "piece", "0 pieces"),
        (1500, "piece", "1500 pieces"),
        (-1, "piece", "-1 piece"),
        (999, "mm", "999 mm"),
        (1000, "mm", "1 m"),
        (1500, "mm", "1.5 m"),
        (-2500, "ml", "-2.5 l"),
        (250, "ml", "250 ml"),
        (1005, "g", "1.005 kg"),
        (2000, "mg", "2 g"),
        (100_000, "mm", "100 m"),
    ],
)
def test_it_shows_quantities_as_people_say_them(amount: int, unit: str, text: str) -> None:
    assert format_quantity(amount, unit) == text


@given(st.integers(1, MAX_QUANTITY), units)
def test_it_reads_back_what_it_shows(amount: int, unit: str) -> None:
    assert parse_quantity(format_quantity(amount, unit), unit) == amount


@given(st.text(max_size=50), units)
def test_it_gives_a_whole_number_in_range_or_a_sentence(text: str, unit: str) -> None:
    try:
        amount = parse_quantity(text, unit)
    except BadQuantity as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017 - both outcomes are right
    else:
        assert type(amount) is int
        assert 1 <= amount <= MAX_QUANTITY


@pytest.mark.parametrize(
    ("text", "currency", "minor"),
    [
        ("12.50", "EUR", 1250),
        ("12,50", "EUR", 1250),
        ("€12.5", "EUR", 1250),
        ("12,50 €", "EUR", 1250),
        ("EUR 12.50", "EUR", 1250),
        ("12 eur", "EUR", 1200),
        ("1,250.00", "USD", 125_000),
        ("$1,250.00", "USD", 125_000),
        ("1.250,00", "EUR", 125_000),
        ("1 250,00", "EUR", 125_000),
        ("1250", "JPY", 1250),
        ("1.234", "KWD", 1234),
        ("0", "GBP", 0),
        (".99", "GBP", 99),
        ("5.", "GBP", 500),
    ],
)
def test_it_reads_sums(text: str, currency: str, minor: int) -> None:
    assert parse_money(text, currency) == minor


@pytest.mark.parametrize(
    ("text", "currency", "sentence"),
    [
        ("", "EUR", "Nothing was entered: write a sum of money, such as 12.50 EUR."),
        ("free", "EUR", "'free' is not a sum of money, such as 12.50 EUR."),
        ("12 boxes", "EUR", "'12 boxes' is not a sum of money, such as 12.50 EUR."),
        ("12 USD", "EUR", "Prices here are in EUR, not in 'USD': convert it first."),
        ("12 £", "EUR", "Prices here are in EUR, not in '£': convert it first."),
        ("12.505", "EUR", "'12.505' has too many decimal places: EUR has 2."),
        ("12.5", "JPY", "'12.5' has too many decimal places: JPY has 0."),
        ("1,250", "EUR", "'1,250' can be read in two ways: write 1250, or 1.25 if you mean that."),
        ("-1", "EUR", "A sum cannot be negative; '-1' was given."),
        (
            "99999999999",
            "EUR",
            "A sum cannot be more than 10000000.00 EUR; look for a digit too many.",
        ),
    ],
)
def test_it_refuses_a_sum_with_a_sentence(text: str, currency: str, sentence: str) -> None:
    with pytest.raises(BadQuantity) as refusal:
        parse_money(text, currency)
    assert str(refusal.value) == sentence


@given(st.integers(0, MAX_QUANTITY), currencies)
def test_it_reads_back_the_sums_it_shows(minor: int, currency: str) -> None:
    assert parse_money(format_money(minor, currency), currency) == minor


def test_it_shows_sums_with_the_places_of_their_currency() -> None:
    assert format_money(5, "EUR") == "0.05 EUR"
    assert format_money(-1250, "EUR") == "-12.50 EUR"
    assert format_money(1250, "JPY") == "1250 JPY"
    assert format_money(1234, "KWD") == "1.234 KWD"
