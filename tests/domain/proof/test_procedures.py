"""Procedures: what to read, between which limits, and editions that old proofs keep."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.common.errors import Conflict, Invalid, NotFound, Stale
from inventory.domain.proof import procedures, proofs
from tests.factories import a_part
from tests.proof_factories import a_piece, built_in_procedure_id, prove_fan

pytestmark = pytest.mark.usefixtures("bench")

VOLTS = {"name": "Output", "unit": "V", "low": "23.5", "high": "24.5"}


def test_it_keeps_limits_exactly_as_typed() -> None:
    procedure = procedures.add_procedure(
        "Driver output", [VOLTS, {"name": "Settles"}], kind="module", source="data sheet"
    )
    again = procedures.procedure(procedure.id)
    assert [(check.low, check.high, check.unit) for check in again.checks] == [("23.5", "24.5", "V"), ("", "", "")]
    assert [check.yes_or_no for check in again.checks] == [False, True]
    assert (again.edition, again.source) == (1, "data sheet")


def test_an_edit_makes_the_next_edition_and_old_proofs_keep_theirs() -> None:
    piece = a_piece()
    old = prove_fan(piece.id).proof
    new = procedures.edit_procedure(built_in_procedure_id("Fan bench run"), sensitivity=0.8, source="our own log")
    assert (new.edition, new.sensitivity, len(new.checks)) == (2, 0.8, 5)
    result = proofs.proof(old.id)
    assert (result.edition, result.sensitivity, result.readings) == (1, 0.92, old.readings)
    assert [edition.edition for edition in procedures.editions(new.id)] == [2, 1]
    assert [procedure.id for procedure in procedures.procedures() if procedure.name == "Fan bench run"] == [new.id]


def test_an_old_edition_is_neither_edited_nor_used() -> None:
    piece = a_piece()
    old = built_in_procedure_id("Fan bench run")
    new = procedures.edit_procedure(old, checks=[{"name": "Turns"}])
    with pytest.raises(Stale, match="newer edition of Fan bench run: open that one"):
        procedures.edit_procedure(old, steps="x")
    with pytest.raises(Conflict, match="not in use: choose a newer one"):
        proofs.record_proof(piece.id, old, [])
    assert proofs.record_proof(piece.id, new.id, [{"name": "Turns", "value": "yes"}]).proof.edition == 2


def test_a_procedure_keeps_its_name_and_a_name_is_given_once() -> None:
    procedure = procedures.add_procedure("Look it over", [{"name": "Looks right"}])
    with pytest.raises(Invalid, match="keeps its name"):
        procedures.edit_procedure(procedure.id, name="Glance")
    with pytest.raises(Conflict, match="There is a procedure Look it over already"):
        procedures.add_procedure("Look it over", [{"name": "Looks right"}])


def test_a_retired_one_is_offered_no_longer_and_can_come_back() -> None:
    added = procedures.add_procedure("Look it over", [{"name": "Looks right"}])
    procedures.retire_procedure(added.id)
    assert procedures.procedures() == []
    procedures.retire_procedure(added.id, retired=False)
    assert [procedure.id for procedure in procedures.procedures()] == [added.id]


def test_those_for_the_very_part_come_before_those_for_its_kind_and_for_any() -> None:
    part, other = a_part("24 V fan", "fan"), a_part("12 V fan", "fan")
    for_any = procedures.add_procedure("Any", [{"name": "ok"}])
    for_kind = procedures.add_procedure("Fans", [{"name": "ok"}], kind="fan")
    for_part = procedures.add_procedure("This fan", [{"name": "ok"}], part_id=part.id)
    procedures.add_procedure("Supplies", [{"name": "ok"}], kind="supply")
    procedures.add_procedure("Other fan", [{"name": "ok"}], part_id=other.id)
    assert [procedure.id for procedure in procedures.procedures(part_id=part.id)] == [
        for_part.id,
        for_kind.id,
        for_any.id,
    ]
    assert for_part.kind == "fan"


def test_it_installs_the_built_in_ones_once_and_leaves_edits_alone() -> None:
    first = procedures.install_built_in()
    assert {procedure.kind for procedure in first} == {"fan", "supply", "connector", "module"}
    edited = procedures.edit_procedure(first[0].id, specificity=0.9)
    assert procedures.install_built_in() == []
    assert edited in procedures.procedures(kind="fan")


def test_every_built_in_one_says_where_its_limits_come_from() -> None:
    for procedure in procedures.install_built_in():
        assert (
            "common practice, no published source" in procedure.source.lower() or "Specification" in procedure.source
        )
        assert "assumed" in procedure.source
        assert procedure.steps
    supply = procedures.procedure(built_in_procedure_id("ATX-type supply rails"))
    assert list(supply.hazards) == ["mains", "stored_charge"]
    assert "ATX12V Power Supply Design Guide 2.0, table 2" in supply.source


@pytest.mark.parametrize(
    ("check", "sentence"),
    [
        ({"name": ""}, "The check is missing"),
        ({"name": "Output", "unit": "V"}, "has a unit and no limit"),
        ({"name": "Output", "unit": "V", "low": "25", "high": "24"}, "swap the limits"),
        ({"name": "Output", "unit": "V", "high": "NaN"}, "is not a reading"),
        ({"name": "Output", "unit": "V", "high": "1e3"}, "is not a reading"),
        ({"name": "Output", "unit": "V", "high": 24.5}, "Type the number as text"),
        ({"name": "Output", "unit": "V", "high": "99999999999"}, "cannot be right"),
        ({"name": "Current", "unit": "A", "high": "1", "times_rated": "plug"}, "which is no rating: a fan has"),
        ({"name": "Current", "unit": "mA", "high": "1", "times_rated": "amps"}, "use the same unit"),
        ({"name": "Output", "limit": "3"}, "A check has no limit"),
    ],
)
def test_it_refuses_a_check_that_cannot_be_judged(check: dict[str, Any], sentence: str) -> None:
    with pytest.raises(Invalid, match=sentence):
        procedures.add_procedure("Odd", [check], kind="fan")
    assert procedures.procedures() == []


def test_it_refuses_two_checks_of_one_name_and_none_at_all() -> None:
    with pytest.raises(Invalid, match="Two checks are called Output: name them apart"):
        procedures.add_procedure("Odd", [VOLTS, VOLTS])
    with pytest.raises(Invalid, match="has 1 to 40 checks"):
        procedures.add_procedure("Odd", [])


@pytest.mark.parametrize("share", [0, 1, -0.1, 1.5, float("nan"), "0.9", True])
def test_it_refuses_a_share_that_no_test_has(share: Any) -> None:
    with pytest.raises(Invalid):
        procedures.add_procedure("Odd", [VOLTS], sensitivity=share)


def test_it_refuses_a_test_that_says_nothing() -> None:
    with pytest.raises(Invalid, match="fails good pieces as often as bad ones"):
        procedures.add_procedure("Coin", [VOLTS], sensitivity=0.5, specificity=0.5)


def test_it_refuses_unknown_hazards_kinds_parts_and_ids() -> None:
    with pytest.raises(Invalid, match="No hazard called sharks"):
        procedures.add_procedure("Odd", [VOLTS], hazards=["sharks"])
    with pytest.raises(Invalid, match="kind must be one of"):
        procedures.add_procedure("Odd", [VOLTS], kind="boat")
    with pytest.raises(NotFound):
        procedures.add_procedure("Odd", [VOLTS], part_id=999)
    with pytest.raises(NotFound):
        procedures.procedure(999)
