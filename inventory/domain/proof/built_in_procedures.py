"""The procedures that every bench starts with. Each names where its limits come from.

How often a test catches a bad piece (sensitivity) and passes a good one (specificity) is assumed throughout;
the bench may edit both, which makes a new edition.
"""

from __future__ import annotations

from typing import Any

LORE = "Common practice, no published source."
MAINS_FIRST = (
    "Only people qualified for mains work open a supply or test earth and insulation. "
    "After unplugging wait, discharge, and measure before touching. "
)


def _range(name: str, unit: str, low: str = "", high: str = "", times_rated: str = "") -> dict[str, str]:
    return {"name": name, "unit": unit, "low": low, "high": high, "times_rated": times_rated}


def _yes(name: str) -> dict[str, str]:
    return {"name": name}


FAN_BENCH_RUN: dict[str, Any] = {
    "name": "Fan bench run",
    "kind": "fan",
    "steps": "Run it at its nominal voltage for two minutes, held so that it cannot walk. Read current and speed "
    "when it is steady. Speed from a tach wire: two pulses a revolution, so turns a minute are 30 times the "
    "frequency in Hz. Then stop it and start it again at 70 % of nominal. Answer yes to the tach check if the "
    "fan has no tach wire.",
    "hazards": ("moving",),
    "source": LORE + " Two tach pulses a revolution: 4-Wire Pulse Width Modulation Controlled Fans Specification, "
    "rev. 1.3 (2005). Shares of bad fans caught and good ones passed are assumed.",
    "sensitivity": 0.92,
    "specificity": 0.98,
    "checks": (
        _range("Current", "A", high="1.0", times_rated="amps"),
        _range("Speed", "rpm", low="0.90", high="1.10", times_rated="rpm"),
        _yes("Tach signal is there, where there is one"),
        _yes("Starts at 70 % of nominal voltage"),
        _yes("No rub, no bearing noise"),
    ),
}

FAN_FOUR_WIRES: dict[str, Any] = {
    "name": "4-wire PWM fan at 12 V",
    "kind": "fan",
    "steps": "Feed 12 V and a PWM signal of about 25 kHz. Read the current while it starts (the highest within the "
    "first second) and when it runs at full duty. Lower the duty and see the speed follow. The tach gives two "
    "pulses a revolution.",
    "hazards": ("moving",),
    "source": "4-Wire Pulse Width Modulation Controlled Fans Specification, rev. 1.3 (2005). Yes-or-no checks: "
    "common practice, no published source. Shares of bad fans caught and good ones passed are assumed.",
    "sensitivity": 0.92,
    "specificity": 0.98,
    "checks": (
        _range("Voltage fed", "V", "11.40", "12.60"),
        _range("PWM frequency fed", "kHz", "21", "28"),
        _range("Starting current", "A", high="2.2"),
        _range("Running current", "A", high="1.5"),
        _yes("Tach signal is there and follows the duty"),
        _yes("No rub, no bearing noise"),
    ),
}

ATX_RAILS: dict[str, Any] = {
    "name": "ATX-type supply rails",
    "kind": "supply",
    "steps": MAINS_FIRST + "Measure every rail unloaded and again after ten minutes at half load; note the "
    "reading that is further out. Ripple with the scope at 20 MHz bandwidth, short ground lead, at half load.",
    "hazards": ("mains", "stored_charge"),
    "source": "ATX12V Power Supply Design Guide 2.0, table 2, and ATX Power Supply Design Guide, table 8. Yes-or-no "
    "checks: common practice, no published source. Shares of bad supplies caught and good ones passed are assumed.",
    "sensitivity": 0.95,
    "specificity": 0.98,
    "checks": (
        _range("+12 V", "V", "11.40", "12.60"),
        _range("+5 V", "V", "4.75", "5.25"),
        _range("+3.3 V", "V", "3.14", "3.47"),
        _range("-12 V", "V", "-13.20", "-10.80"),
        _range("Ripple on +12 V, peak to peak", "mV", high="120"),
        _range("Ripple on +5 V, peak to peak", "mV", high="50"),
        _range("Ripple on +3.3 V, peak to peak", "mV", high="50"),
        _yes("Standby is there, and the enable signal switches the rails on and off"),
        _yes("No smell, no noise, no heat where there should be none"),
    ),
}

CONTINUITY: dict[str, Any] = {
    "name": "Harness continuity",
    "kind": "connector",
    "steps": "Short the probes and note what they read; take it off. Measure every wire end to end while flexing the "
    "harness at both plugs, and note the highest. Then measure each contact against its neighbours.",
    "source": LORE + " Shares of bad harnesses caught and good ones passed are assumed.",
    "sensitivity": 0.90,
    "specificity": 0.99,
    "checks": (
        _range("Resistance end to end, flexed", "ohm", high="0.2"),
        _yes("No short to a neighbour"),
        _yes("Latch holds, no contact pushed back"),
    ),
}

BOARD_LIMITED: dict[str, Any] = {
    "name": "Board on a current-limited supply",
    "kind": "module",
    "steps": "Measure every rail for shorts first. Set the bench supply to the board's voltage and its current limit "
    "to a little above what the board should draw idle; check polarity, switch on, watch the current settle, and "
    "feel for hot spots with the power off.",
    "hazards": ("static", "hot"),
    "source": LORE + " It says little about functions that the board shows only in its unit: sensitivity is assumed "
    "low.",
    "sensitivity": 0.75,
    "specificity": 0.98,
    "checks": (
        _yes("No short on any rail"),
        _yes("Draws its idle current, not the limit, and settles"),
        _yes("Nothing gets hot"),
    ),
}

BUILT_IN = (FAN_BENCH_RUN, FAN_FOUR_WIRES, ATX_RAILS, CONTINUITY, BOARD_LIMITED)
