"""The shop's decisions as the owner's page shows them, and as they are typed there."""

from __future__ import annotations

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
from inventory.pages.form_fields import MoneyField, PercentField
from inventory.pages.forms import parse_text

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
        ("demand, lead times and orders", tuple(setting for setting in known.values() if setting.name not in apart)),
    )
    return ShopScreen(
        shop_config(), PART_KINDS, PROMISES, tuple(known[name] for name in _FIRST), groups, step_durations()
    )


def edit_shop_from_form(texts: Mapping[str, str]) -> ShopConfig:
    """Change the shop's decisions as typed: shares in percent, money in the bench's currency; blank puts one back.

    ``target-fan`` and ``promise-fan`` are those of the kind fan; blank, the kind goes by the shop's.
    """
    changes: dict[str, Any] = dict(_changed_constants(texts))
    if "target" in texts:
        changes["target"] = _parse_share(texts, "target")
    if "promise" in texts:
        changes["promise"] = texts["promise"] or None
    if any(f"target-{kind}" in texts for kind in PART_KINDS):
        shares = {kind: _parse_share(texts, f"target-{kind}") for kind in PART_KINDS}
        changes["targets"] = {kind: share for kind, share in shares.items() if share is not None}
        changes["promises"] = {kind: texts[f"promise-{kind}"] for kind in PART_KINDS if texts.get(f"promise-{kind}")}
    return edit_shop(**changes)


def _changed_constants(texts: Mapping[str, str]) -> Iterator[tuple[str, int | float | None]]:
    """Give the constants that were changed; one that came back as it was shown is no decision."""
    for setting in shop_settings():
        if setting.name in texts and setting.name not in _SPECIAL:
            value = _parse_number(setting, texts[setting.name])
            if value != setting.value:
                yield setting.name, value


def _parse_share(texts: Mapping[str, str], name: str) -> float | None:
    share: float | None = parse_text(texts.get(name, ""), PercentField(MIN_TARGET, MAX_TARGET), name)
    return share


def _parse_number(setting: ShopSetting, text: str) -> int | float | None:
    plain = text.replace(",", ".").strip()
    if not plain:
        return None
    if setting.is_money:
        minor: int | None = parse_text(text, MoneyField(), setting.name)
        return minor
    try:
        return int(plain) if isinstance(setting.default, int) else float(plain)
    except ValueError:
        kind = "whole number" if isinstance(setting.default, int) else "number"
        raise invalid_field(setting.name, f"Type a {kind} from {setting.low} to {setting.high}.") from None
