"""What fits in place of a part that is out, and which parts go into a unit model."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.catalogue import lots, parts
from inventory.domain.catalogue.unit_model_parts import parts_of_model
from inventory.domain.common.errors import Conflict
from inventory.domain.common.records import PartRecord
from inventory.domain.diagnosis import swap_tests
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.movements.suggested_substitutes import pull_substitute, substitutes_in_job, suggest_substitutes
from tests.factories import a_bin, a_job, a_part, a_stocked_part
from tests.proof_factories import a_piece

pytestmark = pytest.mark.usefixtures("bench")
FAN = {"size_mm": 60, "thick_mm": 15, "volts": 24, "amps": 0.12, "wires": 3}
HEADER = {"pitch_mm": 2.0, "ways": 4, "gender": "header", "mounting": "through hole"}


def a_fan(stock: int = 0, **differs: Any) -> PartRecord:
    part = a_part("60 mm fan", "fan", attributes={**FAN, **differs})
    if stock:
        receive.receive(part.id, stock, a_bin(part).id)
    return part


def offered(part: PartRecord) -> list[tuple[int, bool, int]]:
    return [(option.part.id, option.declared, option.on_shelf) for option in suggest_substitutes(part.id).options]


def test_it_offers_what_was_declared_and_what_the_attributes_say_what_can_be_had_first() -> None:
    usual, weaker, stronger, none_left = a_fan(), a_fan(3, amps=0.1), a_fan(5, amps=0.14), a_fan()
    assert offered(usual) == [(weaker.id, False, 3), (none_left.id, False, 0)]
    parts.set_substitute(usual.id, stronger.id, "runs hotter")
    assert offered(usual) == [(stronger.id, True, 5), (weaker.id, False, 3), (none_left.id, False, 0)]
    (first, *_) = suggest_substitutes(usual.id).options
    assert (first.said, [(differ.words, differ.caution) for differ in first.differs]) == (
        "runs hotter", [("0.14 A instead of 0.12 A", True)],
    )  # fmt: skip
    assert [place.quantity for place in first.places] == [5]


def test_a_declared_stand_in_goes_one_way() -> None:
    usual, other = a_part("header", attributes=HEADER), a_part("longer header", attributes={**HEADER, "ways": 5})
    parts.set_substitute(usual.id, other.id, "pull pin 5")
    assert [option.part.id for option in suggest_substitutes(usual.id).options] == [other.id]
    assert suggest_substitutes(other.id).options == ()


def test_it_leaves_out_what_is_no_longer_kept_and_what_is_of_another_kind() -> None:
    usual, retired = a_fan(), a_fan(2)
    a_part("60 mm fan guard", "hardware")
    parts.edit_part(retired.id, retired=True)
    assert suggest_substitutes(usual.id).options == ()


def test_a_declared_stand_in_of_another_kind_carries_a_caution() -> None:
    usual, other = a_part("driver board", "module"), a_part("driver chip", "other")
    parts.set_substitute(usual.id, other.id, "solder it in")
    (option,) = suggest_substitutes(usual.id).options
    assert [(way.words, way.caution) for way in option.differs] == [
        ("it is of the kind other, not module: check every rating", True)
    ]


def test_one_tap_takes_it_for_the_job_and_notes_what_for() -> None:
    usual, other, job = a_fan(), a_fan(3, amps=0.1), a_job()
    jobs.set_need(job.id, usual.id, 1)
    pull_substitute(usual.id, other.id, job.id)
    assert jobs.needs(job.id)[0].missing == 0
    (noted,) = substitutes_in_job(job.id)
    assert (noted.part.id, noted.instead.id, noted.kept, noted.differed) == (
        usual.id, other.id, 1, "0.1 A instead of 0.12 A",
    )  # fmt: skip
    (offer,) = suggest_substitutes(usual.id).options
    assert (offer.past.jobs, offer.past.last_job_id) == (1, job.id)
    assert offer.past.sentence.startswith(f"Used in its place in 1 job ({job.number})")


def test_what_was_undone_was_never_used_in_its_place() -> None:
    usual, other, job = a_fan(), a_fan(3), a_job()
    undo.undo(pull_substitute(usual.id, other.id, job.id).entry)
    assert suggest_substitutes(usual.id).options[0].past.sentence == "Nobody has used it in its place yet."
    assert substitutes_in_job(job.id) == []


def test_swap_tests_say_whether_it_worked_in_that_place() -> None:
    usual, job = a_fan(), a_job()
    piece = a_piece("C-07", part_id=a_fan(0).id)
    suspect = jobs.add_suspect(job.id, "rear fan", usual.id)
    loan = swap_tests.take_piece(piece.id, job.id, suspect_id=suspect.id).loan
    swap_tests.bring_back_piece(loan.id, "works with it")
    (offer,) = suggest_substitutes(usual.id).options
    assert (offer.past.tests, offer.past.worked) == (1, 1)
    assert "In 1 swap test in its place, 1 worked." in offer.past.sentence


def test_a_piece_to_fit_is_offered_and_one_kept_to_test_with_is_not() -> None:
    usual, other = a_fan(), a_fan()
    spare = a_piece("C-07", part_id=other.id)
    to_fit = a_piece("C-08", part_id=other.id, spare=False)
    (offer,) = suggest_substitutes(usual.id).options
    assert [piece.piece.id for piece in offer.pieces] == [to_fit.id]
    job = a_job()
    with pytest.raises(Conflict, match="another part"):
        pull_substitute(usual.id, a_fan(1).id, job.id, piece_id=spare.id)
    pull_substitute(usual.id, other.id, job.id, piece_id=to_fit.id)
    assert [substitute.kept for substitute in substitutes_in_job(job.id)] == [1]


def test_what_nothing_says_fits_is_refused() -> None:
    usual, other = a_fan(), a_fan(3, volts=12)
    with pytest.raises(Conflict, match="Nothing says that"):
        pull_substitute(usual.id, other.id, a_job().id)


def test_a_lot_on_hold_is_no_stand_in_to_be_had() -> None:
    usual, other = a_fan(), a_fan(3)
    lots.hold_lot(lots.lots(part_id=other.id).items[0].id, "cracked")
    (offer,) = suggest_substitutes(usual.id).options
    assert (offer.on_shelf, offer.places) == (0, ())


# ---- what goes into a unit model -------------------------------------------------------------------------


def test_a_model_lists_what_is_noted_and_what_its_jobs_used() -> None:
    used, bin_, receipt = a_stocked_part(9)
    noted = a_part("yoke lock", "hardware", fits=["Corvid 7 moving head"])
    first, second, other = a_job(), a_job(), a_job(unit_model="Tern 12 powered speaker")
    for job, quantity in ((first, 2), (second, 1), (other, 3)):
        pull.pull(quantity, bin_id=bin_.id, job_id=job.id)
    model_parts = parts_of_model(first.unit_model_id or 0)
    assert [(part.part.id, part.noted, part.jobs, part.usual, part.on_shelf) for part in model_parts] == [
        (used.id, False, 2, 1, 3), (noted.id, True, 0, 0, 0),
    ]  # fmt: skip
    assert model_parts[0].bin is not None
    assert model_parts[0].bin.id == bin_.id
    adjustments.scrap(3, bin_id=bin_.id, lot_id=receipt.lot_ids[0], reason="bent", job_id=first.id)
    (after, _) = parts_of_model(first.unit_model_id or 0)
    assert (after.jobs, after.on_shelf, after.bin) == (2, 0, None)


def test_what_a_job_put_back_does_not_count_for_its_model() -> None:
    part, bin_, _ = a_stocked_part(9)
    job = a_job()
    pull.pull(2, bin_id=bin_.id, job_id=job.id)
    pull.put_back(2, job_id=job.id, part_id=part.id)
    assert parts_of_model(job.unit_model_id or 0) == []
