"""The data files of the demo bench agree with each other."""

from __future__ import annotations

import pytest

from inventory.domain.catalogue.attributes import ATTRIBUTES
from inventory.domain.common.validation import KEPT_MODES, PART_KINDS
from seed.data_files import DataFiles, parse_pairs, people, read_rows

SHEETS = DataFiles()


def test_it_has_about_a_hundred_and_twenty_parts_over_all_kinds() -> None:
    assert 110 <= len(SHEETS.parts) <= 130
    assert {part.kind for part in SHEETS.parts.values()} == set(PART_KINDS)
    assert {part.kept for part in SHEETS.parts.values()} == set(KEPT_MODES)


@pytest.mark.parametrize("number", SHEETS.parts)
def test_it_tells_each_part_by_attributes_of_its_kind(number: str) -> None:
    part = SHEETS.parts[number]
    known = {attribute.key for attribute in ATTRIBUTES[part.kind]}
    assert part.attributes
    assert set(part.attributes) <= known


def test_it_gives_every_part_a_bin_and_every_single_bin_one_part() -> None:
    mixed = {bin_.name for bin_ in SHEETS.bins if bin_.mixed}
    single = {bin_.name for bin_ in SHEETS.bins} - mixed
    assert 60 <= len(single) <= 70
    assert sorted(part.bin for part in SHEETS.parts.values() if part.bin not in mixed) == sorted(single)
    walk = [bin_.walk for bin_ in SHEETS.bins]
    assert walk == sorted(set(walk))


def test_it_repairs_every_model_with_parts_that_are_noted_as_fitting() -> None:
    assert {cause.model for cause in SHEETS.causes} == set(SHEETS.models)
    assert len(SHEETS.models) >= 10
    for cause in SHEETS.causes:
        assert SHEETS.models[cause.model].name in SHEETS.parts[cause.part].fits, cause
        assert all(part in SHEETS.parts for part, _ in cause.also), cause


def test_it_has_an_offer_of_a_known_supplier_for_every_part() -> None:
    assert {offer.part for offer in SHEETS.offers} == set(SHEETS.parts)
    assert {offer.supplier for offer in SHEETS.offers} <= {supplier.name for supplier in SHEETS.suppliers.values()}
    preferred = [offer.part for offer in SHEETS.offers if offer.preferred]
    assert sorted(preferred) == sorted(SHEETS.parts)


def test_it_names_only_parts_and_people_that_there_are() -> None:
    known, names = set(SHEETS.parts), {person.name for person in people()}
    assert all({line["part"], line["instead"]} <= known for line in read_rows("substitutes"))
    assert all(line["part"] in {*known, ""} and line["person"] in names for line in read_rows("lessons"))
    assert all(line["part"] in known for line in read_rows("consumption"))
    assert all(line["part"] in {*known, ""} for line in read_rows("procedures"))


def test_it_has_an_owner_two_techs_and_a_viewer_with_passphrases_long_enough() -> None:
    assert sorted(person.role for person in people()) == ["owner", "tech", "tech", "viewer"]
    assert all(len(person.passphrase) >= 10 for person in people())


def test_it_reads_pairs_whose_values_hold_signs_of_their_own() -> None:
    assert parse_pairs("plug=3-way: ground, +24 V; volts=24") == {"plug": "3-way: ground, +24 V", "volts": "24"}
    assert parse_pairs("") == {}
