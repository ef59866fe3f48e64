"""What is assumed of each kind of part: one table that the owner changes, and every standing follows."""

from __future__ import annotations

import pytest

from inventory.domain.common import kind_figures
from inventory.domain.common.errors import Invalid, NotFound
from inventory.domain.diagnosis import new_parts
from inventory.domain.proof import standings
from inventory.reckoning.common.kind_defaults import KIND_DEFAULTS
from inventory.store.tables import Part
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")


def test_it_starts_with_what_is_assumed_of_every_kind() -> None:
    figures = kind_figures.list_kind_figures()
    assert [figure.kind for figure in figures] == list(KIND_DEFAULTS)
    assert not any(figure.changed for figure in figures)
    assert (figures[1].kind, figures[1].beta_b, figures[1].proof_months, figures[1].cap) == ("fan", 24.5, 12, 0.995)


def test_what_the_owner_changes_every_piece_follows() -> None:
    piece = a_piece()
    assert standings.standing_of(piece.id).p_good == pytest.approx(0.98, abs=1e-6)
    kind_figures.edit_kind_figures("fan", beta_a=1, beta_b=9)
    assert standings.standing_of(piece.id).p_good == pytest.approx(0.9, abs=1e-6)
    assert new_parts.p_good_of_part(Part.get_by_id(piece.part_id)) == pytest.approx(0.9)
    prove_fan(piece.id)
    kind_figures.edit_kind_figures("fan", cap=0.97)
    assert standings.standing_of(piece.id).p_good == pytest.approx(0.97)


def test_the_matings_of_a_data_sheet_go_before_those_of_the_kind() -> None:
    piece = a_piece(rated_matings=7)
    kind_figures.edit_kind_figures("fan", rated_matings=100)
    assert standings.standing_of(piece.id).rated_matings == 7


def test_it_says_what_was_changed_and_puts_it_back() -> None:
    changed = kind_figures.edit_kind_figures("fan", proof_months=6, harm=0.01)
    assert (changed.changed, changed.assumed) == (("harm", "proof_months"), "Set by the owner.")
    assert kind_figures.edit_kind_figures("fan", harm=None).changed == ("proof_months",)
    back = kind_figures.edit_kind_figures("fan", proof_months=None)
    assert (back.changed, back.assumed) == ((), KIND_DEFAULTS["fan"].assumed)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"harm": 1.5}, "The harm chance must be a chance from 0 to 1, not 1.5."),
        ({"cap": float("nan")}, "The cap chance must be a finite number, not nan."),
        ({"beta_b": 0}, "must be more than 0, not 0."),
        ({"beta_a": 1e9}, "type a number up to 1e\\+06"),
        ({"hazard": -1}, "The hazard a year must not be negative, but it is -1."),
        ({"rated_matings": 2.5}, "The rated number of matings must be a whole number, not 2.5."),
        ({"proof_months": 0}, "must be at least 1, not 0."),
        ({"cap": "high"}, "must be a"),
        ({"colour": 1}, "A kind has no figure 'colour'"),
    ],
)
def test_a_figure_that_cannot_be_changes_nothing(changes: dict[str, float], sentence: str) -> None:
    with pytest.raises(Invalid, match=sentence):
        kind_figures.edit_kind_figures("fan", **{"donor_dead": 0.7, **changes})
    assert kind_figures.get_kind_figures("fan").changed == ()


def test_there_are_no_other_kinds() -> None:
    with pytest.raises(NotFound, match="There is no kind of part called 'spoon'; choose one of connector, fan"):
        kind_figures.edit_kind_figures("spoon", harm=0.1)
