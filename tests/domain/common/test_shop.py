"""The shop's decisions, by which the reorder list is reckoned."""

from __future__ import annotations

import pytest

from inventory.domain.common import shop
from inventory.domain.common.errors import Invalid
from inventory.domain.reorder import reorder_list
from tests.reorder_factories import a_part_with_uses

pytestmark = pytest.mark.usefixtures("bench", "made_up_day")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("target", 0), ("target", 1), ("target", 1.0), ("target", "0.95"), ("target", True), ("target", float("nan")),
        ("targets", {"cake": 0.9}), ("targets", {"fan": 1}), ("targets", 0.9), ("promise", "always"),
        ("promises", {"fan": "never"}), ("half_life_months", 0), ("kind_parts", 2.5), ("lead_days", -1),
        ("looks_days", 1000), ("colour", "red"),
    ],
)  # fmt: skip
def test_it_refuses_a_decision_that_cannot_be_reckoned_with(name: str, value: object) -> None:
    with pytest.raises(Invalid) as refused:
        shop.edit_shop(**{"looks_days": 3, name: value})
    assert list(refused.value.errors) == [name]
    assert shop.shop_config() == shop.ShopConfig()


def test_a_decision_is_kept_and_can_be_put_back_to_its_default() -> None:
    shop.edit_shop(target=0.9, targets={"fan": 0.98}, half_life_months=6)
    assert (shop.shop_config().target, shop.shop_config().targets, shop.shop_config().constants.half_life_months) == (
        0.9,
        {"fan": 0.98},
        6,
    )
    shop.edit_shop(target=None, targets=None)
    assert (shop.shop_config().target, shop.shop_config().targets, shop.shop_config().half_life_months) == (
        0.95,
        {},
        6,
    )
    shown = {setting.name: setting for setting in shop.shop_settings()}
    assert (shown["half_life_months"].value, shown["half_life_months"].default) == (6, 12)
    assert all(field.about for field in shown.values())


def test_a_shorter_memory_weighs_old_use_less() -> None:
    part = a_part_with_uses(((300, 1), (280, 1)))
    before = reorder_list.explain_advice(part.id).reckoned.k
    shop.edit_shop(half_life_months=3)
    assert reorder_list.explain_advice(part.id).reckoned.k < before / 2
