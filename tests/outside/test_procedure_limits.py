"""The built-in procedures against the sources they name: just inside passes, just outside fails."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from inventory.domain.common.records import PartRecord
from inventory.domain.proof.built_in_procedures import ATX_RAILS, FAN_BENCH_RUN, FOUR_WIRE_FAN, HARNESS_CONTINUITY
from inventory.domain.proof.proof_records import CheckRecord
from inventory.domain.proof.readings import judge_reading, limits_for_part, tach_rpm

# ATX12V Power Supply Design Guide 2.0, table 2, and ATX Power Supply Design Guide, table 8; ripple at 20 MHz
SUPPLY_RAILS = [
    ("+12 V", "V", "11.40", "12.60"),
    ("+5 V", "V", "4.75", "5.25"),
    ("+3.3 V", "V", "3.14", "3.47"),
    ("-12 V", "V", "-13.2", "-10.8"),
    ("Ripple on +12 V, peak to peak", "mV", None, "120"),
    ("Ripple on +5 V, peak to peak", "mV", None, "50"),
    ("Ripple on +3.3 V, peak to peak", "mV", None, "50"),
]

# 4-Wire Pulse Width Modulation Controlled Fans Specification, rev. 1.3 (2005)
FOUR_WIRE_FANS = [
    ("Voltage fed", "V", "11.4", "12.6"),
    ("PWM frequency fed", "kHz", "21", "28"),
    ("Starting current", "A", None, "2.2"),
    ("Running current", "A", None, "1.5"),
]

CASES = [(ATX_RAILS, *rail) for rail in SUPPLY_RAILS] + [(FOUR_WIRE_FAN, *fan) for fan in FOUR_WIRE_FANS]


def _check(procedure: dict[str, object], name: str) -> CheckRecord:
    incoming_check = next(check for check in procedure["checks"] if check["name"] == name)  # type: ignore[attr-defined]
    return CheckRecord(1, **incoming_check)


def _passes(check: CheckRecord, value: Decimal) -> bool:
    return judge_reading(check, {"value": f"{value:f}", "unit": check.unit}).passed


@pytest.mark.parametrize(("procedure", "name", "unit", "low", "high"), CASES)
def test_readings_just_inside_pass_and_just_outside_fail(
    procedure: dict[str, object], name: str, unit: str, low: str | None, high: str
) -> None:
    check, step = _check(procedure, name), Decimal("0.001")
    assert check.unit == unit
    assert _passes(check, Decimal(high))
    assert not _passes(check, Decimal(high) + step)
    if low is None:
        assert _passes(check, Decimal(0))
    else:
        assert _passes(check, Decimal(low))
        assert not _passes(check, Decimal(low) - step)


def test_the_negative_rail_may_be_off_by_a_tenth() -> None:
    check = _check(ATX_RAILS, "-12 V")
    assert Decimal(check.low) == Decimal(-12) * Decimal("1.1")
    assert Decimal(check.high) == Decimal(-12) * Decimal("0.9")


@pytest.mark.parametrize(("hertz", "rpm"), [("66.7", "2001"), ("100", "3000"), ("50", "1500"), ("0", "0")])
def test_two_tach_pulses_make_one_revolution(hertz: str, rpm: str) -> None:
    """rpm = 60 f / 2, the specification above: 66.7 Hz is 2000 rpm, to the digits given."""
    assert tach_rpm(hertz) == Decimal(rpm)
    assert round(tach_rpm("66.667"), 0) == 2000


def _a_fan(**attributes: float) -> PartRecord:
    return PartRecord(
        1, "F-1", "24 V fan", "fan", "counted", "piece", "", "", dict(attributes), [], "", "", None, None, None,
        None, datetime(2026, 1, 1, tzinfo=UTC), None, False, 1,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [("Current", ["0.08", "0"], ["0.0801"]), ("Speed", ["1800", "2200"], ["1799.9", "2200.1"])],
)
def test_a_fan_is_held_against_its_own_rating(name: str, inside: list[str], outside: list[str]) -> None:
    """Current at or under its rating, speed within 10 % of rated: common practice, no published source."""
    check = limits_for_part(_check(FAN_BENCH_RUN, name), _a_fan(amps=0.08, rpm=2000))
    assert all(_passes(check, Decimal(reading)) for reading in inside)
    assert not any(_passes(check, Decimal(reading)) for reading in outside)


def test_a_harness_may_read_a_fifth_of_an_ohm() -> None:
    """Continuity under 0.2 ohm end to end while flexed: common practice, no published source."""
    check = _check(HARNESS_CONTINUITY, "Resistance end to end, flexed")
    assert _passes(check, Decimal("0.2"))
    assert not _passes(check, Decimal("0.201"))
