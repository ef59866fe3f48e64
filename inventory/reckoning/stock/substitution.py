"""What fits in place of a part, judged by the attributes of its kind; and how it differs, in words.

The rules are common practice, no published source: a connector must match in pitch, ways, gender and mounting, a fan
in frame, voltage and wires and may draw no more, a supply in outputs and must give as many watts. What is not noted
of either is never guessed. A difference that may matter electrically is a caution.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

MUST_MATCH: dict[str, tuple[str, ...]] = {
    "connector": ("pitch_mm", "ways", "gender", "mounting"),
    "fan": ("size_mm", "volts", "wires"),
    "supply": ("outputs",),
}
"""By kind, what must be noted of both and the same. Parts of other kinds fit only when somebody said so."""

MAY_NOT_EXCEED = {"fan": "amps"}
MAY_NOT_FALL_BELOW = {"supply": "watts"}
SPEED_TOLERANCE = (
    0.1  # a fan whose rated speed is off by more than this share may be refused by a unit that watches it (assumed)
)


@dataclass(frozen=True)
class Difference:
    """One way in which a part differs from the one asked for; ``caution``: it may matter electrically."""

    words: str
    caution: bool = False


@dataclass(frozen=True)
class _AttributeWording:
    """How a difference in one attribute is said: a name, a unit, and the words for more and less of it."""

    name: str
    unit: str = ""
    more: str = ""
    less: str = ""


_WORDINGS: dict[str, _AttributeWording] = {
    "pitch_mm": _AttributeWording("pitch", "mm"),
    "ways": _AttributeWording("", "ways"),
    "gender": _AttributeWording("gender"),
    "mounting": _AttributeWording("mounting"),
    "angle": _AttributeWording("angle"),
    "contact_side": _AttributeWording("contact side"),
    "latch": _AttributeWording("latch"),
    "finish": _AttributeWording("contact finish"),
    "size_mm": _AttributeWording("frame", "mm", "larger", "smaller"),
    "thick_mm": _AttributeWording("", "mm", "thicker", "thinner"),
    "volts": _AttributeWording("", "V"),
    "amps": _AttributeWording("", "A"),
    "wires": _AttributeWording("", "wires"),
    "rpm": _AttributeWording("", "rpm"),
    "plug": _AttributeWording("plug and pins"),
    "outputs": _AttributeWording("outputs"),
    "watts": _AttributeWording("", "W"),
    "form": _AttributeWording("form"),
    "standby": _AttributeWording("standby output"),
    "function": _AttributeWording("function"),
    "revision": _AttributeWording("revision"),
    "thread": _AttributeWording("thread"),
    "length_mm": _AttributeWording("", "mm", "longer", "shorter"),
    "material": _AttributeWording("material"),
}
_ELECTRICAL_ATTRIBUTES = frozenset(
    ("pitch_mm", "ways", "gender", "contact_side", "finish", "volts", "amps", "wires", "plug", "outputs", "standby",
     "revision", "function")
)  # fmt: skip
_CHECK_IF_MISSING = {
    "connector": ("pitch_mm", "ways", "gender"), "fan": ("volts", "amps", "wires"), "supply": ("outputs", "watts"),
    "module": ("volts",),
}  # fmt: skip


def can_substitute(kind: str, requested: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Tell whether a part with the attributes *other* fits where one of the same *kind* with *asked* was wanted."""
    if kind not in MUST_MATCH:
        return False
    same = all(
        _has_value(requested, key) and _is_same(requested.get(key), other.get(key)) for key in MUST_MATCH[kind]
    )
    return same and _within_bounds(kind, requested, other) and _contacts_meet(requested, other)


def _within_bounds(kind: str, requested: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    for bounds, sign in ((MAY_NOT_EXCEED, 1), (MAY_NOT_FALL_BELOW, -1)):
        key = bounds.get(kind)
        if key is None:
            continue
        if not (_has_value(requested, key) and _has_value(other, key)):
            return False
        if sign * float(other[key]) > sign * float(requested[key]):
            return False
    return True


def _contacts_meet(requested: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """A flat-flex connector with its contacts on the other side touches nothing."""
    side = requested.get("contact_side")
    return not side or other.get("contact_side") in (side, "both")


def differences(kind: str, requested: Mapping[str, Any], other: Mapping[str, Any]) -> list[Difference]:
    """Return how a part of the same *kind* differs from the one asked for, what matters electrically first."""
    result = [
        difference
        for key in _WORDINGS
        for difference in _attribute_difference(key, requested.get(key), other.get(key))
    ]
    result += [
        Difference(f"{_attribute_label(key)} is not noted: check", True)
        for key in _CHECK_IF_MISSING.get(kind, ())
        if _has_value(requested, key) and not _has_value(other, key)
    ]
    return sorted(result, key=lambda difference: not difference.caution)


def _attribute_difference(key: str, requested: Any, other: Any) -> list[Difference]:
    if requested in (None, "") or other in (None, "") or _is_same(requested, other):
        return []
    wording = _WORDINGS[key]
    if isinstance(requested, int | float) and isinstance(other, int | float):
        return [Difference(_number_difference_text(wording, requested, other), _is_caution(key, requested, other))]
    return [Difference(f"{wording.name}: {other} instead of {requested}", _is_caution(key, requested, other))]


def _number_difference_text(wording: _AttributeWording, requested: float, other: float) -> str:
    if wording.more:
        amount = round(abs(other - requested), 6)
        return f"{amount:g} {wording.unit} {wording.more if other > requested else wording.less}"
    name = f" {wording.name}" if wording.name else ""
    return f"{other:g} {wording.unit}{name} instead of {requested:g} {wording.unit}"


def _is_caution(key: str, requested: Any, other: Any) -> bool:
    if key == "amps":
        return bool(other > requested)
    if key == "watts":
        return bool(other < requested)
    if key == "rpm":
        return bool(abs(other - requested) > SPEED_TOLERANCE * requested)
    if key == "contact_side":
        return bool(other != "both")
    return key in _ELECTRICAL_ATTRIBUTES


def _is_same(requested: Any, other: Any) -> bool:
    if isinstance(requested, str) and isinstance(other, str):
        return _normalised(requested) == _normalised(other)
    return bool(requested == other)


def _normalised(text: str) -> str:
    """Compare texts without case, spaces and commas: "+5 V, +12 V" is "+5V +12V"."""
    return "".join(text.casefold().replace(",", " ").split())


def _has_value(attributes: Mapping[str, Any], key: str) -> bool:
    return attributes.get(key) not in (None, "")


def _attribute_label(key: str) -> str:
    return {"volts": "its voltage", "amps": "its current", "wires": "how many wires it has", "watts": "its power",
            "ways": "how many ways it has"}.get(key, f"its {_WORDINGS[key].name}")  # fmt: skip
