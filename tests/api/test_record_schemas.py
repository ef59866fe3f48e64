"""Schemas made from described records, and which of the document's schemas are answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

import pytest
from marshmallow import ValidationError

from inventory.api import docs_reader
from inventory.api.record_schemas import body_schema, edit_schema, response_schema
from inventory.domain.common.described import About, Sent, chance, text_limits


@dataclass(frozen=True)
class WheelRecord:
    """A wheel of a trolley."""

    id: Annotated[int, "Its id."]
    colour: Annotated[str, About("Its colour.", choices=("grey", "black"))]


@dataclass(frozen=True)
class TrolleyRecord:
    """A trolley; where it stands is for the pages alone."""

    id: Annotated[int, "Its id."]
    name: Annotated[str, "What it is called.", Sent(minimum=1, maximum=5, required=True)]
    load: Annotated[int | None, About("What it carries, in g.", maximum=None), Sent(maximum=300)]
    wear: Annotated[float, chance("How worn it is.")]
    retired: Annotated[bool, "No longer used.", Sent(add=False)]
    bought: Annotated[date, "The day it was bought.", Sent(edit=False)]
    wheels: Annotated[tuple[WheelRecord, ...], "Its wheels."]
    place: str

    @property
    def free(self) -> Annotated[int, About(minimum=-1)]:
        """How many wheels it lacks."""
        return 4 - len(self.wheels)


TROLLEY = TrolleyRecord(7, "T-1", None, 0.25, False, date(2026, 3, 31), (WheelRecord(1, "grey"),), "door")
TrolleyOut = response_schema(TrolleyRecord, "free")
TrolleyIn = body_schema(TrolleyRecord)
TrolleyEdit = edit_schema(TrolleyRecord)


def test_the_described_fields_and_the_records_inside_are_answered() -> None:
    assert TrolleyOut().dump(TROLLEY) == {
        "id": 7, "name": "T-1", "load": None, "wear": 0.25, "retired": False, "bought": "2026-03-31",
        "wheels": [{"id": 1, "colour": "grey"}], "free": 3,
    }  # fmt: skip
    assert TrolleyOut().fields["free"].metadata["description"] == "How many wheels it lacks."


def test_names_follow_the_record() -> None:
    names = [schema.__name__ for schema in (TrolleyOut, TrolleyIn, TrolleyEdit)]
    assert names == ["TrolleyOut", "TrolleyIn", "TrolleyEdit"]


def test_what_may_be_sent_differs_between_adding_and_editing() -> None:
    assert list(TrolleyIn().fields) == ["name", "load", "bought"]
    assert list(TrolleyEdit().fields) == ["name", "load", "retired"]
    assert TrolleyEdit().load({"load": None}) == {"load": None}


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"name": "too long"}, "name"), ({"name": ""}, "name"), ({}, "name"), ({"name": "T-2", "id": 3}, "id"),
        ({"name": "T-2", "load": 301}, "load"), ({"name": "T-2", "load": "3"}, "load"),
    ],
)  # fmt: skip
def test_limits_are_those_of_the_record(body: dict[str, Any], field: str) -> None:
    with pytest.raises(ValidationError) as refused:
        TrolleyIn().load(body)
    assert field in refused.value.normalized_messages()


def test_the_domain_reads_the_same_text_limits() -> None:
    assert text_limits(TrolleyRecord) == {"name": 5}
    assert text_limits(TrolleyRecord, leave_out=("name",)) == {}


def test_an_answer_is_known_by_its_use_and_not_by_its_name() -> None:
    def content(name: str) -> dict[str, Any]:
        return {"content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{name}"}}}}

    operation = {"responses": {"200": content("StoodIn")}, "requestBody": content("StandIn")}
    schema = {"properties": {"wheel": {"$ref": "#/components/schemas/Wheel"}}}
    named = {"StoodIn": schema, "StandIn": {"properties": {}}, "Wheel": {"properties": {}}}
    document = {"paths": {"/stood": {"get": operation}}, "components": {"schemas": named}}
    assert list(docs_reader.response_schemas(document)) == ["StoodIn", "Wheel"]
