"""A case as a file tells it: the dictionary of a diagnosis case turned into checked records, or refused.

The form is that of ``tests/data/oracles/diagnosis.json``: ``prior`` (name -> chance of being bad before the
complaint), ``leak``, and ``steps`` in order, each with an ``op``. An ``advice`` entry is read by ``lab.plan_file``.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from inventory.reckoning.common.bayes import DEFAULT_MASK, DEFAULT_MISREAD
from inventory.reckoning.common.value_checks import check_chance, check_flag

LEAK = "leak"
DEFAULT_LEAK = 0.01  # assumed chance, before the complaint, of something that is not on the list
MAX_NAME_LENGTH = 80
MAX_LOG_STEPS = 500  # of one case: a job's log has a few dozen


@dataclass(frozen=True, slots=True)
class RunStep:
    """The unit was run with what is fitted; ``swap`` (place -> thing) replaces for this run only.

    ``masks`` holds (thing, its own mask) for things whose fault comes and goes; all others have ``mask``.
    """

    works: bool
    mask: float = DEFAULT_MASK
    misread: float = DEFAULT_MISREAD
    swap: tuple[tuple[str, str], ...] = ()
    masks: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureStep:
    """One thing was measured: ``sens`` = P(says bad | bad), ``spec`` = P(says good | good)."""

    node: str
    says_bad: bool
    sens: float
    spec: float


@dataclass(frozen=True, slots=True)
class AddSpareStep:
    """A spare or new part joins the case with its chance of being good."""

    name: str
    p_good: float


@dataclass(frozen=True, slots=True)
class ChangeStep:
    """A thing changed (repaired, exposed); from here on the thing in its place is the later one."""

    name: str
    parent: str
    bad_if_good: float
    bad_if_bad: float = 1.0


@dataclass(frozen=True, slots=True)
class FitStep:
    """A thing is left in a place."""

    place: str
    node: str


CaseStep = RunStep | MeasureStep | AddSpareStep | ChangeStep | FitStep


@dataclass(frozen=True, slots=True)
class DiagnosisCase:
    """Priors and the log of one job; ``prior`` holds (place, chance of being bad)."""

    prior: tuple[tuple[str, float], ...]
    leak: float
    steps: tuple[CaseStep, ...]
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse a case that names what is not there."""
        _validate_case(self)

    @property
    def places(self) -> tuple[str, ...]:
        """Return the places of the suspects, in order."""
        return tuple(name for name, _ in self.prior)


def case_from_dict(data: object) -> DiagnosisCase:
    """Return one checked case; raise ValueError with a sentence that says which entry to mend."""
    case = _checked_mapping(data, "The case", {"prior", "steps"}, {"leak", "name", "note", "expect", "advice"})
    prior = case["prior"]
    if not isinstance(prior, Mapping) or not prior:
        raise ValueError('"prior" must name at least one suspect with its chance of being bad.')
    steps = case["steps"]
    if not isinstance(steps, list):
        raise ValueError('"steps" must be a list, in the order in which things happened.')
    if len(steps) > MAX_LOG_STEPS:
        raise ValueError(
            f'"steps" has {len(steps)} entries; {MAX_LOG_STEPS} is the most. Leave out what says nothing new.'
        )
    return DiagnosisCase(
        prior=tuple(
            (_checked_name(name, "A suspect"), check_chance(p, f"The prior of {name!r}")) for name, p in prior.items()
        ),
        leak=check_chance(case.get("leak", DEFAULT_LEAK), "The leak"),
        steps=tuple(_parse_step(step, f"Step {number}") for number, step in enumerate(steps, 1)),
        name=str(case.get("name", "")),
    )


def case_to_dict(case: DiagnosisCase) -> dict[str, Any]:
    """Return a case in the form that ``case_from_dict`` reads: what it gives, reads back as the same case."""
    steps = [_step_to_dict(step) for step in case.steps]
    return {"name": case.name, "prior": dict(case.prior), "leak": case.leak, "steps": steps}


def _step_to_dict(step: CaseStep) -> dict[str, Any]:
    op = _OP_NAMES[type(step)]
    if isinstance(step, RunStep):
        run = {"op": op, "works": step.works, "mask": step.mask, "misread": step.misread, "swap": dict(step.swap)}
        return {**run, "masks": dict(step.masks)} if step.masks else run
    return {"op": op, **asdict(step)}


def _parse_step(data: object, where: str) -> CaseStep:
    op = data.get("op") if isinstance(data, Mapping) else None
    if not isinstance(data, Mapping) or not isinstance(op, str) or op not in _STEP_PARSERS:
        known = ", ".join(_STEP_PARSERS)
        raise ValueError(f'{where} must have an "op" that is one of {known}.')
    needed, allowed, read = _STEP_PARSERS[op]
    return read(_checked_mapping(data, where, needed | {"op"}, allowed | {"note"}), where)


def _parse_run(data: Mapping[str, Any], where: str) -> RunStep:
    swap = data.get("swap", {})
    if not isinstance(swap, Mapping):
        raise ValueError(f'{where}: "swap" must say which thing goes into which place.')
    masks = data.get("masks", {})
    if not isinstance(masks, Mapping):
        raise ValueError(f'{where}: "masks" must say which thing has which mask.')
    return RunStep(
        works=check_flag(data["works"], f'{where}: "works"'),
        mask=check_chance(data.get("mask", DEFAULT_MASK), f"{where}: the mask"),
        misread=check_chance(data.get("misread", DEFAULT_MISREAD), f"{where}: the misread chance"),
        swap=tuple(
            (_checked_name(p, f"{where}: a place"), _checked_name(n, f"{where}: a thing")) for p, n in swap.items()
        ),
        masks=tuple(
            (_checked_name(n, f"{where}: a thing"), check_chance(m, f"{where}: the mask of {n!r}"))
            for n, m in masks.items()
        ),
    )


