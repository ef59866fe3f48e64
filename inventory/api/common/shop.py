"""/shop: what the owner decides for the whole shop."""

from __future__ import annotations

from dataclasses import fields as columns
from typing import Any

from marshmallow import fields as ma
from marshmallow import validate

from inventory.api import fields
from inventory.api.resource import Resource
from inventory.api.schema import EditSchema, ResponseSchema
from inventory.domain.common import shop as domain
from inventory.domain.common.validation import PART_KINDS, PROMISES
from inventory.web.access import require_role

resource = Resource("shop", "What the owner decides for the whole shop.")


def _setting_field(column: Any) -> Any:
    """Make the field of one decision; null puts it back to its default."""
    about, low, high = (column.metadata.get(name) for name in ("about", "low", "high"))
    if column.name == "promise":
        return fields.Text(about, choices=PROMISES, nullable=True)
    if low is None:
        value = ma.String() if column.name == "promises" else ma.Float()
        kinds = ma.String(validate=validate.OneOf(PART_KINDS, error=f"A kind is one of: {', '.join(PART_KINDS)}."))
        return ma.Dict(keys=kinds, values=value, allow_none=True, metadata={"description": about})
    if isinstance(column.default, int):
        return fields.Integer(about, minimum=low, maximum=high, nullable=True)
    return fields.BoundedNumber(about, minimum=low, maximum=high, nullable=True)


SHOP = ResponseSchema.from_dict(
    {column.name: _setting_field(column) for column in columns(domain.ShopConfig)}, name="ShopOut"
)()
SHOP_EDIT = EditSchema.from_dict(
    {column.name: _setting_field(column) for column in columns(domain.ShopConfig)}, name="ShopEdit"
)()


@resource.get("/shop")
@require_role("viewer")
@resource.response(200, SHOP)
def shop() -> domain.ShopConfig:
    """Read the shop's decisions."""
    return domain.shop_config()


@resource.patch("/shop")
@require_role("owner")
@resource.arguments(SHOP_EDIT)
@resource.edited(SHOP, domain.shop_config)
def edit_shop(data: dict[str, Any], version: int | None) -> domain.ShopConfig:
    """Change some of the shop's decisions; null puts one back to its default."""
    return domain.edit_shop(**data)
