"""The data files of the demo bench agree with each other."""

from __future__ import annotations

import pytest

from inventory.domain.catalogue.attributes import ATTRIBUTES
from inventory.domain.common.validation import KEPT, KINDS
from seed.data_files import Sheets, pairs, people, rows

SHEETS = Sheets()


def test_it_has_about_a_hundred_and_twenty_parts_over_all_kinds() -> None:
    assert 110 <= len(SHEETS.parts) <= 130
    assert {part.kind for part in SHEETS.parts.values()} == set(KINDS)
    assert {part.kept for part in SHEETS.parts.values()} == set(KEPT)


@pytest.mark.parametrize("number", SHEETS.parts)
def test_it_tells_each_part_by_attributes_of_its_kind(number: str) -> None:
    part = SHEETS.parts[number]
    known = {one.key for one in ATTRIBUTES[part.kind]}
    assert part.attributes
    assert set(part.attributes) <= known


def test_it_gives_every_part_a_bin_and_every_single_bin_one_part() -> None:
    mixed = {one.name for one in SHEETS.bins if one.mixed}
    single = {one.name for one in SHEETS.bins} - mixed
    assert 60 <= len(single) <= 70
    assert sorted(part.bin for part in SHEETS.parts.values() if part.bin not in mixed) == sorted(single)
    walk = [one.walk for one in SHEETS.bins]
    assert walk == sorted(set(walk))


def test_it_repairs_every_model_with_parts_that_are_noted_as_fitting() -> None:
    assert {cause.model for cause in SHEETS.causes} == set(SHEETS.models)
    assert len(SHEETS.models) >= 10
    for cause in SHEETS.causes:
        assert SHEETS.models[cause.model].name in SHEETS.parts[cause.part].fits, cause
        assert all(part in SHEETS.parts for part, _ in cause.also), cause


def test_it_has_an_offer_of_a_known_supplier_for_every_part() -> None:
    assert {one.part for one in SHEETS.offers} == set(SHEETS.parts)
    assert {one.supplier for one in SHEETS.offers} <= {one.name for one in SHEETS.suppliers.values()}
    preferred = [one.part for one in SHEETS.offers if one.preferred]
    assert sorted(preferred) == sorted(SHEETS.parts)


def test_it_names_only_parts_and_people_that_there_are() -> None:
    known, names = set(SHEETS.parts), {one.name for one in people()}
    assert all({line["part"], line["instead"]} <= known for line in rows("substitutes"))
    assert all(line["part"] in {*known, ""} and line["person"] in names for line in rows("lessons"))
    assert all(line["part"] in known for line in rows("consumption"))
    assert all(line["part"] in {*known, ""} for line in rows("procedures"))


def test_it_has_an_owner_two_techs_and_a_viewer_with_passphrases_long_enough() -> None:
    assert sorted(one.role for one in people()) == ["owner", "tech", "tech", "viewer"]
    assert all(len(one.passphrase) >= 10 for one in people())


def test_it_reads_pairs_whose_values_hold_signs_of_their_own() -> None:
    assert pairs("plug=3-way: ground, +24 V; volts=24") == {"plug": "3-way: ground, +24 V", "volts": "24"}
    assert pairs("") == {}
