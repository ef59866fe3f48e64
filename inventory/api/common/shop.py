"""/shop: what the owner decides for the whole shop."""

from __future__ import annotations

from dataclasses import fields as columns
from typing import Any

from marshmallow import fields as ma
from marshmallow import validate

from inventory.api import fields
from inventory.api.resource import Resource
from inventory.api.schema import Answer, Edit
from inventory.domain.common import shop as stock
from inventory.domain.common.validation import KINDS, PROMISES
from inventory.web.access import for_role

resource = Resource("shop", "What the owner decides for the whole shop.")


def _field(column: Any) -> Any:
    """Make the field of one decision; null puts it back to its default."""
    about, low, high = (column.metadata.get(name) for name in ("about", "low", "high"))
    if column.name == "promise":
        return fields.Text(about, words=PROMISES, nullable=True)
    if low is None:
        value = ma.String() if column.name == "promises" else ma.Float()
        kinds = ma.String(validate=validate.OneOf(KINDS, error=f"A kind is one of: {', '.join(KINDS)}."))
        return ma.Dict(keys=kinds, values=value, allow_none=True, metadata={"description": about})
    if isinstance(column.default, int):
        return fields.Whole(about, least=low, most=high, nullable=True)
    return fields.Share(about, least=low, most=high, nullable=True)


SHOP = Answer.from_dict({one.name: _field(one) for one in columns(stock.Shop)}, name="ShopOut")()
SHOP_EDIT = Edit.from_dict({one.name: _field(one) for one in columns(stock.Shop)}, name="ShopEdit")()


@resource.get("/shop")
@for_role("viewer")
@resource.response(200, SHOP)
def shop() -> stock.Shop:
    """Read the shop's decisions."""
    return stock.shop()


@resource.patch("/shop")
@for_role("owner")
@resource.arguments(SHOP_EDIT)
@resource.edited(SHOP, stock.shop)
def edit_shop(given: dict[str, Any], version: int | None) -> stock.Shop:
    """Change some of the shop's decisions; null puts one back to its default."""
    return stock.edit_shop(**given)
