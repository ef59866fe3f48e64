"""Checks of single values, shared by the reckoning: each refusal is a sentence that names the value."""

import math
from numbers import Integral, Real

MAX_AMOUNT = 1e12  # of money, minutes or days: sums and products of such amounts stay finite


def check_chance(value: object, what: str) -> float:
    """Return ``value`` as a probability from 0 to 1; raise ValueError for anything else."""
    number = _check_real(value, what)
    if not 0.0 <= number <= 1.0:
        raise ValueError(f"{what} must be a chance from 0 to 1, not {number:g}.")
    return number


def check_amount(value: object, what: str) -> float:
    """Return ``value`` as a number from 0 to ``MAX_AMOUNT``; raise ValueError for anything else."""
    number = _check_real(value, what)
    if number < 0.0:
        raise ValueError(f"{what} must not be negative, but it is {number:g}.")
    if number > MAX_AMOUNT:
        raise ValueError(f"{what} must be at most {MAX_AMOUNT:g}, but it is {number:g}.")
    return number


def check_positive(value: object, what: str) -> float:
    """Return ``value`` as a finite number above 0; raise ValueError for anything else."""
    number = _check_real(value, what)
    if number <= 0.0:
        raise ValueError(f"{what} must be more than 0, not {number:g}.")
    return number


def check_count(value: object, what: str, minimum: int = 0) -> int:
    """Return ``value`` as a whole number of at least ``minimum``; raise ValueError for anything else."""
    if isinstance(value, bool) or not isinstance(value, Integral):
        raise ValueError(f"{what} must be a whole number, not {value!r:.60}.")
    number = int(value)
    if number < minimum:
        raise ValueError(f"{what} must be at least {minimum}, not {number}.")
    return number


def check_flag(value: object, what: str) -> bool:
    """Return ``value`` if it is true or false; raise ValueError for anything else."""
    if not isinstance(value, bool):
        raise ValueError(f"{what} must be true or false, not {value!r:.60}.")
    return value


def _check_real(value: object, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise ValueError(f"{what} must be a number, not {value!r:.60}.")
    try:
        number = float(value)
    except OverflowError:
        raise ValueError(f"{what} is too large a number.") from None
    if not math.isfinite(number):
        raise ValueError(f"{what} must be a finite number, not {number}.")
    return number
