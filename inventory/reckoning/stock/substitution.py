"""What fits in place of a part, judged by the attributes of its kind; and how it differs, in words.

The rules are common practice, no published source: a connector must match in pitch, ways, gender and mounting, a fan
in frame, voltage and wires and may draw no more, a supply in outputs and must give as many watts. What is not noted
of either is never guessed. A difference that may matter electrically is a caution.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

ALIKE: dict[str, tuple[str, ...]] = {
    "connector": ("pitch_mm", "ways", "gender", "mounting"),
    "fan": ("size_mm", "volts", "wires"),
    "supply": ("outputs",),
}
"""By kind, what must be noted of both and the same. Parts of other kinds fit only when somebody said so."""

AT_MOST = {"fan": "amps"}
AT_LEAST = {"supply": "watts"}
SLOWER = (
    0.1  # a fan whose rated speed is off by more than this share may be refused by a unit that watches it (assumed)
)


@dataclass(frozen=True)
class Difference:
    """One way in which a part differs from the one asked for; ``caution``: it may matter electrically."""

    words: str
    caution: bool = False


@dataclass(frozen=True)
class _Said:
    """How a difference in one attribute is said: a name, a unit, and the words for more and less of it."""

    name: str
    unit: str = ""
    more: str = ""
    less: str = ""


_SAID: dict[str, _Said] = {
    "pitch_mm": _Said("pitch", "mm"), "ways": _Said("", "ways"), "gender": _Said("gender"),
    "mounting": _Said("mounting"), "angle": _Said("angle"), "contact_side": _Said("contact side"),
    "latch": _Said("latch"), "finish": _Said("contact finish"),
    "size_mm": _Said("frame", "mm", "larger", "smaller"), "thick_mm": _Said("", "mm", "thicker", "thinner"),
    "volts": _Said("", "V"), "amps": _Said("", "A"), "wires": _Said("", "wires"), "rpm": _Said("", "rpm"),
    "plug": _Said("plug and pins"), "outputs": _Said("outputs"), "watts": _Said("", "W"), "form": _Said("form"),
    "standby": _Said("standby output"), "function": _Said("function"), "revision": _Said("revision"),
    "thread": _Said("thread"), "length_mm": _Said("", "mm", "longer", "shorter"), "material": _Said("material"),
}  # fmt: skip
_ELECTRICAL = frozenset(
    ("pitch_mm", "ways", "gender", "contact_side", "finish", "volts", "amps", "wires", "plug", "outputs", "standby",
     "revision", "function")
)  # fmt: skip
_IN_DOUBT = {
    "connector": ("pitch_mm", "ways", "gender"), "fan": ("volts", "amps", "wires"), "supply": ("outputs", "watts"),
    "module": ("volts",),
}  # fmt: skip


def fits(kind: str, asked: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Tell whether a part with the attributes *other* fits where one of the same *kind* with *asked* was wanted."""
    if kind not in ALIKE:
        return False
    same = all(_noted(asked, key) and _same(asked.get(key), other.get(key)) for key in ALIKE[kind])
    return same and _enough(kind, asked, other) and _contacts_meet(asked, other)


def _enough(kind: str, asked: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    for bounds, sign in ((AT_MOST, 1), (AT_LEAST, -1)):
        key = bounds.get(kind)
        if key is None:
            continue
        if not (_noted(asked, key) and _noted(other, key)):
            return False
        if sign * float(other[key]) > sign * float(asked[key]):
            return False
    return True


def _contacts_meet(asked: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """A flat-flex connector with its contacts on the other side touches nothing."""
    side = asked.get("contact_side")
    return not side or other.get("contact_side") in (side, "both")


def differences(kind: str, asked: Mapping[str, Any], other: Mapping[str, Any]) -> list[Difference]:
    """Return how a part of the same *kind* differs from the one asked for, what matters electrically first."""
    found = [one for key in _SAID for one in _differs(key, asked.get(key), other.get(key))]
    found += [
        Difference(f"{_name(key)} is not noted: check", True)
        for key in _IN_DOUBT.get(kind, ())
        if _noted(asked, key) and not _noted(other, key)
    ]
    return sorted(found, key=lambda one: not one.caution)


def _differs(key: str, asked: Any, other: Any) -> list[Difference]:
    if asked in (None, "") or other in (None, "") or _same(asked, other):
        return []
    said = _SAID[key]
    if isinstance(asked, int | float) and isinstance(other, int | float):
        return [Difference(_number_in_words(said, asked, other), _matters(key, asked, other))]
    return [Difference(f"{said.name}: {other} instead of {asked}", _matters(key, asked, other))]


def _number_in_words(said: _Said, asked: float, other: float) -> str:
    if said.more:
        by = round(abs(other - asked), 6)
        return f"{by:g} {said.unit} {said.more if other > asked else said.less}"
    name = f" {said.name}" if said.name else ""
    return f"{other:g} {said.unit}{name} instead of {asked:g} {said.unit}"


def _matters(key: str, asked: Any, other: Any) -> bool:
    if key == "amps":
        return bool(other > asked)
    if key == "watts":
        return bool(other < asked)
    if key == "rpm":
        return bool(abs(other - asked) > SLOWER * asked)
    if key == "contact_side":
        return bool(other != "both")
    return key in _ELECTRICAL


def _same(asked: Any, other: Any) -> bool:
    if isinstance(asked, str) and isinstance(other, str):
        return _plain(asked) == _plain(other)
    return bool(asked == other)


def _plain(text: str) -> str:
    """Compare texts without case, spaces and commas: "+5 V, +12 V" is "+5V +12V"."""
    return "".join(text.casefold().replace(",", " ").split())


def _noted(found: Mapping[str, Any], key: str) -> bool:
    return found.get(key) not in (None, "")


def _name(key: str) -> str:
    return {"volts": "its voltage", "amps": "its current", "wires": "how many wires it has", "watts": "its power",
            "ways": "how many ways it has"}.get(key, f"its {_SAID[key].name}")  # fmt: skip
