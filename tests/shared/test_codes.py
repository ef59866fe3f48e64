"""Codes of labels: drawn, typed, scanned, mistyped."""

import random
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared import codes

KINDS = sorted(codes.CODE_KINDS.values())
kinds = st.sampled_from(KINDS)
seeds = st.integers(0, 2**32)


def draw(kind: str, seed: int) -> str:
    chance = random.Random(seed)
    return codes.generate_code(kind, chance.choice)


@given(kinds, seeds)
def test_it_draws_nine_characters_that_read_back_as_their_kind(kind: str, seed: int) -> None:
    code = draw(kind, seed)
    assert len(code) == 9
    assert codes.parse_code(code) == codes.Code(code, kind)
    assert set(code[1:]).isdisjoint("01IOLAEUYZ")


def test_it_draws_from_the_system_by_default() -> None:
    assert len({codes.generate_code("bin") for _ in range(200)}) == 200


def test_it_has_no_code_for_an_unknown_kind() -> None:
    with pytest.raises(ValueError, match="No type letter for 'box'; codes exist for bin, lot, piece, job, order"):
        codes.generate_code("box")


@given(kinds, seeds, st.integers(0, 8), st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
def test_it_catches_every_single_wrong_character(kind: str, seed: int, place: int, character: str) -> None:
    code = draw(kind, seed)
    wrong = code[:place] + character + code[place + 1 :]
    if codes.normalise_code(wrong) == code:
        assert codes.parse_code(wrong).text == code
        return
    with pytest.raises(codes.BadCode):
        codes.parse_code(wrong)


@given(kinds, seeds, st.integers(0, 7))
def test_it_catches_every_swap_of_neighbours(kind: str, seed: int, place: int) -> None:
    code = draw(kind, seed)
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    if codes.normalise_code(swapped) == code:
        return
    with pytest.raises(codes.BadCode):
        codes.parse_code(swapped)


def test_it_refuses_a_code_whose_swap_the_check_character_alone_would_miss() -> None:
    """MOD 37-36 gives C-D and D-C the same check character after some beginnings; neither is ever a code."""
    blind = blind_swap()
    twin = blind[:6] + blind[7] + blind[6] + blind[8]
    assert codes.check_character(blind[:8]) == codes.check_character(twin[:8]) == blind[8]
    for text in (blind, twin):
        with pytest.raises(codes.BadCode, match="do not agree"):
            codes.parse_code(text)


def blind_swap() -> str:
    for character in codes.CODE_ALPHABET:
        for two in codes.CODE_ALPHABET:
            for left, right in zip(codes.CODE_ALPHABET, codes.CODE_ALPHABET[1:], strict=False):
                stem, twin = f"B222{character}{two}{left}{right}", f"B222{character}{two}{right}{left}"
                check = codes.check_character(stem)
                if check == codes.check_character(twin) and check in codes.CODE_ALPHABET:
                    return stem + check
    raise AssertionError("no blind swap found")


class Slips:
    code = draw("bin", 7)


@pytest.mark.parametrize(
    "form",
    [
        "{code}",
        "{lower}",
        " {grouped} ",
        "{spaced}",
        "{grouped}\r\n",
        "HTTPS://BENCH.LAN/S/{code}",
        "https://bench.lan/s/{lower}",
        "http://192.168.1.20:8017/S/{code}/",
        "http://old-name.example/s/{code}?from=label",
        "https://bench.lan/scan?code={grouped}",
        "https://bench.lan/s/{code}#top",
        "bench.lan/s/{grouped}",
        "HTTPSÖ--BENCH.LAN-S-{code}",
        "https>&&bench.lan&s&{code}",
        "https://bench.lan/s/%20{code}",
    ],
)
def test_it_reads_the_code_in_any_dress(form: str) -> None:
    code = Slips.code
    text = form.format(
        code=code, lower=code.lower(), grouped=codes.format_code(code), spaced=" ".join(codes.format_code(code))
    )
    assert codes.parse_code(text) == codes.Code(code, "bin")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Nothing to read: scan a label, or type the 9 characters beside its square."),
        ("   ", "Nothing to read: scan a label, or type the 9 characters beside its square."),
        ("B7KM4Q2X", "'B7KM4Q2X' has 8 characters and a code has 9: one may be left out."),
        ("B7KM4Q2XRX", "'B7KM4Q2XRX' has 10 characters and a code has 9: there may be one too many."),
        ("B7KM4Q2", "'B7KM4Q2' has 7 characters and a code has 9: that is too few."),
        (
            "X7KM4Q2XR",
            "X7K-M4Q-2XR begins with X, but a code begins with one of "
            "B (bin), L (lot), P (piece), J (job), O (order).",
        ),
        (
            "B7KM0Q2XR",
            "Character 5 of B7K-M0Q-2XR was read as 0, which never stands there "
            "(nor do 0 1 A E I L O U Y Z): look at the label again.",
        ),
        ("B7KM4*2XR", "'B7KM4*2XR' is no code: '*' never stands in one."),
        (
            "https://example.org/menu",
            "'https://example.org/menu' is an address that does not end in a code: scan our own label.",
        ),
        ("x" * 500, f"'{'x' * 40}…' has 500 characters and a code has 9: that is too many."),
    ],
)
def test_it_names_the_slip(text: str, sentence: str) -> None:
    with pytest.raises(codes.BadCode) as slip:
        codes.parse_code(text)
    assert str(slip.value) == sentence


