"""GS1 element strings against biip, an independent reader of the GS1 General Specifications."""

from datetime import date

import biip
import pytest
from biip.checksums import gs1_standard_check_digit
from hypothesis import given
from hypothesis import strategies as st

from shared.bag_code import BadBagCode
from shared.bag_code_reader import parse_bag_code
from shared.gs1 import has_valid_check_digit

TODAY = date.today()
GS = "\x1d"

payloads = st.text("0123456789", min_size=13, max_size=13).filter(lambda digits: int(digits) > 0)
lots = st.text("ABCDEFGHJKMNPQRSTUVWXYZ0123456789-/", min_size=1, max_size=20)
days = st.dates(date(TODAY.year - 20, 1, 1), date(TODAY.year + 20, 12, 31))


def gtin(payload: str) -> str:
    return payload + str(gs1_standard_check_digit(payload))


@given(st.text("0123456789", min_size=1, max_size=18))
def test_it_finds_the_same_check_digit(payload: str) -> None:
    right = gs1_standard_check_digit(payload)
    for digit in range(10):
        assert has_valid_check_digit(f"{payload}{digit}") is (digit == right)


@given(payloads, lots, st.integers(1, 99_999_999), days, st.permutations(["10", "37", "17", "21"]))
def test_it_reads_the_same_elements(payload: str, lot: str, count: int, day: date, order: list[str]) -> None:
    values = {"10": lot, "37": str(count), "17": f"{day:%y%m%d}", "21": lot[::-1]}
    text = "01" + gtin(payload) + "".join(f"{each}{values[each]}{GS}" for each in order)
    ours = parse_bag_code(text, TODAY)
    theirs = biip.parse(text).gs1_message
    assert theirs is not None
    elements = {each.ai.ai: each for each in theirs.element_strings}
    assert ours.gtin == elements["01"].value
    assert (ours.lot, ours.serial, ours.quantity) == (
        elements["10"].value,
        elements["21"].value,
        int(elements["37"].value),
    )
    assert ours.expires == elements["17"].date


@pytest.mark.parametrize("text", ["0109521234543214", "010952123454321317281340", "0109521234543213888"])
def test_it_takes_nothing_that_the_library_refuses(text: str) -> None:
    theirs = biip.parse(text)
    assert theirs.gs1_message is None or any(each.gtin_error for each in theirs.gs1_message.element_strings)
    try:
        ours = parse_bag_code(text, TODAY)
    except BadBagCode:
        return
    assert ours.unread
    assert ours.expires is None


def test_day_0_is_the_last_of_the_month_for_both() -> None:
    text = "010952123454321315280200"
    theirs = biip.parse(text).gs1_message
    assert theirs is not None
    assert parse_bag_code(text, TODAY).best_before == theirs.element_strings[1].date == date(2028, 2, 29)
