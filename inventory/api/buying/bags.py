"""/bag-codes, /photos, /pairings: reading what suppliers print, photos of codes, and what their numbers mean."""

from __future__ import annotations

from typing import Any

from flask import current_app, request

from inventory.api.buying.bag_schemas import (
    BagCodeIn,
    BagCodeOut,
    PairingIn,
    PairingOut,
    PairingsQuery,
    PhotoIn,
    PhotoOut,
)
from inventory.api.resource import Resource, location_header
from inventory.domain.buying import bag_pairings as domain
from inventory.domain.buying import bag_receipts
from inventory.domain.buying.bag_pairings import PairingRecord
from inventory.domain.common.records import ResultPage
from inventory.domain.labelling import photo_codes
from inventory.web.access import current_person, require_role

resource = Resource("bags and photos", "What suppliers print on bags, photos of codes, what numbers on bags mean.")
PAIRING = PairingOut()


@resource.url_value_preprocessor  # type: ignore[untyped-decorator]
def set_body_limit(endpoint: str | None, _: dict[str, Any] | None) -> None:
    """Let a photo be as large as the setting for photos says."""
    if (endpoint or "").endswith(".post_read_photo_codes"):
        request.max_content_length = current_app.config["BENCH"].max_photo


@resource.post("/bag-codes")
@require_role("viewer")
@resource.arguments(BagCodeIn())
@resource.response(200, BagCodeOut(), with_etag=False, read_only=True)
def read_bag_code(data: dict[str, Any]) -> bag_receipts.BagSuggestion:
    """Read a supplier's bag code, and say what it suggests for a receipt.

    Understood are ISO/IEC 15434 envelopes with ASC MH10.8.2 data identifiers, GS1 element strings, and the bare
    digits of a product's bar code. Nothing is written; the receipt itself learns what the numbers mean.
    """
    return bag_receipts.suggest_receipt(**data)


@resource.post("/photos")
@require_role("viewer")
@resource.arguments(PhotoIn(), location="files")
@resource.response(200, PhotoOut(), with_etag=False, read_only=True)
def read_photo_codes(data: dict[str, Any]) -> dict[str, Any]:
    """Read every code on a photo. The photo is not kept."""
    with data["photo"].stream as stream:
        return {"symbols": photo_codes.read_photo(stream.read())}


@resource.get("/pairings")
@resource.arguments(PairingsQuery(), location="query")
@resource.listed(PAIRING)
def pairings(params: dict[str, Any]) -> ResultPage:
    """List what was learned of numbers on bags, by number."""
    return domain.pairings(**params)


@resource.post("/pairings")
@resource.arguments(PairingIn())
@resource.response(201, PAIRING, with_etag=False)
def add_pairing(data: dict[str, Any]) -> Any:
    """Say that a number on bags means a part; what it meant before is forgotten."""
    made = domain.add_pairing(**data, by=current_person().id)
    return made, location_header("pairing", made.id)


@resource.get("/pairings/<key:pairing_id>")
@resource.response(200, PAIRING)
def pairing(pairing_id: int) -> PairingRecord:
    """Read one pairing."""
    return domain.pairing(pairing_id)


@resource.delete("/pairings/<key:pairing_id>")
@resource.response(204)
def delete_pairing(pairing_id: int) -> None:
    """Forget what a number means: the next bag that carries it is asked about."""
    domain.delete_pairing(pairing_id)
