"""Plans of incoming checks: how much of each delivery of a part, or of a supplier, is tested before it is used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from peewee import JOIN

from inventory.domain.buying.incoming_records import MAX_TESTS, IncomingPlanRecord, PassChance, PlanExample, PlanText
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.common.records import from_row
from inventory.domain.common.validation import get_row, update_versioned
from inventory.reckoning.proof.standing import chance_text
from inventory.reckoning.quality.acceptance import (
    SamplingPlan,
    acceptance_chance,
    plan_for_confidence,
    plan_from_numbers,
)
from inventory.store.connection import transaction
from inventory.store.tables import IncomingPlan, Part, Supplier

EXAMPLE_SIZES = (5, 20, 100)  # deliveries, as examples of what a plan means
EXAMPLE_BAD_SHARES = (0.05, 0.2)  # shares of bad ones in those examples
NOT_CHECKED = "Deliveries are not checked, whatever the supplier's plan says."


def plans() -> list[IncomingPlanRecord]:
    """Return every plan, those of parts first, by name."""
    query = IncomingPlan.select(IncomingPlan, Part, Supplier).join(Part, JOIN.LEFT_OUTER).switch(IncomingPlan)
    records = [_record(one) for one in query.join(Supplier, JOIN.LEFT_OUTER)]
    return sorted(records, key=lambda one: (one.part_id is None, one.of, one.part_id or one.supplier_id))


def plan(*, part_id: int | None = None, supplier_id: int | None = None) -> IncomingPlanRecord:
    """Return the plan of a part or of a supplier; raise NotFound when it has none of its own."""
    owner = _plan_owner(part_id, supplier_id)
    row = _find_plan_row(part_id, supplier_id)
    if row is None:
        raise NotFound(f"{owner.name} has no plan for incoming checks: set one first.")
    return _record(row)


def find_plan(*, part_id: int | None = None, supplier_id: int | None = None) -> IncomingPlanRecord | None:
    """Return the plan of a part or of a supplier, if it has one of its own."""
    _plan_owner(part_id, supplier_id)
    row = _find_plan_row(part_id, supplier_id)
    return None if row is None else _record(row)


def plan_for_delivery(part: Any, supplier_id: int | None) -> Any | None:
    """Return the plan (row) by which a delivery of *part* (row) is checked: the part's own, else the supplier's."""
    if not is_checkable(part):
        return None
    row = _find_plan_row(part.id, None) or (None if supplier_id is None else _find_plan_row(None, supplier_id))
    return None if row is None or row.test == 0 else row


def is_checkable(part: Any) -> bool:
    """Tell whether units of a *part* (row or record) can be tested one by one."""
    return bool(part.unit == "piece" and part.kept != "by level")


def set_plan(
    *, part_id: int | None = None, supplier_id: int | None = None, version: int | None = None, hold: bool = True,
    test: int | None = None, accept: int = 0, sure: float | None = None, most_bad: float | None = None,
) -> IncomingPlanRecord:  # fmt: skip
    """Set how each delivery of a part or of a supplier is checked, in place of the plan before.

    Either *test* so many and *accept* at most so many bad ones (test 0: none are tested), or be *sure* (a chance)
    that at most the share *most_bad* is bad. *hold*: nobody takes from the lot until it is checked.
    """
    columns = _validated_plan(test, accept, sure, most_bad)
    with transaction():
        owner = _plan_owner(part_id, supplier_id)
        if part_id is not None and not is_checkable(owner):
            raise Conflict(
                f"{owner.name} is not kept in pieces: it cannot be tested one by one.", reason="not_in_pieces"
            )
        if supplier_id is not None and test == 0:
            raise _invalid_plan("test", "Test at least 1 of what a supplier sends, or take its plan away.")
        row = _find_plan_row(part_id, supplier_id)
        if row is None:
            row = IncomingPlan.create(part=part_id, supplier=supplier_id, **columns, hold=bool(hold))
        else:
            update_versioned(row, "plan", version, **columns, hold=bool(hold))
        return _record(_find_plan_row(part_id, supplier_id))


def drop_plan(*, part_id: int | None = None, supplier_id: int | None = None) -> None:
    """Delete a plan: later deliveries are not checked by it. Open checks go on."""
    with transaction():
        _plan_owner(part_id, supplier_id)
        row = _find_plan_row(part_id, supplier_id)
        if row is not None:
            IncomingPlan.delete().where(IncomingPlan.id == row.id).execute()


def required_sample(plan: Any, pieces: int) -> SamplingPlan:
    """Return what a plan or a check (row or record) asks of a lot of so many pieces."""
    if plan.test is not None:
        return plan_from_numbers(pieces, plan.test, plan.accept)
    return plan_for_confidence(pieces, plan.sure, plan.most_bad, plan.accept)


def preview_plan(
    *, test: int | None = None, accept: int = 0, sure: float | None = None, most_bad: float | None = None,
    hold: bool = True, sizes: Sequence[int] = EXAMPLE_SIZES,
) -> PlanText:  # fmt: skip
    """Return what a plan would mean, before it is saved; raise Invalid for one that makes no sense."""
    columns = _validated_plan(test, accept, sure, most_bad)
    return _plan_text(IncomingPlan(**columns, hold=hold), sizes)


def plan_example(
    pieces: int, *, test: int | None = None, accept: int = 0, sure_percent: float | None = None,
    bad_percent: float | None = None,
) -> PlanExample:  # fmt: skip
    """Return the sample for a lot of so many *pieces*; chances are in per cent."""
    sure, bad = (None if percent is None else percent / 100 for percent in (sure_percent, bad_percent))
    return preview_plan(test=test, accept=accept, sure=sure, most_bad=bad, sizes=(pieces,)).examples[0]


# ---- validation ------------------------------------------------------------------------------------------


def _validated_plan(test: Any, accept: Any, sure: Any, most_bad: Any) -> dict[str, Any]:
    """Return a plan's columns; raise Invalid when they make no sense."""
    _require_integer(accept, "accept", 0, "How many bad ones are accepted")
    if (test is None) == (sure is None and most_bad is None):
        raise _invalid_plan(
            "test", "Say how many to test, or how sure to be that at most what share is bad: one of the two."
        )
    if test is not None:
        _require_integer(test, "test", 0, "How many to test")
        if test and accept >= test:
            sentence = f"Of {test} tested, {accept} may be bad: nothing would ever be refused. Accept fewer."
            raise _invalid_plan("accept", sentence)
        return {"test": test, "accept": accept, "sure": None, "most_bad": None}
    for name, value, question in (("sure", sure, "how sure to be"), ("most_bad", most_bad, "what share may be bad")):
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0.001 <= value <= 0.999:
            raise _invalid_plan(name, f"Say {question}, from 0.1 to 99.9 %.")
    return {"test": None, "accept": accept, "sure": float(sure), "most_bad": float(most_bad)}


