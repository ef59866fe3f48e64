"""A plan as a file tells it: the dictionaries of costs and steps turned into checked records, or refused.

Two forms: ``plan_for_case`` takes a diagnosis case with an ``advice`` entry (costs, remedies, checks);
``plan_from_dict`` takes the form of ``tests/data/oracles/advice.json``, where nothing has been tried yet.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any, TypeVar

import numpy as np

from inventory.reckoning.common.value_checks import check_chance, check_count
from inventory.reckoning.diagnosis.case import LEAK, DiagnosisCase
from inventory.reckoning.diagnosis.posterior import MAX_NODES, Belief, diagnose
from inventory.reckoning.diagnosis.repair_plan import (
    ORDER,
    REPAIR,
    SPARE,
    BenchCosts,
    Measurement,
    Remedy,
    RepairPlan,
)

EXAMPLE_MINUTE_RATE = 0.8  # bench rate a minute of the worked cases
Record = TypeVar("Record", BenchCosts, Remedy, Measurement)


def belief_something_bad(names: Sequence[str], priors: Sequence[float], leak: float) -> Belief:
    """Return the belief at the complaint when nothing is known but that something is bad."""
    if len(names) >= MAX_NODES:
        raise ValueError(
            f"This case has {len(names)} suspects; {MAX_NODES - 1} is the most. Leave out the least likely."
        )
    if len({LEAK, *names}) <= len(names):
        raise ValueError(f"Each suspect needs a name of its own, other than {LEAK!r}.")
    weights = np.ones(1)
    for p in (leak, *priors):
        weights = np.multiply.outer(weights, np.array([1.0 - p, p])).reshape(-1)
    weights[0] = 0.0
    if weights.sum() <= 0.0:
        raise ValueError("Something is bad, but no suspect has a chance of it; give one, or raise the leak.")
    return Belief((LEAK, *names), weights / weights.sum())


def plan_for_case(case: DiagnosisCase, data: object) -> RepairPlan:
    """Return the plan for a diagnosed case; ``data`` has ``costs``, ``remedies`` and maybe ``checks``.

    A step names the thing now fitted, or the place that it is in. Raises ValueError with a sentence.
    """
    entries = _checked_mapping(data, 'The "advice" entry', {"costs", "remedies"}, {"checks"})
    seen = diagnose(case)
    costs = _parse_record(BenchCosts, entries["costs"], "The costs", {})
    remedies = [
        _parse_record(Remedy, item, f"Remedy {number}", seen.fitted)
        for number, item in enumerate(_checked_list(entries["remedies"], '"remedies"'), 1)
    ]
    checks = [
        _parse_record(Measurement, item, f"Check {number}", seen.fitted)
        for number, item in enumerate(_checked_list(entries.get("checks", []), '"checks"'), 1)
    ]
    return RepairPlan(seen.belief, tuple(remedies), tuple(checks), costs)


def plan_from_dict(data: object) -> RepairPlan:
    """Return the plan of one worked advice case; raise ValueError with a sentence that says what to mend."""
    if isinstance(data, Mapping) and "inputs" in data:
        data = data["inputs"]
    case = _checked_mapping(data, "The case", {"s", "leak", "wday", "B", "K", "mu", "phi", "r"}, {"n", "case"})
    suspects = [
        _checked_mapping(item, f"Suspect {number}", _SUSPECT_KEYS, {"name"})
        for number, item in enumerate(_checked_list(case["s"], '"s"'))
    ]
    if not suspects or ("n" in case and check_count(case["n"], '"n"') != len(suspects)):
        raise ValueError('"s" must list at least one suspect, and as many as "n" says.')
    names = [str(item.get("name", f"suspect {number}")) for number, item in enumerate(suspects)]
    priors = [check_chance(item["p"], f"The prior of {name}") for name, item in zip(names, suspects, strict=True)]
    costs = BenchCosts(EXAMPLE_MINUTE_RATE, case["wday"], case["B"], case["K"], case["r"], case["mu"], case["phi"])
    return RepairPlan(
        belief=belief_something_bad(names, priors, check_chance(case["leak"], "The leak")),
        remedies=tuple(_parse_remedy(name, item) for name, item in zip(names, suspects, strict=True)),
        checks=tuple(
            Measurement(name, item["mmin"], item["sens"], item["spec"])
            for name, item in zip(names, suspects, strict=True)
            if check_count(item["meas"], f"Whether {name} can be measured, 0 or 1,")
        ),
        costs=costs,
    )


_SUSPECT_KEYS = {"kind", "p", "price", "lead", "fixmin", "backmin", "q", "rho", "h", "meas", "mmin", "sens", "spec"}
_REMEDY_KINDS = (SPARE, ORDER, REPAIR)


def _parse_remedy(name: str, item: Mapping[str, Any]) -> Remedy:
    kind = check_count(item["kind"], f"The kind of {name}")
    if kind >= len(_REMEDY_KINDS):
        raise ValueError(f"The kind of {name} must be 0 (spare), 1 (order) or 2 (repair), not {kind}.")
    spoils, stays = (item["h"], item["rho"]) if _REMEDY_KINDS[kind] == REPAIR else (item["q"], item["q"])
    return Remedy(
        node=name,
        how=_REMEDY_KINDS[kind],
        minutes=item["fixmin"],
        bad_if_good=spoils,
        bad_if_bad=stays,
        price=item["price"],
        back_minutes=item["backmin"],
        lead_days=item["lead"],
    )


def _parse_record(kind: type[Record], data: object, where: str, fitted: Mapping[str, str]) -> Record:
    """Return a record with the entries of ``data``; a place stands for the thing that is in it now."""
    needed = {field.name for field in fields(kind) if field.default is MISSING}
    entries = dict(_checked_mapping(data, where, needed, {field.name for field in fields(kind)}))
    if "node" in entries:
        entries["node"] = fitted.get(str(entries["node"]), str(entries["node"]))
    return kind(**entries)


def _checked_list(data: object, what: str) -> list[Any]:
    if not isinstance(data, list):
        raise ValueError(f"{what} must be a list.")
    return data


def _checked_mapping(data: object, where: str, needed: set[str], allowed: set[str]) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise ValueError(f"{where} must be an object with named entries, not {type(data).__name__}.")
    missing, unknown = sorted(needed - set(data)), sorted(set(map(str, data)) - needed - allowed)
    if missing:
        raise ValueError(f'{where} lacks "{missing[0]}".')
    if unknown:
        known = ", ".join(sorted(needed | allowed))
        raise ValueError(f'{where} has an entry "{unknown[0]}" that means nothing here; it may hold {known}.')
    return data
