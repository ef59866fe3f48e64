"""What a job's log says about every suspect and every spare: the exact posterior by enumeration.

Every thing is a yes/no node, 1 = bad: the leak ("something not on the list"), the original in each place, each
spare, each later state of a thing. The weight of a state is the product of the chances of all that was seen; the
chance that a node is bad is its share of all weight. The log is worked out anew
from the start each time.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.reckoning.common.bayes import proof_likelihoods
from inventory.reckoning.diagnosis.case import (
    LEAK,
    AddSpareStep,
    ChangeStep,
    DiagnosisCase,
    FitStep,
    MeasureStep,
    RunStep,
)

MAX_NODES = 22
MAX_FAULT_SETS = 8
Weights = NDArray[np.float64]


class ContradictionError(ValueError):
    """The observations cannot all be right; ``steps`` holds the numbers of those that clash, from 1."""

    def __init__(self, steps: Sequence[int], sentences: Sequence[str]) -> None:
        self.steps = tuple(steps)
        super().__init__(
            "These observations contradict each other: "
            + "; ".join(sentences)
            + ". Take back the one that is wrong, or allow for a mask or a misread."
        )


@dataclass(frozen=True)
class Belief:
    """The joint chances of the things now fitted: ``weights`` over all states, node 0 the slowest index."""

    nodes: tuple[str, ...]
    weights: Weights


@dataclass(frozen=True)
class Diagnosis:
    """What the log says: chances of being bad, likely sets of faults, and how surprising the log is."""

    p_bad: dict[str, float]
    p_evidence: float  # chance of the whole log, before any of it was seen
    fault_sets: tuple[tuple[tuple[str, ...], float], ...]  # things now fitted that are bad, likeliest first
    fitted: dict[str, str]  # what is in each place now
    repeats: tuple[int, ...]  # numbers of runs that repeat the run before and are not counted
    belief: Belief


@dataclass(frozen=True, slots=True)
class _Observation:
    """One counted observation: the weight it gives when any of ``nodes`` is bad, and when all are good.

    ``own`` holds (node, weight when it is the worst that is bad), the worst last; empty: all weigh ``if_bad``.
    """

    step: int
    nodes: tuple[str, ...]
    if_bad: float
    if_good: float
    words: str
    own: tuple[tuple[str, float], ...] = ()


@dataclass
class _CaseModel:
    """A log read once: nodes with their parents and chances, what was seen, and what is fitted at the end."""

    roots: dict[str, float]
    laters: dict[str, ChangeStep]
    seen: list[_Observation]
    fitted: dict[str, str]
    repeats: list[int]

    @property
    def nodes(self) -> list[str]:
        return [*self.roots, *self.laters]


def diagnose(case: DiagnosisCase) -> Diagnosis:
    """Return what the whole log says.

    Raises ValueError with a sentence for more than 22 nodes, ContradictionError for a log of chance zero.
    """
    model = _build_model(case)
    weighed = _state_weights(model, model.seen)
    if weighed is None:
        raise _contradiction(model)
    weights, evidence = weighed
    axes = {name: axis for axis, name in enumerate(model.nodes)}
    fitted = (LEAK, *model.fitted.values())
    belief = Belief(fitted, _joint_weights(weights, [axes[name] for name in fitted]))
    return Diagnosis(
        p_bad={name: _share_bad(weights, axis) for name, axis in axes.items()},
        p_evidence=evidence,
        fault_sets=tuple(_fault_sets(belief)),
        fitted=dict(model.fitted),
        repeats=tuple(model.repeats),
        belief=belief,
    )


def chance_all_else_good(case: DiagnosisCase, step: int, thing: str) -> float:
    """Return a = P(everything else in run ``step`` good | the log without that run, ``thing`` good).

    ``step`` counts from 1. This is the ``a`` of a swap result about ``thing``; raises ValueError if the step is
    not a run with it.
    """
    model = _build_model(case)
    run = next((seen for seen in model.seen if seen.step == step and thing in seen.nodes), None)
    if run is None or not isinstance(case.steps[step - 1], RunStep):
        raise ValueError(f"Step {step} is not a counted run with {thing!r} fitted.")
    others = [seen for seen in model.seen if seen is not run]
    assumption = _Observation(step, (thing,), 0.0, 1.0, f"{thing} is good")
    weighed = _state_weights(model, [*others, assumption])
    if weighed is None:
        raise ValueError(f"{thing!r} cannot be good, so nothing can be said of the rest if it is.")
    weights = weighed[0]
    axes = [model.nodes.index(name) for name in run.nodes if name != thing]
    return float(weights[_all_good_index(axes, weights.ndim)].sum() / weights.sum())


def _build_model(case: DiagnosisCase) -> _CaseModel:
    model = _CaseModel({LEAK: case.leak, **dict(case.prior)}, {}, [], {p: p for p in case.places}, [])
    streak: tuple[frozenset[str], set[bool]] = (frozenset(), set())
    for number, step in enumerate(case.steps, 1):
        match step:
            case AddSpareStep():
                model.roots[step.name] = 1.0 - step.p_good
            case ChangeStep():
                model.laters[step.name] = step
                for place, node in model.fitted.items():
                    if node == step.parent:
                        model.fitted[place] = step.name
            case FitStep():
                model.fitted = _place_things(model.fitted, {step.place: step.node}, number)
            case MeasureStep():
                model.seen.append(_measure_observation(number, step))
            case RunStep():
                streak = _add_run(model, number, step, streak)
    if len(model.nodes) > MAX_NODES:
        raise ValueError(
            f"This case has {len(model.nodes)} suspects, spares and later states; {MAX_NODES} is the most that "
            "can be worked out exactly. Leave out the least likely suspects: the leak stands for them."
        )
    return model


def _place_things(fitted: Mapping[str, str], change: Mapping[str, str], number: int) -> dict[str, str]:
    now = {**fitted, **change}
    if len(set(now.values())) < len(now):
        raise ValueError(f"Step {number}: one thing cannot be in two places; take it out of the other first.")
    return now


def _measure_observation(number: int, step: MeasureStep) -> _Observation:
    says = "bad" if step.says_bad else "good"
    if_good, if_bad = proof_likelihoods(not step.says_bad, step.sens, step.spec)
    return _Observation(number, (step.node,), if_bad, if_good, f"step {number}, {step.node} measured {says}")


def _add_run(
    model: _CaseModel, number: int, step: RunStep, streak: tuple[frozenset[str], set[bool]]
) -> tuple[frozenset[str], set[bool]]:
    """Count a run, unless nothing was changed since the run before and it ended the same way.

    Repeats without touching anything are not independent. Putting a thing back makes its contacts anew, so the
    return run of an A-B-A test counts.
    """
    nodes = (LEAK, *_place_things(model.fitted, dict(step.swap), number).values())
    setting, outcomes = streak
    if frozenset(nodes) != setting:
        outcomes = set()
    if step.works in outcomes:
        model.repeats.append(number)
        return frozenset(nodes), outcomes
    bad, good = (step.mask, 1.0 - step.misread) if step.works else (1.0 - step.mask, step.misread)
    words = f"step {number}, the unit {'worked' if step.works else 'failed'} with {', '.join(nodes[1:])}"
    model.seen.append(_Observation(number, nodes, bad, good, words, _mask_weights(step, nodes)))
    return frozenset(nodes), outcomes | {step.works}


def _mask_weights(step: RunStep, nodes: Sequence[str]) -> tuple[tuple[str, float], ...]:
    """Return what each thing weighs in a run if some have masks of their own, the least masked last.

    Of several bad things the least masked decides: the unit is seen working only while all of them hide.
    """
    masks = {node: mask for node, mask in step.masks if node in nodes}
    if not masks:
        return ()
    order = sorted(((masks.get(node, step.mask), node) for node in nodes), reverse=True)
    return tuple((node, mask if step.works else 1.0 - mask) for mask, node in order)


def _state_weights(model: _CaseModel, seen: Sequence[_Observation]) -> tuple[Weights, float] | None:
    """Return the normalised weights of all states, one axis a node, and the chance of what was seen.

    None if no state at all could have shown it.
    """
    names = model.nodes
    axes = {name: axis for axis, name in enumerate(names)}
    weights: Weights = np.ones(1)
    for p in model.roots.values():
        weights = np.multiply.outer(weights, np.array([1.0 - p, p])).reshape(-1)
    weights = weights.reshape((2,) * len(model.roots))
    for change in model.laters.values():
        weights = _add_node(weights, axes[change.parent], change)
    evidence = 1.0
    for item in seen:
        if item.own:
            weights *= _observation_factor(weights.ndim, axes, item)
        else:
            _apply_observation(weights, [axes[name] for name in item.nodes], item)
        total = float(weights.sum())
        evidence *= total
        if total == 0.0:
            return None
        weights /= total
    return weights, evidence


def _add_node(weights: Weights, parent: int, later: ChangeStep) -> Weights:
    """Add the axis of a later state, given the axis of what it was before."""
    bad = np.array([later.bad_if_good, later.bad_if_bad])
    bad = bad.reshape(tuple(2 if axis == parent else 1 for axis in range(weights.ndim)))
    return np.stack([weights * (1.0 - bad), weights * bad], axis=-1)


def _apply_observation(weights: Weights, axes: Sequence[int], item: _Observation) -> None:
    good = _all_good_index(axes, weights.ndim)
    if_all_good = weights[good] * item.if_good
    weights *= item.if_bad
    weights[good] = if_all_good


def _observation_factor(ndim: int, axes: Mapping[str, int], item: _Observation) -> Weights:
    """Return the weight of an observation for every state of its nodes, in which each has its own when bad."""
    inside = {axes[name] for name in item.nodes}
    factor: Weights = np.full(tuple(2 if axis in inside else 1 for axis in range(ndim)), item.if_good)
    for name, weight in item.own:  # the worst is written last, over the others
        factor[tuple(1 if axis == axes[name] else slice(None) for axis in range(ndim))] = weight
    return factor


def _all_good_index(axes: Sequence[int], ndim: int) -> tuple[slice | int, ...]:
    return tuple(0 if axis in axes else slice(None) for axis in range(ndim))


def _share_bad(weights: Weights, axis: int) -> float:
    """Return the share of weight where the node is bad; ``weights`` sum to 1."""
    split = weights.reshape(2**axis, 2, -1)
    return float(split[:, 1, :].sum() / weights.sum())


def _joint_weights(weights: Weights, axes: Sequence[int]) -> Weights:
    """Return the joint weights of some nodes as one flat vector, in the order of ``axes``."""
    others = tuple(axis for axis in range(weights.ndim) if axis not in axes)
    summed_axes = sorted(axes)
    order = [summed_axes.index(axis) for axis in axes]
    return np.ascontiguousarray(weights.sum(axis=others).transpose(order)).reshape(-1)


def _fault_sets(belief: Belief) -> Iterator[tuple[tuple[str, ...], float]]:
    """Give the likeliest states of what is fitted; of equal ones, that with the earlier suspects first."""
    weights = np.round(belief.weights, 12)
    least = np.partition(weights, -MAX_FAULT_SETS)[-MAX_FAULT_SETS] if len(weights) > MAX_FAULT_SETS else 0.0
    states = np.flatnonzero(weights >= max(least, 1e-12))[::-1]
    for state in states[np.argsort(-weights[states], kind="stable")][:MAX_FAULT_SETS]:
        bits = f"{int(state):0{len(belief.nodes)}b}"
        bad = tuple(name for name, bit in zip(belief.nodes, bits, strict=True) if bit == "1")
        yield bad, float(belief.weights[state])


def _contradiction(model: _CaseModel) -> ContradictionError:
    """Name a smallest set of observations that cannot be true together: drop each one that is not needed."""
    clash = list(model.seen)
    for item in list(reversed(clash)):
        without = [other for other in clash if other is not item]
        if _state_weights(model, without) is None:
            clash = without
    return ContradictionError([item.step for item in clash], [item.words for item in clash])
