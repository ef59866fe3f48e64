"""A part in the few words, marks and drawing that tell it from its likes.

What differs is what the trade mixes up: pitch and ways of connectors, volts and size of fans, volts and
watts of supplies (common practice, no published source).
"""

import re
from collections.abc import Iterable, Mapping

from labels.content.label_content import PartWords
from labels.graphics.pictures import Picture

_MARKS: dict[str, tuple[str, ...]] = {
    "connector": ("ways", "poles", "pitch", "mounting", "angle", "contacts", "gender", "lock"),
    "fan": ("size", "volts", "thickness", "wires", "amps"),
    "supply": ("outputs", "volts", "amps", "watts"),
    "module": ("revision", "version", "volts"),
    "consumable": ("container", "container_size", "grade"),
    "hardware": ("thread", "length", "size", "head"),
}
_OTHER = ("size", "volts", "amps", "watts")
_MOST_MARKS = 5

_UNITS = {
    "pitch": "mm",
    "size": "mm",
    "thickness": "mm",
    "length": "mm",
    "volts": "V",
    "amps": "A",
    "watts": "W",
}
_COUNTED = {"ways": "way", "poles": "pole", "wires": "wire"}


def part_words(name: str, kind: str, attributes: Mapping[str, object], hazards: Iterable[str] = ()) -> PartWords:
    """Choose marks and drawing for a part from its kind and attributes; what it lacks is simply not said."""
    marks: list[str] = []
    for key in _MARKS.get(kind, _OTHER):
        mark = mark_of(key, attributes)
        if mark and mark not in marks:
            marks.append(mark)
    return PartWords(name, tuple(marks[:_MOST_MARKS]), tuple(hazards), picture_of(kind, attributes, name))


def mark_of(key: str, attributes: Mapping[str, object]) -> str:
    """Write one attribute as it is said: pitch 2 as "2.0 mm", ways 4 as "4-way"; "" when there is none."""
    value = attributes.get(key)
    text = " ".join(str(value).split()) if value not in (None, "", False, "none") else ""
    number = re.fullmatch(r"(\d+(?:[.,]\d+)?)\s*(?:mm|V|A|W)?", text)
    if key in _COUNTED and text:
        count = re.match(r"\d+", text)
        return f"{count[0]}-{_COUNTED[key]}" if count else text
    if key in _UNITS and number:
        figure = number[1].replace(",", ".")
        if key == "pitch" and "." not in figure:
            figure += ".0"
        return f"{figure} {_UNITS[key]}"
    if key == "container_size" and number:
        return f"{text} {attributes.get('unit', '')}".strip()
    return text


def picture_of(kind: str, attributes: Mapping[str, object], name: str = "") -> Picture | None:
    """Choose the drawing for a part: pins at true pitch for a connector that says its pitch and ways."""
    if kind != "connector":
        return Picture(kind) if kind in {"fan", "supply", "module", "consumable", "hardware"} else None
    pitch, ways = _figure(attributes.get("pitch")), int(_figure(attributes.get("ways")))
    if 0.3 <= pitch <= 15 and 1 <= ways <= 200:
        words = f"{name} {' '.join(str(each) for each in attributes.values())}".lower()
        flat = re.search(r"\b(?:flat[- ]?flex|ffc|fpc|ribbon)\b", words)
        return Picture("flex" if flat else "header", pitch, ways)
    return Picture("circular") if re.search(r"\b[35]-pole\b|circular", name.lower()) else None


def _figure(value: object) -> float:
    found = re.match(r"\s*(\d+(?:[.,]\d+)?)", str(value))
    return float(found[1].replace(",", ".")) if found else 0.0
