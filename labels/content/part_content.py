"""A part in the few words, specs and drawing that tell it from similar ones.

Attributes go by the keys under which the bench keeps them.

What differs is what the trade mixes up: pitch and ways of connectors, volts and size of fans, volts and
watts of supplies (common practice, no published source).
"""

import re
from collections.abc import Iterable, Mapping

from labels.content.label_content import PartContent
from labels.graphics.pictures import PartPicture
from shared.text import leading_number

_SPEC_ATTRIBUTES: dict[str, tuple[str, ...]] = {
    "connector": ("ways", "pitch_mm", "mounting", "angle", "contact_side", "gender", "latch"),
    "fan": ("size_mm", "volts", "thick_mm", "wires", "amps"),
    "supply": ("outputs", "watts"),
    "module": ("revision", "volts"),
    "consumable": ("container",),
    "hardware": ("thread", "length_mm"),
}
_MAX_SPECS = 5

_UNITS = {
    "pitch_mm": "mm",
    "size_mm": "mm",
    "thick_mm": "mm",
    "length_mm": "mm",
    "volts": "V",
    "amps": "A",
    "watts": "W",
}
_COUNT_NOUNS = {"ways": "way", "wires": "wire"}


def build_part_content(
    name: str, kind: str, attributes: Mapping[str, object], hazards: Iterable[str] = ()
) -> PartContent:
    """Choose specs and picture for a part from its kind and attributes; what it lacks is left out."""
    specs = [spec_text(key, attributes) for key in _SPEC_ATTRIBUTES.get(kind, ())]
    shown = tuple(dict.fromkeys(filter(None, specs)))[:_MAX_SPECS]
    return PartContent(name, shown, tuple(hazards), choose_picture(kind, attributes, name))


def spec_text(key: str, attributes: Mapping[str, object]) -> str:
    """Return one attribute as it is said: pitch_mm 2 as "2.0 mm", ways 4 as "4-way"; "" when there is none."""
    value = attributes.get(key)
    text = " ".join(str(value).split()) if value not in (None, "", False, "none") else ""
    number = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?:mm|V|A|W)?", text)
    if key in _COUNT_NOUNS and text:
        count = re.match(r"\d+", text)
        return f"{count[0]}-{_COUNT_NOUNS[key]}" if count else text
    if key in _UNITS and number:
        figure = number[1].replace(",", ".")
        if key == "pitch_mm" and "." not in figure:
            figure += ".0"
        return f"{figure} {_UNITS[key]}"
    return text


def choose_picture(kind: str, attributes: Mapping[str, object], name: str = "") -> PartPicture | None:
    """Choose the drawing for a part: pins at true pitch for a connector that says its pitch and ways."""
    if kind != "connector":
        return PartPicture(kind) if kind in {"fan", "supply", "module", "consumable", "hardware"} else None
    pitch, ways = leading_number(attributes.get("pitch_mm")), int(leading_number(attributes.get("ways")))
    if 0.3 <= pitch <= 15 and 1 <= ways <= 200:
        words = f"{name} {' '.join(str(value) for value in attributes.values())}".lower()
        flat = re.search(r"\b(?:flat[- ]?flex|ffc|fpc|ribbon)\b", words)
        return PartPicture("flex" if flat else "header", pitch, ways)
    return PartPicture("circular") if re.search(r"\b[35]-pole\b|circular", name.lower()) else None
