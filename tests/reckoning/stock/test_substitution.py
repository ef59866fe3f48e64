"""What fits in place of a part by its attributes, and how it differs. Common practice, no published source."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.stock.substitution import MUST_MATCH, Difference, can_substitute, differences

HEADER = {"pitch_mm": 2.0, "ways": 4, "gender": "header", "mounting": "through hole"}
FAN = {"size_mm": 60, "thick_mm": 15, "volts": 24, "amps": 0.12, "wires": 3, "rpm": 3000}
SUPPLY = {"outputs": "+5 V, +12 V", "watts": 60}


@pytest.mark.parametrize(
    ("kind", "part", "change"),
    [
        ("connector", HEADER, {"angle": "right angle"}),
        ("connector", HEADER, {"latch": "friction", "finish": "gold"}),
        ("fan", FAN, {"amps": 0.1}),
        ("fan", FAN, {"thick_mm": 25}),
        ("supply", SUPPLY, {"outputs": "+5V +12V"}),
        ("supply", SUPPLY, {"watts": 100}),
    ],
)
def test_it_fits(kind: str, part: dict[str, Any], change: dict[str, Any]) -> None:
    assert can_substitute(kind, part, {**part, **change})


@pytest.mark.parametrize(
    ("kind", "part", "change"),
    [
        ("connector", HEADER, {"pitch_mm": 2.5}),
        ("connector", HEADER, {"ways": 5}),
        ("connector", HEADER, {"gender": "socket"}),
        ("connector", HEADER, {"mounting": "surface mount"}),
        ("connector", HEADER, {"mounting": None}),
        ("connector", {**HEADER, "contact_side": "top"}, {"contact_side": "bottom"}),
        ("connector", {**HEADER, "contact_side": "top"}, {"contact_side": None}),
        ("fan", FAN, {"amps": 0.14}),
        ("fan", FAN, {"amps": None}),
        ("fan", FAN, {"volts": 12}),
        ("fan", FAN, {"wires": 2}),
        ("fan", FAN, {"size_mm": 80}),
        ("supply", SUPPLY, {"watts": 50}),
        ("supply", SUPPLY, {"outputs": "+5 V, +24 V"}),
        ("module", {"function": "driver board"}, {}),
        ("consumable", {"container": "100 ml"}, {}),
        ("other", {"what": "knob"}, {}),
    ],
)
def test_it_does_not_fit(kind: str, part: dict[str, Any], change: dict[str, Any]) -> None:
    assert not can_substitute(kind, part, {**part, **change})


def test_contacts_on_both_sides_meet_those_on_either() -> None:
    assert can_substitute("connector", {**HEADER, "contact_side": "top"}, {**HEADER, "contact_side": "both"})


@pytest.mark.parametrize(
    ("kind", "part", "other", "words"),
    [
        ("hardware", {"length_mm": 20}, {"length_mm": 25}, [("5 mm longer", False)]),
        ("fan", FAN, {**FAN, "amps": 0.14}, [("0.14 A instead of 0.12 A", True)]),
        ("fan", FAN, {**FAN, "amps": 0.1}, [("0.1 A instead of 0.12 A", False)]),
        ("fan", FAN, {**FAN, "rpm": 2500}, [("2500 rpm instead of 3000 rpm", True)]),
        ("fan", FAN, {**FAN, "rpm": 2900}, [("2900 rpm instead of 3000 rpm", False)]),
        ("connector", HEADER, {**HEADER, "pitch_mm": 2.5}, [("2.5 mm pitch instead of 2 mm", True)]),
        ("supply", SUPPLY, {**SUPPLY, "watts": 50}, [("50 W instead of 60 W", True)]),
        ("supply", SUPPLY, {**SUPPLY, "watts": 90}, [("90 W instead of 60 W", False)]),
        ("fan", FAN, {**FAN, "volts": None}, [("its voltage is not noted: check", True)]),
    ],
)  # fmt: skip
def test_it_says_how_it_differs_and_cautions_where_it_may_matter_electrically(
    kind: str, part: dict[str, Any], other: dict[str, Any], words: list[tuple[str, bool]]
) -> None:
    assert [(difference.words, difference.caution) for difference in differences(kind, part, other)] == words


def test_cautions_come_first() -> None:
    all_differences = differences("fan", FAN, {**FAN, "thick_mm": 25, "volts": 12})
    assert [difference.caution for difference in all_differences] == [True, False]


CONNECTOR = st.fixed_dictionaries(
    {
        "pitch_mm": st.sampled_from([None, 1.25, 2.0, 2.5]), "ways": st.sampled_from([None, 2, 4]),
        "gender": st.sampled_from([None, "header", "socket"]), "mounting": st.sampled_from([None, "panel", "cable"]),
        "finish": st.sampled_from([None, "tin", "gold"]),
    }
)  # fmt: skip


@given(CONNECTOR, CONNECTOR)
def test_what_fits_differs_in_nothing_that_must_be_alike(part: dict[str, Any], other: dict[str, Any]) -> None:
    fitting = can_substitute("connector", part, other)
    assert fitting == all(part[key] is not None and part[key] == other[key] for key in MUST_MATCH["connector"])
    if fitting:
        assert can_substitute("connector", other, part)
        finish = differences("connector", part, other)
        assert finish in ([], [Difference(f"contact finish: {other['finish']} instead of {part['finish']}", True)])
