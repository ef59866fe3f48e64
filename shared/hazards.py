"""Hazards of parts: what the label and the page say before somebody touches one.

The sentences remind of usual precautions (common practice, no published source); they do not replace the data
sheet, local rules or licensed practice, and every one that can kill says so.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shared.text import leading_number


@dataclass(frozen=True, slots=True)
class Hazard:
    """A hazard: its key, a title of a few words, one line for a label, and the caution in full sentences."""

    key: str
    title: str
    line: str
    caution: str


_HAZARD_LIST = (
    Hazard(
        "mains",
        "Mains voltage",
        "MAINS: qualified people only",
        "Parts of this carry mains voltage, which can kill. Unplug it and test for voltage before touching "
        "it; if it must run open, use an isolation transformer and keep one hand away. Only people who "
        "are qualified and permitted to do mains work under local rules open it, and earth and insulation "
        "are tested after a repair.",
    ),
    Hazard(
        "stored_charge",
        "Stored charge",
        "CHARGED: measure first",
        "Capacitors in here can hold hundreds of volts long after unplugging, enough to kill. Wait as the "
        "maker says, discharge through a suitable resistor, and measure before touching. Leave it to "
        "people qualified for it under local rules.",
    ),
    Hazard(
        "uv",
        "Ultraviolet light",
        "UV: eye protection, cover skin",
        "Ultraviolet light harms eyes and skin before it is felt. Wear eye protection rated for the lamp, "
        "cover skin, shield others, and follow the lamp maker's instructions and local workplace rules.",
    ),
    Hazard(
        "flammable",
        "Flammable",
        "FLAMMABLE: ventilate, no heat",
        "Liquid and vapour burn. Air the room, use it on dead circuits only, keep irons and hot air away "
        "until it has dried, and store and dispose of it as its safety data sheet and local fire rules "
        "say.",
    ),
    Hazard(
        "fumes",
        "Fumes",
        "FUMES: extraction on",
        "Fumes from flux, solder or solvent harm the lungs over time. Work with extraction or good "
        "ventilation, and keep to the safety data sheet and local exposure limits.",
    ),
    Hazard(
        "lithium",
        "Lithium cells",
        "LITHIUM: no swollen cells",
        "A lithium cell that is swollen, pierced or shorted can burn without warning. Do not charge or "
        "ship such a cell; keep cells apart in a fire-safe place with terminals covered, and follow local "
        "transport and waste rules.",
    ),
    Hazard(
        "gallium",
        "Gallium alloy",
        "GALLIUM: gloves, no aluminium",
        "This metal is liquid, conducts, and destroys aluminium it touches. Wear gloves, mask what is "
        "near, keep it off aluminium heat sinks, and collect waste as its safety data sheet and local "
        "rules say.",
    ),
    Hazard(
        "static",
        "Static sensitive",
        "STATIC: mat, strap, bag",
        "A discharge too small to feel can damage this. Handle it on an earthed mat with a wrist strap, "
        "and keep it in a shielding bag; do not wear the strap while working on live mains parts.",
    ),
    Hazard(
        "lead",
        "Contains lead",
        "LEAD: wash hands",
        "Lead harms when swallowed or breathed in as dust. Wash hands after use, keep food away, and sell, "
        "use and dispose of it only as local rules allow.",
    ),
    Hazard(
        "hot",
        "Hot surface",
        "HOT: let it cool",
        "This gets hot enough to burn and stays hot for minutes. Let it cool, keep batteries and solvents "
        "away, and treat glass that is hot as glass that may burst; follow the maker's instructions.",
    ),
    Hazard(
        "moving",
        "Moving parts",
        "MOVES: keep clear",
        "It can start or turn without warning while power is on. Switch off and unplug before reaching in, "
        "tie back hair and sleeves, and fix what can fall or swing; follow the maker's instructions and "
        "local rules.",
    ),
    Hazard(
        "bright",
        "Laser or bright light",
        "BRIGHT: never look into it",
        "A laser, lamp or LED engine can blind faster than you can look away. Never look into it or its "
        "reflections, cover or dim it for tests, wear protection rated for the source, and leave lasers to "
        "people permitted to work on them under local rules.",
    ),
)

HAZARDS: dict[str, Hazard] = {hazard.key: hazard for hazard in _HAZARD_LIST}
"""Every hazard by key, in the order of urgency in which labels and pages show them."""

_HAZARDS_BY_KIND = {
    "supply": ("mains", "stored_charge"),
    "fan": ("moving",),
    "module": ("static",),
}

_HAZARDS_BY_WORDS = (
    (r"uv|ultraviolet|ultra-violet", ("uv",)),
    (r"isopropyl|isopropanol|ipa|ethanol|alcohols?|acetone|solvents?", ("flammable", "fumes")),
    (r"contact cleaner|cleaner spray|freeze spray|aerosol|flux remover", ("flammable", "fumes")),
    (r"flux|solder|soldering|solder paste|rosin", ("fumes",)),
    (r"leaded|tin-lead|sn63|sn60|sn62|(?:sn)?63/37|(?:sn)?60/40", ("lead",)),
    (r"gallium|galinstan|liquid metal", ("gallium",)),
    (r"lithium|li-ion|lipo|li-po|lifepo4", ("lithium",)),
    (r"mains|iec inlet|ac inlet|230 ?v ?ac|120 ?v ?ac", ("mains",)),
    (r"lasers?", ("bright",)),
    (r"led engines?|discharge lamps?|arc lamps?|lamps?", ("bright", "hot")),
    (r"hot air|heaters?|fuser", ("hot",)),
    (r"stepper|motors?|motori[sz]ed|actuators?", ("moving",)),
)
_HAZARD_PATTERNS = tuple((re.compile(rf"(?<![\w-])(?:{words})(?!\w)"), keys) for words, keys in _HAZARDS_BY_WORDS)
_MIN_MAINS_VOLTS = 50
_DC_INPUT = re.compile(r"\bdc ?(?:-|/|to) ?dc\b|\bdc in(?:put)?\b", re.IGNORECASE)
_AC_PATTERN = re.compile(r"(?:\b|\d)v?ac\b")
_VOLTS_PATTERN = re.compile(r"(\d+(?:[.,]\d+)?) ?(k?)v")


def implied_hazards(kind: str, attributes: Mapping[str, object], name: str = "") -> tuple[str, ...]:
    """Return the hazards a part has by default from its kind, attributes and name; people may add or remove some.

    A supply is taken to be on mains and to hold charge unless its `form` says that it takes DC ("DC-DC", "DC input")
    and nothing about it speaks of AC, mains, or 50 V or more. Anything rated at 50 V or more (`volts`) counts as
    mains, the limit for extra-low alternating voltage (IEC 60449 band I; value from memory).
    """
    words = " ".join([name, *(str(value) for value in attributes.values())]).lower()
    hazards = {key for pattern, keys in _HAZARD_PATTERNS if pattern.search(words) for key in keys}
    if leading_number(attributes.get("volts")) >= _MIN_MAINS_VOLTS:
        hazards.add("mains")
    if kind != "supply" or "mains" in hazards or not _takes_low_dc(attributes.get("form"), words):
        hazards.update(_HAZARDS_BY_KIND.get(kind, ()))
    return sort_hazards(hazards)


def _takes_low_dc(form: object, words: str) -> bool:
    """Tell whether a supply's form says that it takes DC, and none of its *words* names AC or 50 V or more."""
    volts = max((leading_number(match[1]) * (1000 if match[2] else 1) for match in _VOLTS_PATTERN.finditer(words)),
                default=0.0)  # fmt: skip
    return bool(_DC_INPUT.search(str(form))) and not _AC_PATTERN.search(words) and volts < _MIN_MAINS_VOLTS


def sort_hazards(keys: Iterable[str]) -> tuple[str, ...]:
    """Sort hazard keys by urgency, each once. Raises ValueError with a sentence for a key we do not have."""
    chosen = set(keys)
    if unknown := chosen - HAZARDS.keys():
        raise ValueError(f"No hazard called {', '.join(sorted(unknown))}; choose from {', '.join(HAZARDS)}.")
    return tuple(key for key in HAZARDS if key in chosen)