def _parse_measure(data: Mapping[str, Any], where: str) -> MeasureStep:
    return MeasureStep(
        node=_checked_name(data["node"], f'{where}: "node"'),
        says_bad=check_flag(data["says_bad"], f'{where}: "says_bad"'),
        sens=check_chance(data["sens"], f"{where}: the sensitivity"),
        spec=check_chance(data["spec"], f"{where}: the specificity"),
    )


def _parse_spare(data: Mapping[str, Any], where: str) -> AddSpareStep:
    p_good = check_chance(data["p_good"], f"{where}: the chance that the spare is good")
    return AddSpareStep(_checked_name(data["name"], f'{where}: "name"'), p_good)


def _parse_change(data: Mapping[str, Any], where: str) -> ChangeStep:
    return ChangeStep(
        name=_checked_name(data["name"], f'{where}: "name"'),
        parent=_checked_name(data["parent"], f'{where}: "parent"'),
        bad_if_good=check_chance(data["bad_if_good"], f"{where}: the chance of going bad"),
        bad_if_bad=check_chance(data.get("bad_if_bad", 1.0), f"{where}: the chance of staying bad"),
    )


def _parse_fit(data: Mapping[str, Any], where: str) -> FitStep:
    return FitStep(_checked_name(data["place"], f'{where}: "place"'), _checked_name(data["node"], f'{where}: "node"'))


_StepParser = Callable[[Mapping[str, Any], str], CaseStep]
_STEP_PARSERS: dict[str, tuple[set[str], set[str], _StepParser]] = {
    "unit_test": ({"works"}, {"mask", "misread", "swap", "masks"}, _parse_run),
    "measure": ({"node", "says_bad", "sens", "spec"}, set(), _parse_measure),
    "add_spare": ({"name", "p_good"}, set(), _parse_spare),
    "later": ({"name", "parent", "bad_if_good"}, {"bad_if_bad"}, _parse_change),
    "fit": ({"place", "node"}, set(), _parse_fit),
}
_OP_NAMES: dict[type, str] = {
    RunStep: "unit_test",
    MeasureStep: "measure",
    AddSpareStep: "add_spare",
    ChangeStep: "later",
    FitStep: "fit",
}


def _checked_mapping(data: object, where: str, needed: set[str], allowed: set[str]) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise ValueError(f"{where} must be an object with named entries, not {type(data).__name__}.")
    missing = sorted(needed - set(data))
    if missing:
        raise ValueError(f'{where} lacks "{missing[0]}".')
    unknown = sorted(str(key) for key in set(data) - needed - allowed)
    if unknown:
        known = ", ".join(sorted(needed | allowed))
        raise ValueError(f'{where} has an entry "{unknown[0]}" that means nothing here; it may hold {known}.')
    return data


def _checked_name(value: object, what: str) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > MAX_NAME_LENGTH:
        raise ValueError(f"{what} must be a name of 1 to {MAX_NAME_LENGTH} characters, not {value!r:.60}.")
    return value


def _validate_case(case: DiagnosisCase) -> None:
    """Walk the log once: every name must be there when it is used, and only once."""
    if not case.prior:
        raise ValueError("A case needs at least one suspect.")
    names = {LEAK}
    for name, _ in case.prior:
        _require_new(name, names, f"The suspect {name!r}")
    past: dict[str, str] = {}
    for where, step in _numbered_steps(case.steps):
        match step:
            case AddSpareStep():
                _require_new(step.name, names, f"{where}: {step.name!r}")
            case ChangeStep():
                _require_known(step.parent, names, where)
                if step.parent in past or step.parent == LEAK:
                    now = past.get(step.parent, "not a thing that can be worked on")
                    raise ValueError(f"{where}: {step.parent!r} is {now!r} by now; start from that.")
                _require_new(step.name, names, f"{where}: {step.name!r}")
                past[step.parent] = step.name
            case MeasureStep():
                _require_known(step.node, names, where)
            case FitStep():
                _require_fittable(case.places, ((step.place, step.node),), names, past, where)
            case RunStep():
                _require_fittable(case.places, step.swap, names, past, where)
                for name, _ in step.masks:
                    _require_known(name, names, where)


def _numbered_steps(steps: tuple[CaseStep, ...]) -> Iterator[tuple[str, CaseStep]]:
    return ((f"Step {number}", step) for number, step in enumerate(steps, 1))


def _require_new(name: str, names: set[str], what: str) -> None:
    if name in names:
        raise ValueError(f"{what} is named already; give it a name of its own.")
    names.add(name)


def _require_known(name: str, names: set[str], where: str) -> None:
    if name not in names:
        raise ValueError(f"{where}: nothing is called {name!r}; the case knows {', '.join(sorted(names))}.")


def _require_fittable(
    places: tuple[str, ...], fitted: tuple[tuple[str, str], ...], names: set[str], past: Mapping[str, str], where: str
) -> None:
    for place, node in fitted:
        if place not in places:
            raise ValueError(f"{where}: there is no place {place!r}; the places are {', '.join(places)}.")
        _require_known(node, names, where)
        if node == LEAK:
            raise ValueError(f"{where}: the leak stands for what is not on the list; it cannot be fitted.")
        if node in past:
            raise ValueError(f"{where}: {node!r} is {past[node]!r} by now; name that one.")
    things = [node for _, node in fitted]
    if len(set(things)) < len(things):
        raise ValueError(f"{where}: one thing cannot be in two places.")
