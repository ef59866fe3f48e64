"""The shop's decisions as the owner's page shows them, and as they are typed there."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.common.errors import invalid_field
from inventory.domain.common.shop import (
    ShopConfig,
    ShopSetting,
    edit_shop,
    shop_config,
    shop_settings,
)
from inventory.domain.common.validation import MAX_TARGET, MIN_TARGET, PART_KINDS, PROMISES
from inventory.domain.diagnosis.step_durations import StepDuration, step_durations
from shared.quantities import BadQuantity, parse_money

_FIRST = ("looks_days", "lead_days")
_BY_KIND = ("targets", "promises")
_SPECIAL = ("target", "promise", *_BY_KIND)
_TESTING = (
    "mask", "misread", "mask_intermittent", "measured_finds", "measured_passes", "repair_spoils", "repair_fails",
    "prior_faults", "prior_elsewhere", "faults_before",
)  # fmt: skip
_TIME_AND_MONEY = (
    "minutes_measure", "minutes_swap", "minutes_back", "minutes_fit", "minutes_repair", "minutes_proof",
    "minute_minor", "waiting_day_minor", "give_up_minor", "come_back_minor", "recovered_share",
    "hour_minor", "markup", "ready_days",
)  # fmt: skip


@dataclass(frozen=True)
class ShopScreen:
    """The shop's decisions: the promise, what the owner sets next, and the constants, with what each means."""

    shop: ShopConfig
    kinds: tuple[str, ...]
    promises: tuple[str, ...]
    first: tuple[ShopSetting, ...]
    groups: tuple[tuple[str, tuple[ShopSetting, ...]], ...]  # what they are about, and the constants
    timed: dict[str, StepDuration]  # minutes that the bench's own log tells, by setting


def shop_screen() -> ShopScreen:
    """Gather the shop's decisions."""
    known = {setting.name: setting for setting in shop_settings()}
    apart = (*_FIRST, *_SPECIAL, *_TESTING, *_TIME_AND_MONEY)
    groups = (
        ("what a test says, and where the chances start", tuple(known[name] for name in _TESTING)),
        ("what a step costs: minutes and money", tuple(known[name] for name in _TIME_AND_MONEY)),
        ("demand, lead times and orders", tuple(one for one in known.values() if one.name not in apart)),
    )
    return ShopScreen(
        shop_config(), PART_KINDS, PROMISES, tuple(known[name] for name in _FIRST), groups, step_durations()
    )


def edit_shop_from_form(typed: Mapping[str, str], currency: str) -> ShopConfig:
    """Change the shop's decisions as typed: shares in percent, money in *currency*; blank puts one back.

    ``target-fan`` and ``promise-fan`` are those of the kind fan; blank, the kind goes by the shop's.
    """
    changes: dict[str, Any] = dict(_changed_constants(typed, currency))
    if "target" in typed:
        changes["target"] = _parse_share(typed["target"], "target")
    if "promise" in typed:
        changes["promise"] = typed["promise"] or None
    if any(f"target-{kind}" in typed for kind in PART_KINDS):
        changes["targets"] = {
            kind: share for kind in PART_KINDS if (share := _parse_kind_share(typed, kind)) is not None
        }
        changes["promises"] = {kind: typed[f"promise-{kind}"] for kind in PART_KINDS if typed.get(f"promise-{kind}")}
    return edit_shop(**changes)


def _changed_constants(typed: Mapping[str, str], currency: str) -> Iterator[tuple[str, int | float | None]]:
    """Give the constants that were changed; one that came back as it was shown is no decision."""
    for setting in shop_settings():
        if setting.name in typed and setting.name not in _SPECIAL:
            value = _parse_number(setting, typed[setting.name], currency)
            if value != setting.value:
                yield setting.name, value


def _parse_kind_share(typed: Mapping[str, str], kind: str) -> float | None:
    return _parse_share(typed.get(f"target-{kind}", ""), f"target-{kind}")


def _parse_share(text: str, field: str) -> float | None:
    plain = text.replace("%", "").replace(",", ".").strip()
    if not plain:
        return None
    try:
        share = round(float(plain) / 100, 6)
    except ValueError:
        share = math.nan
    if not MIN_TARGET <= share <= MAX_TARGET:
        low, high = round(MIN_TARGET * 100, 6), round(MAX_TARGET * 100, 6)
        raise invalid_field(field, f"Type a percentage from {low:g} to {high:g}, such as 95.")
    return share


def _parse_number(setting: ShopSetting, text: str, currency: str) -> int | float | None:
    plain = text.replace(",", ".").strip()
    if not plain:
        return None
    if setting.is_money:
        return _parse_money(setting, text, currency)
    try:
        return int(plain) if isinstance(setting.default, int) else float(plain)
    except ValueError:
        kind = "whole number" if isinstance(setting.default, int) else "number"
        raise invalid_field(setting.name, f"Type a {kind} from {setting.low} to {setting.high}.") from None


def _parse_money(setting: ShopSetting, text: str, currency: str) -> int:
    try:
        return parse_money(text, currency)
    except BadQuantity as bad:
        raise invalid_field(setting.name, str(bad)) from None
