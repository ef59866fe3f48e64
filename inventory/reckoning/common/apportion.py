"""Shares out whole units so that nothing is lost: fair shares rounded down, the rest to the largest remainders."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.reckoning.common.value_checks import check_amount, check_count


def apportion_units(total: int, weights: Sequence[float]) -> list[int]:
    """Return whole shares of *total* in proportion to *weights*, adding up to it exactly.

    The largest remainders get what rounding down left over (Hamilton's method), the earlier one of two alike.
    """
    check_count(total, "What is shared out")
    whole = sum(check_amount(weight, "A weight") for weight in weights)
    if whole <= 0.0:
        raise ValueError("Somebody must have a weight above 0 to share with.")
    fair = [total * weight / whole for weight in weights]
    shares = [int(share) for share in fair]
    order = sorted(range(len(fair)), key=lambda place: (shares[place] - fair[place], place))
    for place in order[: total - sum(shares)]:
        shares[place] += 1
    return shares