def test_it_says_when_the_characters_disagree() -> None:
    code = Slips.code
    wrong = code[:3] + ("3" if code[3] != "3" else "4") + code[4:]
    with pytest.raises(codes.BadCode, match="do not agree with each other: one is wrong, or two neighbours"):
        codes.parse_code(wrong)


@given(st.text(max_size=60))
def test_it_either_reads_a_code_or_says_a_sentence(text: str) -> None:
    assert outcome(text).endswith(".") or codes.parse_code(text).text == outcome(text)


def outcome(text: str) -> str:
    try:
        return codes.parse_code(text).text
    except codes.BadCode as slip:
        return str(slip)


@pytest.mark.parametrize(("character", "letter"), [("1", "L"), ("i", "L"), ("0", "O"), ("8", "B")])
def test_it_knows_that_the_first_character_is_a_letter(character: str, letter: str) -> None:
    code = draw(codes.CODE_KINDS[letter], 3)
    assert codes.parse_code(character + code[1:]).text == code


@given(kinds, seeds, st.integers(0, 8), st.sampled_from(codes.CODE_ALPHABET))
def test_it_offers_the_right_code_after_one_wrong_character(kind: str, seed: int, place: int, other: str) -> None:
    code = draw(kind, seed)
    wrong = code[:place] + other + code[place + 1 :]
    assert wrong == code or codes.normalise_code(wrong) == code or code in codes.codes_one_typo_away(wrong)


@given(kinds, seeds, st.integers(0, 7))
def test_it_offers_the_right_code_after_a_swap_a_gap_or_a_double(kind: str, seed: int, place: int) -> None:
    code = draw(kind, seed)
    slips = (
        code[:place] + code[place + 1] + code[place] + code[place + 2 :],
        code[:place] + code[place + 1 :],
        code[: place + 1] + code[place:],
    )
    for slip in slips:
        assert codes.normalise_code(slip) == code or code in codes.codes_one_typo_away(slip)


@given(st.text(max_size=30))
def test_it_offers_only_codes_each_once(text: str) -> None:
    offered = list(codes.codes_one_typo_away(text))
    assert len(offered) == len(set(offered))
    assert all(codes.parse_code(code).text == code for code in offered)


def test_it_writes_codes_in_groups_for_people() -> None:
    assert codes.format_code("B7KM4Q2XR") == "B7K-M4Q-2XR"


def test_it_builds_a_link_that_alphanumeric_mode_holds() -> None:
    link = codes.label_url("https://bench.lan/", "B7KM4Q2XR")
    assert link == "HTTPS://BENCH.LAN/S/B7KM4Q2XR"
    assert len(link) == 29


def test_it_takes_any_way_of_choosing() -> None:
    def highest(choices: Sequence[str]) -> str:
        turn.append(1)
        return choices[-1 - len(turn) % 5]

    turn: list[int] = []
    assert codes.parse_code(codes.generate_code("job", highest)).kind == "job"


@pytest.mark.parametrize("typed", ["HTTPSÖ--BENCH.LAN-S-{}", "httpsÖ--bench.lan-s-{}", "HTTPSM!!BENCH:LQN!S!{}"])
def test_it_reads_a_label_scanned_for_an_american_keyboard_on_a_german_or_french_one(typed: str) -> None:
    code = codes.generate_code("bin")
    french = str.maketrans("AQWZM0123456789", "QAZW?à&é\"'(-è_ç")
    assert codes.parse_code(typed.format(code.translate(french) if "M!!" in typed else code)).text == code
