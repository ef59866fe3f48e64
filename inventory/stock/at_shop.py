"""The shop's decisions as the owner's page shows them, and as they are typed there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.stock.refusals import Invalid
from inventory.stock.rules import KINDS, PROMISES
from inventory.stock.shop import Shop, ShopSetting, edit_shop, shop, shop_settings

_FIRST = ("looks_days", "lead_days")
_BY_KIND = ("targets", "promises")
_SPECIAL = ("target", "promise", *_BY_KIND)


@dataclass(frozen=True)
class AtShop:
    """The shop's decisions: the promise, what the owner sets next, and the constants, with what each means."""

    shop: Shop
    kinds: tuple[str, ...]
    promises: tuple[str, ...]
    first: tuple[ShopSetting, ...]
    constants: tuple[ShopSetting, ...]


def at_shop() -> AtShop:
    """Gather the shop's decisions."""
    found = shop_settings()
    return AtShop(
        shop(), KINDS, PROMISES, tuple(one for one in found if one.name in _FIRST),
        tuple(one for one in found if one.name not in (*_FIRST, *_SPECIAL)),
    )  # fmt: skip


def decide(typed: Mapping[str, str]) -> Shop:
    """Change the shop's decisions as typed: shares in percent; blank puts one back to its default.

    ``target-fan`` and ``promise-fan`` are those of the kind fan; blank, the kind goes by the shop's.
    """
    changes: dict[str, Any] = {
        one.name: _number(one, typed[one.name])
        for one in shop_settings()
        if one.name in typed and one.name not in _SPECIAL
    }
    if "target" in typed:
        changes["target"] = _share(typed["target"], "target")
    if "promise" in typed:
        changes["promise"] = typed["promise"] or None
    if any(f"target-{kind}" in typed for kind in KINDS):
        changes["targets"] = {kind: share for kind in KINDS if (share := _share_of(typed, kind)) is not None}
        changes["promises"] = {kind: typed[f"promise-{kind}"] for kind in KINDS if typed.get(f"promise-{kind}")}
    return edit_shop(**changes)


def _share_of(typed: Mapping[str, str], kind: str) -> float | None:
    return _share(typed.get(f"target-{kind}", ""), f"target-{kind}")


def _share(text: str, field: str) -> float | None:
    plain = text.replace("%", "").replace(",", ".").strip()
    if not plain:
        return None
    try:
        return round(float(plain) / 100, 6)
    except ValueError:
        raise _bad(field, "Type a percentage, such as 95.") from None


def _number(setting: ShopSetting, text: str) -> int | float | None:
    plain = text.replace(",", ".").strip()
    if not plain:
        return None
    try:
        return int(plain) if isinstance(setting.default, int) else float(plain)
    except ValueError:
        kind = "whole number" if isinstance(setting.default, int) else "number"
        raise _bad(setting.name, f"Type a {kind} from {setting.low} to {setting.high}.") from None


def _bad(field: str, sentence: str) -> Invalid:
    return Invalid(sentence, errors={field: [sentence]})
