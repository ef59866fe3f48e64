"""What a check of a lot asks and what it says, in words and as plain numbers."""

from __future__ import annotations

from typing import Any

from inventory.domain.buying.incoming_plans import describe_acceptance
from inventory.domain.buying.incoming_records import UntestedRestRecord
from inventory.reckoning.proof.standing import chance_text
from inventory.reckoning.quality.acceptance import CONFIDENCE_LEVEL, LotEstimate, estimate_rest, fraction_text
from inventory.reckoning.quality.sampling import MAX_LOT_SIZE


def describe_requirement(check: Any, tests: int) -> str:
    """Say what a check (row) asks, *tests* of the lot being there to be tested."""
    if check.every:
        return "Test every one that is left: the bad ones are sorted out, the others pass."
    whole = tests == check.pieces
    number = f"all {tests}" if whole and tests > 1 else str(tests)
    if check.most_bad is None:
        return f"Test {number}; {describe_acceptance(check.accept)}."
    of_pieces = "" if whole else f" of {check.pieces}"
    question = f"{chance_text(check.sure)} sure that at most {chance_text(check.most_bad)} are bad"
    return f"Test {number}{of_pieces} to be {question}; {describe_acceptance(check.accept)}."


def estimate_untested(check: Any, tested: int, bad: int, figures: Any) -> LotEstimate:
    """Return what a check says of the untested rest, with the *figures* of the part's kind.

    A lot of more than 100,000 is judged as if it had so many.
    """
    pieces = min(max(check.pieces, tested), max(MAX_LOT_SIZE, tested))
    return estimate_rest(pieces, tested, bad, figures.beta_a, figures.beta_b)


def rest_record(estimate: LotEstimate) -> UntestedRestRecord:
    """Return the plain numbers of what is known of the rest."""
    return UntestedRestRecord(
        estimate.rest, estimate.mean_bad, estimate.share, estimate.low, estimate.high, estimate.p_all_good
    )


def describe_result(estimate: LotEstimate, tested: int, bad: int) -> str:
    """Say what *bad* of *tested* mean for the rest: "2 of 5 failed: expect about a third of the rest to be bad"."""
    if not tested:
        return "None is tested yet."
    failed = f"{bad if bad else 'None'} of {tested} failed"
    if not estimate.rest:
        return f"{failed}; all were tested, so there is no rest to wonder about."
    expect = f"{failed}: expect {fraction_text(estimate.share)} of the rest to be bad"
    return f"{expect} ({_describe_range(estimate)}).{_describe_all_good(estimate)}"


def _describe_range(estimate: LotEstimate) -> str:
    whole = f"of the other {estimate.rest}" if estimate.rest > 1 else "of the other one"
    sure = f"{CONFIDENCE_LEVEL * 10:.0f} times in 10"
    if estimate.high == 0:
        return f"{sure} none {whole}"
    return f"{sure} {f'{estimate.low} to' if estimate.low else 'at most'} {estimate.high} {whole}"


def _describe_all_good(estimate: LotEstimate) -> str:
    good = chance_text(estimate.p_all_good)
    return f" The chance that all the rest are good is {good}." if estimate.p_all_good >= 0.005 else ""
