"""Rows read, added and changed by plain SQL are the ones that the tables' own queries give."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.store.connection import writing
from inventory.store.queries import by_key, by_values, change, having
from inventory.store.tables import Bin, Job, Suspect, UnitModel
from tests.factories import a_bin, a_job, a_part, stocked

pytestmark = pytest.mark.usefixtures("bench")


def test_a_row_is_the_same_by_its_key_by_its_values_and_by_a_query() -> None:
    made = a_bin(name="A-14", mixed=True)
    by_query = Bin.select().where(Bin.id == made.id).get()
    for found in (by_key(Bin, made.id), by_values(Bin, {"name": "A-14"}), Bin.get(Bin.name == "A-14")):
        assert found.__data__ == by_query.__data__
    assert isinstance(by_query.created, datetime)
    assert by_values(Bin, {"name": "none such"}) is None
    with pytest.raises(Bin.DoesNotExist):
        Bin.get(Bin.id == 999)


def test_what_is_asked_otherwise_is_asked_by_a_query() -> None:
    first, second = a_bin(name="A-1"), a_bin(name="A-2")
    assert Bin.get(Bin.id > first.id).id == second.id
    assert Bin.get(name="A-2").id == second.id
    assert Bin.get_or_none((Bin.name == "A-1") & (Bin.id == second.id)) is None


def test_references_are_followed() -> None:
    part, place, _ = stocked(5)
    assert Bin.get_by_id(place.id).part.name == part.name
    assert Bin.get_by_id(a_bin().id).part is None


def test_a_row_is_added_with_its_defaults_and_changed_by_its_own_columns() -> None:
    with writing():
        made = UnitModel.create(name="Corvid 9")
        assert UnitModel.get_by_id(made.id).name == "Corvid 9"
        made.name = "Corvid 9 b"
        assert made.save() == 1
        assert (made.is_dirty(), by_key(UnitModel, made.id).name) == (False, "Corvid 9 b")
        assert change(UnitModel, 999, {"name": "x"}) == 0


def test_a_change_of_a_version_raises_it_and_leaves_another_alone() -> None:
    job = a_job(customer="Kittiwake Events")
    day = datetime(2026, 3, 1, tzinfo=UTC)
    with writing():
        assert change(Job, job.id, {"customer": "Gannet", "closed": day}, job.version) == 1
        assert change(Job, job.id, {"customer": "Fulmar"}, job.version) == 0
    found = Job.get_by_id(job.id)
    assert (found.customer, found.closed, found.version) == ("Gannet", day, job.version + 1)


def test_one_is_found_or_added_once() -> None:
    job, part = a_job(), a_part()
    for added in (True, False):
        with writing():
            given = {"part": part.id, "at": clock.now()}
            found, made = Suspect.get_or_create(job=job.id, name="Fan", defaults=given)
        assert (found.part_id, made) == (part.id, added)
    assert [one.name for one in having(Suspect, job=job.id)] == ["Fan"]


def test_what_the_database_refuses_comes_as_its_usual_error() -> None:
    a_bin(name="A-14")
    with pytest.raises(IntegrityError), writing():
        Bin.create(name="A-14", code="B0000000X", created=clock.now())