def _require_integer(value: Any, name: str, least: int, subject: str) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MAX_TESTS:
        raise _invalid_plan(name, f"{subject} is a whole number from {least} to {MAX_TESTS}.")


def _invalid_plan(name: str, sentence: str) -> Invalid:
    return Invalid(sentence, reason="bad_plan", errors={name: [sentence]})


def _plan_owner(part_id: int | None, supplier_id: int | None) -> Any:
    if (part_id is None) == (supplier_id is None):
        raise Invalid("Say of which part, or of which supplier, the plan is: one of the two.")
    return get_row(Part, part_id, "part") if part_id is not None else get_row(Supplier, supplier_id, "supplier")


def _find_plan_row(part_id: int | None, supplier_id: int | None) -> Any | None:
    condition = IncomingPlan.part == part_id if part_id is not None else IncomingPlan.supplier == supplier_id
    return IncomingPlan.get_or_none(condition)


# ---- words -----------------------------------------------------------------------------------------------


def _record(row: Any) -> IncomingPlanRecord:
    owner_name = row.part.name if row.part_id is not None else row.supplier.name
    return from_row(IncomingPlanRecord, row, of=owner_name, said=_plan_text(row, EXAMPLE_SIZES))


def _plan_text(row: Any, sizes: Sequence[int]) -> PlanText:
    if row.test == 0:
        return PlanText(NOT_CHECKED, ())
    hold_sentence = "Nobody takes from it until that is done." if row.hold else "It may be used meanwhile."
    return PlanText(
        f"{_describe_requirement(row)} {hold_sentence}", tuple(_example_for_size(row, pieces) for pieces in sizes)
    )


def _describe_requirement(row: Any) -> str:
    if row.test is not None:
        return f"Test {row.test} of each delivery; {describe_acceptance(row.accept)}."
    bad = f", letting up to {row.accept} bad of those tested pass" if row.accept else ""
    return (
        f"Test as many of each delivery as make one {chance_text(row.sure)} sure that at most "
        f"{chance_text(row.most_bad)} of it are bad{bad}."
    )


def describe_acceptance(accept: int) -> str:
    """Say how many bad ones a sample may have."""
    return f"{f'at most {accept}' if accept else 'none'} of them may be bad"


def _example_for_size(row: Any, pieces: int) -> PlanExample:
    sample = required_sample(row, pieces)
    passes = tuple(
        PassChance(share, acceptance_chance(pieces, share, sample))
        for share in EXAMPLE_BAD_SHARES
        if round(share * pieces) >= 1
    )
    return PlanExample(pieces, sample.tests, sample.accept, passes)
