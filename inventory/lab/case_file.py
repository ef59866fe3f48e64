"""Works out a case from a file as a what-if, touching no data: text comes in, plain values go out."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NoReturn

from inventory.domain.common.errors import Invalid
from inventory.lab.plan_file import plan_for_case, plan_from_dict
from inventory.reckoning.diagnosis.case import DiagnosisCase, case_from_dict
from inventory.reckoning.diagnosis.next_step import LOOKED_AHEAD, rank_steps
from inventory.reckoning.diagnosis.posterior import diagnose
from inventory.reckoning.diagnosis.repair_plan import RepairPlan


@dataclass(frozen=True)
class FileStep:
    """One possible next step of a case from a file, in the file's own money."""

    action: str
    node: str
    cost_now: float
    p_ends: float
    cost_after: float
    total: float


@dataclass(frozen=True)
class WhatIf:
    """What a case from a file comes to."""

    name: str
    p_bad: dict[str, float]
    p_evidence: float | None  # None: nothing was observed but that something is bad
    fault_sets: tuple[tuple[tuple[str, ...], float], ...]
    fitted: dict[str, str]
    repeats: tuple[int, ...]
    steps: tuple[FileStep, ...]  # cheapest first; empty unless advice was asked for


def what_if(text: str, *, advice: bool = False, looked_ahead: int = LOOKED_AHEAD) -> Iterator[WhatIf]:
    """Work out case after case of a file, given as JSON *text*, and with *advice* the next step of each.

    *looked_ahead*: how many of the best steps are looked at one step further.

    The file holds one case or ``{"cases": [...]}``. A case has ``prior`` and ``steps``, and ``advice`` (costs,
    remedies, checks) for the next step; or ``s`` and costs, where nothing has been tried yet. Raises Invalid with a
    sentence that says which entry to mend.
    """
    data = _parsed(text)
    cases = data["cases"] if isinstance(data, Mapping) and "cases" in data else [data]
    if not isinstance(cases, list) or not cases:
        raise Invalid('"cases" must be a list with at least one case.')
    for number, case in enumerate(cases, 1):
        try:
            yield (
                _plan_only(case, number, looked_ahead)
                if _is_plan(case)
                else _case(case, number, advice, looked_ahead)
            )
        except ValueError as bad:
            raise Invalid(f"Case {number}: {bad}" if len(cases) > 1 else str(bad)) from None


def _parsed(text: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_number, object_pairs_hook=_without_duplicates)
    except (ValueError, RecursionError) as bad:
        advice = "Look for a missing quote, comma or bracket, or a name given twice."
        raise Invalid(f"The file is not valid JSON: {bad}. {advice}") from None


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _without_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object that names one entry twice: the first would be lost without a word."""
    entries: dict[str, Any] = {}
    for name, value in pairs:
        if name in entries:
            raise ValueError(f"the entry {name!r:.60} stands twice in one object")
        entries[name] = value
    return entries


def _is_plan(data: Any) -> bool:
    return isinstance(data, Mapping) and ("inputs" in data or "s" in data)


def _plan_only(data: Mapping[str, Any], number: int, looked_ahead: int) -> WhatIf:
    """Work out a case in which nothing has been tried yet; it always has advice."""
    plan = plan_from_dict(data)
    belief, nodes = plan.belief, plan.belief.nodes
    share = belief.weights.reshape((2,) * len(nodes))
    p_bad = {name: float(share.take(1, axis).sum()) for axis, name in enumerate(nodes)}
    inside = data.get("inputs", data)
    name = str(inside.get("name", f"case {inside['case']}" if "case" in inside else f"case {number}"))
    return WhatIf(name, p_bad, None, (), {node: node for node in nodes[1:]}, (), _steps(plan, looked_ahead))


def _case(data: Any, number: int, advice: bool, looked_ahead: int) -> WhatIf:
    case: DiagnosisCase = case_from_dict(data)
    diagnosis = diagnose(case)
    steps: tuple[FileStep, ...] = ()
    if advice:
        if "advice" not in data:
            raise ValueError('For the next step the case needs an "advice" entry with "costs" and "remedies".')
        steps = _steps(plan_for_case(case, data["advice"]), looked_ahead)
    return WhatIf(
        case.name or f"case {number}",
        diagnosis.p_bad,
        diagnosis.p_evidence,
        diagnosis.fault_sets,
        diagnosis.fitted,
        diagnosis.repeats,
        steps,
    )


def _steps(plan: RepairPlan, looked_ahead: int) -> tuple[FileStep, ...]:
    return tuple(
        FileStep(
            step.action if step.remedy is None else step.remedy.how, step.node or "", step.cost_now, step.p_ends,
            step.total - step.cost_now, step.total,
        )
        for step in rank_steps(plan, looked_ahead)
    )  # fmt: skip
