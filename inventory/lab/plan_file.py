"""A plan as a file tells it: the dictionaries of costs and steps turned into checked records, or refused.

Two forms: ``plan_for_case`` takes a diagnosis case with an ``advice`` entry (costs, remedies, checks);
``plan_from_dict`` takes the form of ``tests/data/oracles/advice.json``, where nothing has been tried yet.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any, TypeVar

import numpy as np

from inventory.reckoning.common.value_checks import chance, count
from inventory.reckoning.diagnosis.case import LEAK, Case
from inventory.reckoning.diagnosis.next_step import ORDER, REPAIR, SPARE, Check, Costs, Plan, Remedy
from inventory.reckoning.diagnosis.posterior import Belief, diagnose

MINUTE_RATE = 0.8  # bench rate a minute of the worked cases
Record = TypeVar("Record", Costs, Remedy, Check)


def something_is_bad(names: Sequence[str], priors: Sequence[float], leak: float) -> Belief:
    """Return the belief at the complaint when nothing is known but that something is bad."""
    weights = np.ones(1)
    for p in (leak, *priors):
        weights = np.multiply.outer(weights, np.array([1.0 - p, p])).reshape(-1)
    weights[0] = 0.0
    if weights.sum() <= 0.0:
        raise ValueError("Something is bad, but no suspect has a chance of it; give one, or raise the leak.")
    return Belief((LEAK, *names), weights / weights.sum())


def plan_for_case(case: Case, data: object) -> Plan:
    """Return the plan for a diagnosed case; ``data`` has ``costs``, ``remedies`` and maybe ``checks``.

    A step names the thing now fitted, or the place that it is in. Raises ValueError with a sentence.
    """
    entries = _entries(data, 'The "advice" entry', {"costs", "remedies"}, {"checks"})
    seen = diagnose(case)
    costs = _record(Costs, entries["costs"], "The costs", {})
    remedies = [
        _record(Remedy, item, f"Remedy {number}", seen.fitted)
        for number, item in enumerate(_listed(entries["remedies"], '"remedies"'), 1)
    ]
    checks = [
        _record(Check, item, f"Check {number}", seen.fitted)
        for number, item in enumerate(_listed(entries.get("checks", []), '"checks"'), 1)
    ]
    return Plan(seen.belief, tuple(remedies), tuple(checks), costs)


def plan_from_dict(data: object) -> Plan:
    """Return the plan of one worked advice case; raise ValueError with a sentence that says what to mend."""
    if isinstance(data, Mapping) and "inputs" in data:
        data = data["inputs"]
    case = _entries(data, "The case", {"s", "leak", "wday", "B", "K", "mu", "phi", "r"}, {"n", "case"})
    suspects = [
        _entries(item, f"Suspect {number}", _SUSPECT, {"name"})
        for number, item in enumerate(_listed(case["s"], '"s"'))
    ]
    if not suspects or ("n" in case and count(case["n"], '"n"') != len(suspects)):
        raise ValueError('"s" must list at least one suspect, and as many as "n" says.')
    names = [str(item.get("name", f"suspect {number}")) for number, item in enumerate(suspects)]
    priors = [chance(item["p"], f"The prior of {name}") for name, item in zip(names, suspects, strict=True)]
    costs = Costs(MINUTE_RATE, case["wday"], case["B"], case["K"], case["r"], case["mu"], case["phi"])
    return Plan(
        belief=something_is_bad(names, priors, chance(case["leak"], "The leak")),
        remedies=tuple(_remedy(name, item) for name, item in zip(names, suspects, strict=True)),
        checks=tuple(
            Check(name, item["mmin"], item["sens"], item["spec"])
            for name, item in zip(names, suspects, strict=True)
            if item["meas"]
        ),
        costs=costs,
    )


_SUSPECT = {"kind", "p", "price", "lead", "fixmin", "backmin", "q", "rho", "h", "meas", "mmin", "sens", "spec"}
_HOW = (SPARE, ORDER, REPAIR)


def _remedy(name: str, item: Mapping[str, Any]) -> Remedy:
    kind = count(item["kind"], f"The kind of {name}")
    if kind >= len(_HOW):
        raise ValueError(f"The kind of {name} must be 0 (spare), 1 (order) or 2 (repair), not {kind}.")
    spoils, stays = (item["h"], item["rho"]) if _HOW[kind] == REPAIR else (item["q"], item["q"])
    return Remedy(
        node=name,
        how=_HOW[kind],
        minutes=item["fixmin"],
        bad_if_good=spoils,
        bad_if_bad=stays,
        price=item["price"],
        back_minutes=item["backmin"],
        lead_days=item["lead"],
    )


def _record(kind: type[Record], data: object, where: str, fitted: Mapping[str, str]) -> Record:
    """Return a record with the entries of ``data``; a place stands for the thing that is in it now."""
    needed = {field.name for field in fields(kind) if field.default is MISSING}
    entries = dict(_entries(data, where, needed, {field.name for field in fields(kind)}))
    if "node" in entries:
        entries["node"] = fitted.get(str(entries["node"]), str(entries["node"]))
    return kind(**entries)


def _listed(data: object, what: str) -> list[Any]:
    if not isinstance(data, list):
        raise ValueError(f"{what} must be a list.")
    return data


def _entries(data: object, where: str, needed: set[str], allowed: set[str]) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise ValueError(f"{where} must be an object with named entries, not {type(data).__name__}.")
    missing, unknown = sorted(needed - set(data)), sorted(set(map(str, data)) - needed - allowed)
    if missing:
        raise ValueError(f'{where} lacks "{missing[0]}".')
    if unknown:
        known = ", ".join(sorted(needed | allowed))
        raise ValueError(f'{where} has an entry "{unknown[0]}" that means nothing here; it may hold {known}.')
    return data
