"""The trade attributes (specs) of each kind of part, and their validation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inventory.domain.common.errors import invalid_field
from inventory.domain.common.validation import clean_text


@dataclass(frozen=True)
class Attribute:
    """One attribute: its key, what people call it, its unit, and the words it may take (none: a number)."""

    key: str
    label: str
    unit: str = ""
    words: tuple[str, ...] = ()
    free: bool = False  # any short text


ATTRIBUTES: dict[str, tuple[Attribute, ...]] = {
    "connector": (
        Attribute("pitch_mm", "Pitch", "mm"),
        Attribute("ways", "Ways"),
        Attribute("gender", "Gender", words=("plug", "socket", "header", "housing", "genderless")),
        Attribute("mounting", "Mounting", words=("through hole", "surface mount", "panel", "cable")),
        Attribute("angle", "Angle", words=("straight", "right angle")),
        Attribute("contact_side", "Contact side", words=("top", "bottom", "both")),
        Attribute("latch", "Latch", words=("latch", "friction", "slide lock", "flip lock", "none")),
        Attribute("finish", "Contact finish", words=("tin", "gold")),
    ),
    "fan": (
        Attribute("size_mm", "Frame", "mm"),
        Attribute("thick_mm", "Thickness", "mm"),
        Attribute("volts", "Nominal voltage", "V"),
        Attribute("amps", "Rated current", "A"),
        Attribute("wires", "Wires"),
        Attribute("rpm", "Rated speed", "rpm"),
        Attribute("plug", "Plug and pin order", free=True),
    ),
    "supply": (
        Attribute("outputs", "Outputs", free=True),
        Attribute("watts", "Power", "W"),
        Attribute("form", "Form", free=True),
        Attribute("plug", "Connector and pin-out", free=True),
        Attribute("standby", "Standby output", free=True),
    ),
    "consumable": (
        Attribute("container", "Container holds", free=True),
        Attribute("opened_days", "Good for after opening", "days"),
    ),
    "module": (
        Attribute("function", "Function", free=True),
        Attribute("revision", "Revision", free=True),
        Attribute("volts", "Supply voltage", "V"),
    ),
    "hardware": (
        Attribute("thread", "Thread", free=True),
        Attribute("length_mm", "Length", "mm"),
        Attribute("material", "Material", free=True),
    ),
    "other": (Attribute("what", "What it is", free=True),),
}


def validated_attributes(kind: str, attributes: Any) -> dict[str, Any]:
    """Return the attributes of a part of *kind*, numbers as numbers; raise Invalid naming the one that is off."""
    if not isinstance(attributes, dict):
        raise invalid_field("attributes", "Attributes are pairs of a name and a value.")
    known = {attribute.key: attribute for attribute in ATTRIBUTES[kind]}
    validated = {}
    for key, value in attributes.items():
        if value in (None, ""):
            continue
        if key not in known:
            raise invalid_field(
                key, f"A part of the kind {kind} has no attribute {key!r}; it has: {', '.join(known)}."
            )
        validated[key] = _validated_attribute(known[key], value)
    return validated


def _validated_attribute(attribute: Attribute, value: Any) -> Any:
    if attribute.words:
        if value not in attribute.words:
            raise invalid_field(attribute.key, f"{attribute.label} must be one of: {', '.join(attribute.words)}.")
        return value
    if attribute.free:
        text = clean_text(str(value), attribute.label, len(str(value)))  # no control characters
        if len(text) > 120:
            raise invalid_field(attribute.key, f"{attribute.label} is too long: shorten it to 120 characters.")
        return text
    return _parse_number(attribute, value)


def _parse_number(attribute: Attribute, value: Any) -> int | float:
    try:
        number = float(str(value).replace(",", "."))
    except ValueError:
        number = float("nan")
    if isinstance(value, bool) or not 0 < number < 1e6:
        unit = f" in {attribute.unit}" if attribute.unit else ""
        raise invalid_field(attribute.key, f"{attribute.label} must be a number{unit}, such as 2 or 2.54.")
    return int(number) if number == int(number) else number


def attributes_text(kind: str, attributes: dict[str, Any]) -> str:
    """Format the attributes as one line, in the trade's order: "2.0 mm · 4 ways · header"."""
    texts = []
    for attribute in ATTRIBUTES.get(kind, ()):
        value = attributes.get(attribute.key)
        if value in (None, ""):
            continue
        if attribute.key == "ways":
            texts.append(f"{value} ways")
        elif attribute.key == "wires":
            texts.append(f"{value} wires")
        elif attribute.key == "pitch_mm":
            texts.append(
                f"{float(value):.2f} mm"
                if round(float(value) * 10) != float(value) * 10
                else f"{float(value):.1f} mm"
            )
        else:
            texts.append(f"{value} {attribute.unit}".strip())
    return " · ".join(texts)
