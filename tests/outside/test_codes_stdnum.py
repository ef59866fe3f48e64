"""Check characters against python-stdnum, an independent implementation of ISO 7064 MOD 37-36."""

import itertools
import random
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.exceptions import ValidationError
from stdnum.iso7064 import mod_37_36

from shared import codes

characters = string.digits + string.ascii_uppercase


@given(st.text(characters, min_size=1, max_size=24))
def test_it_works_out_the_same_check_character(stem: str) -> None:
    assert codes.check_character(stem) == mod_37_36.calc_check_digit(stem)


def test_it_agrees_on_the_worked_example_of_the_library() -> None:
    assert codes.check_character("A12425GABC1234002") == "M"


def test_it_draws_only_codes_that_the_library_validates() -> None:
    choose = random.Random(11).choice
    for kind in codes.CODE_KINDS.values():
        for _ in range(200):
            code = codes.generate_code(kind, choose)
            assert mod_37_36.validate(code) == code


@pytest.mark.parametrize("seed", range(10))
def test_every_slip_of_a_drawn_code_fails_in_the_library_too(seed: int) -> None:
    code = codes.generate_code("lot", random.Random(seed).choice)
    wrong = {code[:place] + other + code[place + 1 :] for place, other in itertools.product(range(9), characters)}
    swapped = {code[:place] + code[place + 1] + code[place] + code[place + 2 :] for place in range(8)}
    for slip in (wrong | swapped) - {code}:
        with pytest.raises(ValidationError):
            mod_37_36.validate(slip)
