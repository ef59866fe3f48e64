"""Rows read, added and changed by plain SQL are the ones that the tables' own queries give."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from peewee import IntegrityError

from inventory.domain.common import clock
from inventory.store.connection import transaction
from inventory.store.queries import filter_by, find_by_values, get_by_id, update_row
from inventory.store.tables import Bin, Job, Suspect, UnitModel
from tests.factories import a_bin, a_job, a_part, a_stocked_part

pytestmark = pytest.mark.usefixtures("bench")


def test_a_row_is_the_same_by_its_key_by_its_values_and_by_a_query() -> None:
    bin_ = a_bin(name="A-14", mixed=True)
    by_query = Bin.select().where(Bin.id == bin_.id).get()
    for row in (get_by_id(Bin, bin_.id), find_by_values(Bin, {"name": "A-14"}), Bin.get(Bin.name == "A-14")):
        assert row.__data__ == by_query.__data__
    assert isinstance(by_query.created, datetime)
    assert find_by_values(Bin, {"name": "none such"}) is None
    with pytest.raises(Bin.DoesNotExist):
        Bin.get(Bin.id == 999)


def test_what_is_asked_otherwise_is_asked_by_a_query() -> None:
    first, second = a_bin(name="A-1"), a_bin(name="A-2")
    assert Bin.get(Bin.id > first.id).id == second.id
    assert Bin.get(name="A-2").id == second.id
    assert Bin.get_or_none((Bin.name == "A-1") & (Bin.id == second.id)) is None


def test_references_are_followed() -> None:
    part, place, _ = a_stocked_part(5)
    assert Bin.get_by_id(place.id).part.name == part.name
    assert Bin.get_by_id(a_bin().id).part is None


def test_a_row_is_added_with_its_defaults_and_changed_by_its_own_columns() -> None:
    with transaction():
        model = UnitModel.create(name="Corvid 9")
        assert UnitModel.get_by_id(model.id).name == "Corvid 9"
        model.name = "Corvid 9 b"
        assert model.save() == 1
        assert (model.is_dirty(), get_by_id(UnitModel, model.id).name) == (False, "Corvid 9 b")
        assert update_row(UnitModel, 999, {"name": "x"}) == 0


def test_a_change_of_a_version_raises_it_and_leaves_another_alone() -> None:
    job = a_job(customer="Kittiwake Events")
    day = datetime(2026, 3, 1, tzinfo=UTC)
    with transaction():
        assert update_row(Job, job.id, {"customer": "Gannet", "closed": day}, job.version) == 1
        assert update_row(Job, job.id, {"customer": "Fulmar"}, job.version) == 0
    row = Job.get_by_id(job.id)
    assert (row.customer, row.closed, row.version) == ("Gannet", day, job.version + 1)


def test_one_is_found_or_added_once() -> None:
    job, part = a_job(), a_part()
    for added in (True, False):
        with transaction():
            defaults = {"part": part.id, "at": clock.now()}
            suspect, created = Suspect.get_or_create(job=job.id, name="Fan", defaults=defaults)
        assert (suspect.part_id, created) == (part.id, added)
    assert [row.name for row in filter_by(Suspect, job=job.id)] == ["Fan"]


def test_what_the_database_refuses_comes_as_its_usual_error() -> None:
    a_bin(name="A-14")
    with pytest.raises(IntegrityError), transaction():
        Bin.create(name="A-14", code="B0000000X", created=clock.now())
