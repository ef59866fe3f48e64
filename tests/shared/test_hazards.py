"""Hazards: what a part warns of without anybody saying so."""

import pytest

from inventory.domain.catalogue.attributes import validated_attributes
from shared.hazards import HAZARDS, Hazard, implied_hazards, sort_hazards


@pytest.mark.parametrize(
    ("kind", "attributes", "name", "keys"),
    [
        ("supply", {"watts": 300}, "300 W supply for the Tern 12", ("mains", "stored_charge")),
        ("supply", {"form": "DC-DC converter", "outputs": "5 V / 3 A"}, "Converter board", ()),
        ("supply", {"form": "open frame, 24 V DC input"}, "Converter board", ()),
        ("supply", {"outputs": "24 V DC", "form": "open frame"}, "24 V DC supply", ("mains", "stored_charge")),
        ("supply", {"form": "AC-DC with DC-DC stage"}, "Supply", ("mains", "stored_charge")),
        ("supply", {"form": "DC-DC converter"}, "24VAC converter", ("mains", "stored_charge")),
        ("supply", {"form": "DC-DC converter", "outputs": "380 V DC"}, "Converter", ("mains", "stored_charge")),
        ("supply", {"form": "DC-DC converter", "outputs": "1.2 kV"}, "Converter", ("mains", "stored_charge")),
        ("supply", {"form": "DC-DC converter", "plug": "IEC inlet"}, "Converter", ("mains", "stored_charge")),
        ("fan", {"volts": 24}, "24 V 60 mm fan", ("moving",)),
        ("fan", {"volts": "230 V"}, "Mains fan", ("mains", "moving")),
        ("module", {}, "Fader driver board", ("static",)),
        ("module", {}, "LED engine, 90 W", ("static", "hot", "bright")),
        ("module", {"chemistry": "Li-ion"}, "Backup battery", ("lithium", "static")),
        ("module", {}, "Motorised fader", ("static", "moving")),
        ("connector", {"pitch": "2.0 mm", "ways": 4}, "4-way header", ()),
        ("connector", {}, "IEC inlet with fuse", ("mains",)),
        ("consumable", {"unit": "ml"}, "Isopropyl alcohol 99.9 %", ("flammable", "fumes")),
        ("consumable", {}, "UV-curing mask", ("uv",)),
        ("consumable", {}, "UV curing mask", ("uv",)),
        ("consumable", {}, "Solder wire Sn63 0.5 mm", ("fumes", "lead")),
        ("consumable", {}, "Lead-free solder wire", ("fumes",)),
        ("hardware", {}, "Test lead holder", ()),
        ("consumable", {}, "Gallium thermal alloy", ("gallium",)),
        ("consumable", {}, "Desoldering braid", ()),
        ("other", {}, "", ()),
    ],
)
def test_it_knows_what_a_part_warns_of(
    kind: str, attributes: dict[str, object], name: str, keys: tuple[str, ...]
) -> None:
    assert implied_hazards(kind, attributes, name) == keys


def test_a_part_that_can_be_kept_says_that_it_takes_dc() -> None:
    kept = validated_attributes("supply", {"form": "DC-DC converter", "outputs": "5 V"})
    assert implied_hazards("supply", kept) == ()


def test_it_puts_what_can_kill_first() -> None:
    assert sort_hazards(["bright", "static", "stored_charge", "mains", "mains"]) == (
        "mains",
        "stored_charge",
        "static",
        "bright",
    )


def test_it_refuses_a_hazard_it_does_not_have() -> None:
    with pytest.raises(ValueError, match=r"No hazard called dragons; choose from mains, stored_charge"):
        sort_hazards(["mains", "dragons"])


@pytest.mark.parametrize("hazard", HAZARDS.values(), ids=HAZARDS)
def test_it_says_the_precaution_in_sentences_and_a_line_that_fits_a_label(hazard: Hazard) -> None:
    assert hazard.caution.endswith(".")
    assert hazard.caution.count(". ") >= 1
    assert len(hazard.line) <= 30
    assert len(hazard.title) <= 24


@pytest.mark.parametrize("key", ["mains", "stored_charge"])
def test_it_leaves_what_can_kill_to_qualified_people_and_local_rules(key: str) -> None:
    caution = HAZARDS[key].caution
    assert "kill" in caution
    assert "qualified" in caution
    assert "local rules" in caution
