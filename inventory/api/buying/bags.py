"""/bag-codes, /photos, /pairings: reading what suppliers print, photos of codes, and what their numbers mean."""

from __future__ import annotations

from typing import Any

from flask import current_app, request

from inventory.api.buying.bag_schemas import (
    BagCodeIn,
    BagOut,
    PairingIn,
    PairingOut,
    PairingsQuery,
    PhotoIn,
    PhotoOut,
)
from inventory.api.resource import Resource, at
from inventory.domain.buying import bag_pairings as stock
from inventory.domain.buying import bag_receipts
from inventory.domain.buying.bag_pairings import PairingRecord
from inventory.domain.common.records import Page
from inventory.domain.labelling import photo_codes
from inventory.web.access import caller, for_role

resource = Resource("bags and photos", "What suppliers print on bags, photos of codes, what numbers on bags mean.")
PAIRING = PairingOut()


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def make_room(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let a photo be as large as the setting for photos says."""
    if (endpoint or "").endswith(".post_read_photo"):
        request.max_content_length = current_app.config["BENCH"].max_photo


@resource.post("/bag-codes")
@for_role("viewer")
@resource.arguments(BagCodeIn())
@resource.response(200, BagOut(), entity=False, reads=True)
def read_bag(given: dict[str, Any]) -> bag_receipts.Bag:
    """Read a supplier's bag code, and say what it suggests for a receipt.

    Understood are ISO/IEC 15434 envelopes with ASC MH10.8.2 data identifiers, GS1 element strings, and the bare
    digits of a product's bar code. Nothing is written; the receipt itself learns what the numbers mean.
    """
    return bag_receipts.bag(**given)


@resource.post("/photos")
@for_role("viewer")
@resource.arguments(PhotoIn(), location="files")
@resource.response(200, PhotoOut(), entity=False, reads=True)
def read_photo(given: dict[str, Any]) -> dict[str, Any]:
    """Read every code on a photo. The photo is not kept."""
    with given["photo"].stream as stream:
        return {"symbols": photo_codes.symbols_on(stream.read())}


@resource.get("/pairings")
@resource.arguments(PairingsQuery(), location="query")
@resource.listed(PAIRING)
def pairings(asked: dict[str, Any]) -> Page:
    """List what was learned of numbers on bags, by number."""
    return stock.pairings(**asked)


@resource.post("/pairings")
@resource.arguments(PairingIn())
@resource.response(201, PAIRING, entity=False)
def pair(given: dict[str, Any]) -> Any:
    """Say that a number on bags means a part; what it meant before is forgotten."""
    made = stock.pair(**given, by=caller().id)
    return made, at("pairing", made.id)


@resource.get("/pairings/<key:pairing_id>")
@resource.response(200, PAIRING)
def pairing(pairing_id: int) -> PairingRecord:
    """Read one pairing."""
    return stock.pairing(pairing_id)


@resource.delete("/pairings/<key:pairing_id>")
@resource.response(204)
def forget_pairing(pairing_id: int) -> None:
    """Forget what a number means: the next bag that carries it is asked about."""
    stock.forget(pairing_id)
