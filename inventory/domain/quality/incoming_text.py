"""What a check of a lot asks and what it says, in words and as plain numbers."""

from __future__ import annotations

from typing import Any

from inventory.domain.buying.incoming_plans import may_be_bad
from inventory.domain.buying.incoming_records import RestRecord
from inventory.reckoning.proof.standing import percent
from inventory.reckoning.quality.acceptance import LEVEL, Told, fraction, told_by
from inventory.reckoning.quality.sampling import MOST_PIECES


def asks(check: Any, tests: int) -> str:
    """Say what a check (row) asks, *tests* of the lot being there to be tested."""
    if check.every:
        return "Test every one that is left: the bad ones are sorted out, the others pass."
    whole = tests == check.pieces
    number = f"all {tests}" if whole and tests > 1 else str(tests)
    if check.most_bad is None:
        return f"Test {number}; {may_be_bad(check.accept)}."
    of = "" if whole else f" of {check.pieces}"
    question = f"{percent(check.sure)} sure that at most {percent(check.most_bad)} are bad"
    return f"Test {number}{of} to be {question}; {may_be_bad(check.accept)}."


def told(check: Any, tested: int, bad: int, figures: Any) -> Told:
    """Return what a check says of the untested rest, with the *figures* of the part's kind.

    A lot of more than 100,000 is judged as if it had so many.
    """
    pieces = min(max(check.pieces, tested), max(MOST_PIECES, tested))
    return told_by(pieces, tested, bad, figures.beta_a, figures.beta_b)


def rest_record(found: Told) -> RestRecord:
    """Return the plain numbers of what is known of the rest."""
    return RestRecord(found.rest, found.mean_bad, found.share, found.low, found.high, found.p_all_good)


def says(found: Told, tested: int, bad: int) -> str:
    """Say what *bad* of *tested* mean for the rest: "2 of 5 failed: expect about a third of the rest to be bad"."""
    if not tested:
        return "None is tested yet."
    failed = f"{bad if bad else 'None'} of {tested} failed"
    if not found.rest:
        return f"{failed}; all were tested, so there is no rest to wonder about."
    expect = f"{failed}: expect {fraction(found.share)} of the rest to be bad"
    return f"{expect} ({_so_many(found)}).{_all_good(found)}"


def _so_many(found: Told) -> str:
    whole = f"of the other {found.rest}" if found.rest > 1 else "of the other one"
    sure = f"{LEVEL * 10:.0f} times in 10"
    if found.high == 0:
        return f"{sure} none {whole}"
    return f"{sure} {f'{found.low} to' if found.low else 'at most'} {found.high} {whole}"


def _all_good(found: Told) -> str:
    good = percent(found.p_all_good)
    return f" The chance that all the rest are good is {good}." if found.p_all_good >= 0.005 else ""
